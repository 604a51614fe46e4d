"""What watches the memory of a test sees what was held only for a moment."""

import pytest

from tests.memory import MOST, grows_little


def test_what_is_given_back_at_once_is_seen():
    with pytest.raises(AssertionError, match="grew by"), grows_little():
        bytearray(b"x" * (MOST * 1024))


def test_little_is_let_through():
    with grows_little():
        assert len(b"x" * 1_000_000) == 1_000_000
