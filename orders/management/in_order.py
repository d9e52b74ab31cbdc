"""Pieces of work shared among processes, each of which writes what it made itself, one after the other in order.

Text that went through the parent would be copied half a dozen times, which takes longer than making it.
"""

import os
import sys
from collections.abc import Callable, Iterable
from contextlib import suppress
from multiprocessing import get_context
from multiprocessing.connection import Connection

# A worker that could not write ends with the reason's number beyond this.
COULD_NOT_WRITE = 100


class Lost(RuntimeError):
    """A process ended before its work; the message says how."""


def write_in_order(make: Callable[..., bytes], pieces: Iterable, *, jobs: int, out: int) -> None:
    """Writes `make` of each piece to the file descriptor `out`, in `jobs` processes.

    Raises OSError where that can't be written to, Lost where a process was ended. What `pieces` raises comes through
    once all before it is written.
    """
    fork = get_context("fork")
    feeds = [fork.Pipe(duplex=False) for _ in range(jobs)]
    # Whose turn it is to write: each waits for a byte from the one before, the first one from the last.
    turns = [os.pipe() for _ in range(jobs)]
    os.write(turns[0][1], b".")
    workers = [fork.Process(target=_work, args=(at, make, feeds, turns, out)) for at in range(jobs)]
    for worker in workers:
        worker.start()
    for reads, writes in turns:
        os.close(reads)
        os.close(writes)
    for given, _ in feeds:
        given.close()
    try:
        # A worker that has gone takes no more: its exit says why.
        with suppress(BrokenPipeError):
            for number, piece in enumerate(pieces):
                feeds[number % jobs][1].send(piece)
    finally:
        for _, feed in feeds:
            feed.close()
        for worker in workers:
            worker.join()
    _require_whole({worker.exitcode for worker in workers} - {0})


def _require_whole(ended: set[int]) -> None:
    """Raise what is wrong where workers ended with these statuses other than 0."""
    for status in ended:
        if status > COULD_NOT_WRITE:
            raise OSError(status - COULD_NOT_WRITE, os.strerror(status - COULD_NOT_WRITE))
    if ended:
        raise Lost(f"a process that computed ended with status {min(ended)}; the answers are not whole. Run it again")


def _work(at: int, make: Callable[..., bytes], feeds: list, turns: list, out: int) -> None:
    given, mine, next_one = feeds[at][0], turns[at][0], turns[(at + 1) % len(turns)][1]
    # Only its own ends are kept, so that each notices when another has gone.
    for connection in {connection for feed in feeds for connection in feed} - {given}:
        connection.close()
    for end in {end for turn in turns for end in turn} - {mine, next_one}:
        os.close(end)
    while (piece := _next(given)) is not None:
        made = make(piece)
        if not os.read(mine, 1):
            sys.exit(1)
        _write(out, made)
        # The next one may have had its last piece.
        with suppress(BrokenPipeError):
            os.write(next_one, b".")


def _write(out: int, made: bytes) -> None:
    """Write all of it, or end this process with the reason's number."""
    left = memoryview(made)
    try:
        while left:
            left = left[os.write(out, left) :]
    except OSError as trouble:
        sys.exit(COULD_NOT_WRITE + trouble.errno)


def _next(given: Connection):
    try:
        return given.recv()
    except EOFError:
        return None
