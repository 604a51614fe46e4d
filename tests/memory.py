"""How much a process grows while something is done, at its most."""

import re
from contextlib import contextmanager
from pathlib import Path

MOST = 100 * 1024  # kB: what is absurd may cost no more (promise 16)
PROCESS = Path("/proc/self")  # proc(5)


def kilobytes(name):
    """Return a size of this process, such as VmRSS, or VmHWM, the most since it was last reset."""
    return int(re.search(rf"{name}:\s+(\d+) kB", (PROCESS / "status").read_text()).group(1))


@contextmanager
def grows_little():
    """Want that this process holds no more than a hundred megabytes more at any moment."""
    (PROCESS / "clear_refs").write_text("5")  # the most is now what is held
    before = kilobytes("VmRSS")
    yield
    grown = kilobytes("VmHWM") - before
    assert grown < MOST, f"grew by {grown // 1024} MB"
