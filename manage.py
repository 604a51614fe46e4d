#!/usr/bin/env python3
"""Do what Duskbook is asked, in an environment that this file makes for itself on first use.

The environment is .venv beside this file: `python -m venv` makes it and the pip of the Python that
runs this file fills it from a lock whose hashes pip checks.  It is left alone inside another
virtual environment, and where DUSKBOOK_ENVIRONMENT=ready says that all is installed.
Only the standard library is used here, and nothing that an old Python cannot parse.
"""

import contextlib
import gc
import hashlib
import os
import subprocess
import sys

OLDEST = (3, 11)
CHECKOUT = os.path.dirname(os.path.abspath(__file__))
ENVIRONMENT = os.path.join(CHECKOUT, ".venv")
STAMP = os.path.join(ENVIRONMENT, "duskbook-stamp")
LOCKS = {
    "run": os.path.join(CHECKOUT, "docker", "requirements.txt"),
    "test": os.path.join(CHECKOUT, "tests", "requirements.txt"),
}


class CannotPrepare(Exception):
    """The environment cannot be made; the message says why and what helps."""


def main(arguments):
    """Prepare the environment if need be, do what is asked, and return the exit code."""
    if sys.version_info < OLDEST:
        return stop("Duskbook needs Python 3.11 or newer; this is %s." % sys.version.split()[0])
    try:
        if not is_made_by_others() and not is_prepared_for(purpose_of(arguments)):
            prepare(purpose_of(arguments))
    except (CannotPrepare, OSError) as error:
        return stop(str(error))
    except KeyboardInterrupt:
        return stop("Stopped before the environment was ready; the next start makes it anew.")
    if is_made_by_others() or is_inside(ENVIRONMENT):
        return run(arguments)
    return hand_over(arguments)


def purpose_of(arguments):
    """Return which lock a command needs: the tests have their own."""
    return "test" if arguments[:1] in (["test"], ["bench"]) else "run"


def is_made_by_others():
    """Tell whether somebody else provides the packages."""
    if os.environ.get("DUSKBOOK_ENVIRONMENT") == "ready":
        return True
    return sys.prefix != sys.base_prefix and not is_inside(ENVIRONMENT)


def is_inside(environment):
    """Tell whether this Python runs in the environment."""
    return os.path.realpath(sys.prefix) == os.path.realpath(environment)


def is_prepared_for(purpose):
    """Tell whether the environment has what a purpose needs; that of the tests has everything."""
    return read_stamp() in (stamp_for(purpose), stamp_for("test"))


def stamp_for(purpose):
    """Return what the stamp says once a lock is installed: Python's version and the digest."""
    with open(LOCKS[purpose], "rb") as lock:
        digest = hashlib.sha256(lock.read()).hexdigest()
    return "%s %s" % (python_version(), digest)


def python_version():
    """Return the version that an environment is bound to, such as 3.11."""
    return "%d.%d" % sys.version_info[:2]


def read_stamp():
    """Return the stamp, or nothing when the environment was never finished."""
    try:
        with open(STAMP, encoding="ascii") as stamp:
            return stamp.read()
    except FileNotFoundError:
        return ""


def prepare(purpose):
    """Make and fill the environment, one start at a time; the stamp comes last."""
    with one_at_a_time():
        if is_prepared_for(purpose):
            return
        say("Preparing Duskbook's own environment in %s: once, about a minute." % ENVIRONMENT)
        if read_stamp().split(" ")[0] != python_version():
            python("-m", "venv", "--clear", "--without-pip", ENVIRONMENT)
        else:
            os.remove(STAMP)
        install(LOCKS[purpose])
        with open(STAMP, "w", encoding="ascii") as stamp:
            stamp.write(stamp_for(purpose))
        say("The environment is ready.")


@contextlib.contextmanager
def one_at_a_time():
    """Wait until no other start prepares the environment; a killed one waits for nobody."""
    with open(ENVIRONMENT + ".lock", "w", encoding="ascii") as lock:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(lock.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def install(lock):
    """Have the outer pip put the locked packages into the environment."""
    options = ["--quiet", "--quiet", "--disable-pip-version-check", "--no-input"]
    target = ["--python", python_of(ENVIRONMENT), "install", "--require-hashes", "--no-deps"]
    python("-m", "pip", *options, *target, "-r", lock)


def python(*words):
    """Run the Python that stands outside the environment."""
    command = [getattr(sys, "_base_executable", None) or sys.executable]
    if subprocess.call(command + list(words)) != 0:
        raise CannotPrepare(
            "The environment could not be made: `%s %s` failed for the reason above.\n"
            "It needs pip (on Debian: apt install python3-pip) and, this once, a package index "
            "that answers. Then start again." % (command[0], " ".join(words))
        )


def python_of(environment):
    """Return the path of an environment's Python."""
    parts = ("Scripts", "python.exe") if os.name == "nt" else ("bin", "python")
    return os.path.join(environment, *parts)


def hand_over(arguments):
    """Start this file again inside the environment."""
    command = [python_of(ENVIRONMENT), os.path.abspath(__file__), *arguments]
    if os.name == "nt":
        return subprocess.call(command)
    return os.execv(command[0], command)  # noqa: S606 - the same words, without a shell


def run(arguments):
    """Run the tests, or a command of Django, and return the exit code."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "services.project.settings")
    if arguments[:1] == ["test"]:
        import pytest

        os.chdir(CHECKOUT)
        return pytest.main(arguments[1:])
    if arguments[:1] == ["start"]:
        gc.disable()  # what is loaded now stays; it goes on when the pages are served
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line
    from django.db import OperationalError

    try:
        execute_from_command_line([sys.argv[0], *arguments])
    except ImproperlyConfigured as error:
        return stop(str(error))
    except OperationalError as error:
        return stop("The database cannot do this: %s" % error)
    return 0


def say(sentence):
    """Tell the person at the terminal."""
    print(sentence, file=sys.stderr, flush=True)


def stop(sentence):
    """Say why it goes no further, and return the exit code for that."""
    say(sentence)
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
