"""Reads blinds as JSON and prints every part of each, touching no database.

A list in, a list out, of the same length and order; with --lines one blind a line in and out, in memory that does not
grow with their number. Exit status 0 when the blinds could be read, whatever they came to; 2 and one line on standard
error when they could not.
"""

import json
import os
import sys
from collections.abc import Iterable, Iterator
from functools import partial
from io import UnsupportedOperation
from itertools import chain
from multiprocessing import get_all_start_methods
from typing import BinaryIO

from django.core.management.base import BaseCommand, CommandError

from calc.printed import printed
from orders.management.in_order import Lost, write_in_order

UNREADABLE = 2
# Blinds that one process computes at a time; fewer are not worth a second process.
CHUNK = 100
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
                if lines:
                    made = partial(_made, between="\n", after="\n", working=not no_working)
                    self._write(made, (("", blinds) for blinds in _chunks(_lines(source))), jobs=jobs)
                else:
                    self._write_list(_list(source), jobs=jobs, working=not no_working)
                self.stdout.flush()
        except BrokenPipeError:
            # Whoever read us has seen enough. What is still buffered has nowhere to go.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            sys.exit(BROKEN_PIPE)
        except (OSError, Unreadable, Lost) as trouble:
            raise CommandError(f"{_called(file)}: {_said(trouble)}", returncode=UNREADABLE) from trouble

    def _write_list(self, blinds: list, *, jobs: int, working: bool) -> None:
        """The answers as one JSON list, a line each."""
        made = partial(_made, between=",\n", after="", working=working)
        befores = chain(["[\n"], iter(lambda: ",\n", None))
        self._write(made, zip(befores, _chunks(blinds), strict=False), jobs=jobs)
        self.stdout.write("\n]\n" if blinds else "[]\n", ending="")

    def _write(self, made: partial, pieces: Iterable[tuple[str, list]], *, jobs: int) -> None:
        """`made` of each piece, in order; in `jobs` processes where the first piece is a whole one."""
        pieces, out = iter(pieces), _descriptor(self.stdout)
        first = next(pieces, ("", []))
        alone = jobs < 2 or len(first[1]) < CHUNK or out is None or "fork" not in get_all_start_methods()
        pieces = chain([first], pieces)
        if alone:
            for piece in pieces:
                self.stdout.write(made(piece).decode(), ending="")
            return
        self.stdout.flush()
        write_in_order(made, pieces, jobs=jobs, out=out)


def _descriptor(stream) -> int | None:
    try:
        return stream.fileno()
    except UnsupportedOperation:
        return None


def _opened(file: str) -> BinaryIO:
    if file == "-":
        return open(sys.stdin.fileno(), "rb", closefd=False)
    return open(file, "rb")


def _called(file: str) -> str:
    return "standard input" if file == "-" else file


def _said(trouble: Exception) -> str:
    return trouble.strerror or str(trouble) if isinstance(trouble, OSError) else str(trouble)


def _list(source: BinaryIO) -> list:
    blinds = _read(source.read(), where="")
    if not isinstance(blinds, list):
        raise Unreadable(f"not a JSON list of blinds but {_kind(blinds)}; put the blinds between [ and ]")
    return blinds


def _lines(source: BinaryIO) -> Iterator:
    """A blind a line; a line that can't be read ends them."""
    for number, line in enumerate(source, start=1):
        if not line.isspace():
            yield _read(line, where=f"line {number}: ")


def _chunks(blinds: Iterable) -> Iterator[list]:
    """Lists of CHUNK blinds; what `blinds` raises comes after those before it."""
    chunk = []
    try:
        for blind in blinds:
            chunk.append(blind)
            if len(chunk) == CHUNK:
                yield chunk
                chunk = []
    except Unreadable:
        yield chunk
        raise
    if chunk:
        yield chunk


def _made(piece: tuple[str, list], *, between: str, after: str, working: bool) -> bytes:
    """The answers to the blinds of `piece`, what comes before them, and what comes after."""
    before, blinds = piece
    answers = [printed(blind, working=working) for blind in blinds]
    return f"{before}{between.join(answers)}{after}".encode() if answers else b""


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
