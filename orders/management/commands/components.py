"""Reads blinds as JSON and prints every part of each, touching no database.

A list in, a list out, of the same length and order; with --lines one blind a line in and out, in memory that does not
grow with their number. Exit status 0 when the blinds could be read, whatever they came to; 2 and one line on standard
error when they could not.
"""

import json
import os
import sys
from collections import deque
from collections.abc import Iterable, Iterator
from functools import partial
from itertools import chain, islice
from multiprocessing import get_all_start_methods, get_context
from typing import BinaryIO

from django.core.management.base import BaseCommand, CommandError

from calc.printed import printed

UNREADABLE = 2
# Blinds that one process computes at a time; fewer than two such chunks are not worth a second process.
CHUNK = 200
BROKEN_PIPE = 141


class Unreadable(ValueError):
    """What was given is no list of blinds; the message says where."""


class Command(BaseCommand):
    help = "Print every part of the blinds in a JSON file, with working and findings; touches no database."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", help="a JSON list of blinds, or - for standard input")
        parser.add_argument("--lines", action="store_true", help="one blind a line, in and out (JSON Lines)")
        parser.add_argument("--no-working", action="store_true", help="leave the working out: a tenth of the text")
        parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1, help="processes to compute with")

    def handle(self, *, file, lines, jobs, no_working, **options):
        try:
            with _opened(file) as source:
                answered = _answered_lines if lines else _answered_list
                pieces = answered(source, jobs=jobs, working=not no_working)
                for piece in pieces:
                    self.stdout.write(piece, ending="")
                self.stdout.flush()
        except BrokenPipeError:
            # Whoever read us has seen enough. What is still buffered has nowhere to go.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(BROKEN_PIPE)
        except (OSError, Unreadable) as trouble:
            raise CommandError(f"{_called(file)}: {_said(trouble)}", returncode=UNREADABLE) from trouble


def _opened(file: str) -> BinaryIO:
    if file == "-":
        return open(sys.stdin.fileno(), "rb", closefd=False)
    return open(file, "rb")


def _called(file: str) -> str:
    return "standard input" if file == "-" else file


def _said(trouble: Exception) -> str:
    return trouble.strerror or str(trouble) if isinstance(trouble, OSError) else str(trouble)


def _answered_list(source: BinaryIO, *, jobs: int, working: bool) -> Iterator[str]:
    """The answers as one JSON list, a line each, in pieces."""
    blinds = _read(source.read(), where="")
    if not isinstance(blinds, list):
        raise Unreadable(f"not a JSON list of blinds but {_kind(blinds)}; put the blinds between [ and ]")
    before = "[\n"
    for answers in _computed(partial(_compute_list, working=working), _chunks(blinds), jobs=jobs):
        yield before + answers
        before = ",\n"
    yield "[]\n" if before == "[\n" else "\n]\n"


def _answered_lines(source: BinaryIO, *, jobs: int, working: bool) -> Iterator[str]:
    """The answers as JSON Lines, in pieces; a line that can't be read ends them, after the answers before it."""
    numbered = ((number, line) for number, line in enumerate(source, start=1) if not line.isspace())
    for answers, trouble in _computed(partial(_compute_lines, working=working), _chunks(numbered), jobs=jobs):
        yield answers
        if trouble:
            raise Unreadable(trouble)


def _chunks(things: Iterable) -> Iterator[list]:
    things = iter(things)
    while chunk := list(islice(things, CHUNK)):
        yield chunk


def _computed(compute, chunks: Iterator[list], *, jobs: int) -> Iterator:
    """`compute` of each chunk, in order; in `jobs` processes where there are two chunks or more."""
    first = list(islice(chunks, 2))
    chunks = chain(first, chunks)
    if jobs < 2 or len(first) < 2 or "fork" not in get_all_start_methods():
        yield from map(compute, chunks)
        return
    with get_context("fork").Pool(jobs) as pool:
        # A bounded queue: the input is read no faster than the answers are printed.
        waiting = deque(pool.apply_async(compute, (chunk,)) for chunk in islice(chunks, 2 * jobs))
        while waiting:
            yield waiting.popleft().get()
            waiting.extend(pool.apply_async(compute, (chunk,)) for chunk in islice(chunks, 1))


def _compute_list(blinds: list, *, working: bool) -> str:
    return ",\n".join([printed(blind, working=working) for blind in blinds])


def _compute_lines(numbered: list[tuple[int, bytes]], *, working: bool) -> tuple[str, str]:
    """The answers to some lines, and what is wrong with the first that can't be read, if any."""
    answers = []
    trouble = ""
    for number, line in numbered:
        try:
            blind = _read(line, where=f"line {number}: ")
        except Unreadable as unreadable:
            trouble = str(unreadable)
            break
        answers.append(printed(blind, working=working) + "\n")
    return "".join(answers), trouble


def _read(text: bytes, *, where: str):
    """The value that `text` holds as JSON in UTF-8, UTF-16 or UTF-32. Raises Unreadable, `where` before the reason."""
    try:
        return json.loads(text)
    except RecursionError:
        raise Unreadable(f"{where}nested too deeply to be a list of blinds") from None
    except UnicodeDecodeError as trouble:
        raise Unreadable(f"{where}not JSON text: {trouble.reason} at byte {trouble.start}") from None
    except ValueError as trouble:
        raise Unreadable(f"{where}not JSON: {trouble}") from None


def _kind(value) -> str:
    names = {dict: "one object", str: "a text", bool: "a yes or no", type(None): "null"}
    return names.get(type(value), "a number")
