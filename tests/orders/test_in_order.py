"""Work shared among processes is written in order, and a process that ends is never passed over in silence."""

import os
import signal
import time

import pytest

from orders.management.in_order import Lost, write_in_order

pytestmark = pytest.mark.once


def written(make, pieces, tmp_path, *, jobs=3):
    with (tmp_path / "out").open("wb") as out:
        try:
            write_in_order(make, pieces, jobs=jobs, out=out.fileno())
        finally:
            made = (tmp_path / "out").read_bytes()
    return made


def a_line(number):
    # The first of every three takes longest.
    time.sleep(0.01 if number % 3 == 0 else 0)
    return b"%d\n" % number


@pytest.mark.parametrize("count", [0, 1, 2, 50])
def test_what_is_made_at_once_is_written_one_after_the_other(count, tmp_path):
    assert written(a_line, range(count), tmp_path) == b"".join(map(a_line, range(count)))


def test_what_goes_wrong_with_the_pieces_comes_through_after_those_before_it(tmp_path):
    def pieces():
        yield from range(7)
        raise ValueError("the eighth")

    with pytest.raises(ValueError, match="the eighth"):
        written(a_line, pieces(), tmp_path)
    assert (tmp_path / "out").read_bytes() == b"".join(map(a_line, range(7)))


@pytest.mark.parametrize("at", [0, 4, 29])
def test_a_process_that_is_killed_ends_all_and_nothing_after_its_piece_is_written(at, tmp_path):
    def make(number):
        if number == at:
            os.kill(os.getpid(), signal.SIGKILL)
        return a_line(number)

    with pytest.raises(Lost, match=r"status -9; the answers are not whole"):
        written(make, range(30), tmp_path)
    assert (tmp_path / "out").read_bytes() == b"".join(map(a_line, range(at)))


def test_a_reader_that_has_gone_is_a_broken_pipe():
    reads, writes = os.pipe()
    os.close(reads)
    with pytest.raises(BrokenPipeError):
        write_in_order(a_line, range(20), jobs=2, out=writes)
    os.close(writes)


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="the platform has no file that is always full")
def test_a_full_disk_says_so():
    with open("/dev/full", "wb") as full, pytest.raises(OSError, match="No space left"):
        write_in_order(a_line, range(20), jobs=2, out=full.fileno())
