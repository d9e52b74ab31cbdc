"""What a process keeps of what it has worked out, by all that it follows from.

A key holds every value that the kept thing shows or follows from, so that nothing kept can be out of date: what changes
is asked for by another key, in every process at once, and what nobody asks for any more makes room.
"""

import hashlib
import itertools
import secrets
import sys
import threading
import time
from contextlib import suppress
from functools import partial
from pathlib import Path

MAKE_ROOM_AFTER = 0.1
"""Once a process has left such a part of the most for others, what was left first makes room."""


class Kept:
    """The things that were asked for last, by their keys: `most` in number, or in `size` together."""

    def __init__(self, *, most, size=lambda thing: 1):
        self._most, self._size, self._lock = most, size, threading.Lock()
        self.clear()

    def get(self, key, make):
        """What is kept by `key`, or else what `make()` gives, which is kept from then on."""
        with self._lock:
            if key in self._found:
                # Put back at the end: what stands at the head was not asked for the longest.
                self._found[key] = found = self._found.pop(key)
                return found
        made = make()
        with self._lock:
            if key not in self._found:
                self._found[key] = made
                self._sum += self._size(made)
            while self._sum > self._most:
                self._sum -= self._size(self._found.pop(next(iter(self._found))))
        return made

    def clear(self):
        with self._lock:
            self._found, self._sum = {}, 0


class KeptTexts(Kept):
    """Texts, `most_bytes` of them in memory, which the processes that know the same `folder` make once between them.

    As much is left in the folder, and a little more until room is made. Without a folder, each process keeps its own;
    one that can't be read or written costs time and nothing else.
    """

    def __init__(self, *, most_bytes, folder=None):
        super().__init__(most=most_bytes, size=sys.getsizeof)
        self._folder = Path(folder) if folder else None
        self._left = 0

    def get(self, key, make):
        return super().get(key, partial(self._between_them, key, make) if self._folder else make)

    def _between_them(self, key, make):
        path = self._folder / digest(key).hex()
        try:
            return path.read_text(encoding="utf-8")
        except OSError:
            text = make()
        with suppress(OSError):
            self._leave(path, text)
        return text

    def _leave(self, path, text):
        """Whole at once, so that nobody reads half of it."""
        self._folder.mkdir(mode=0o700, exist_ok=True)
        begun = path.with_suffix(f".{secrets.token_hex(8)}")
        written = text.encode()
        begun.write_bytes(written)
        begun.replace(path)
        self._left += len(written)
        if self._left > MAKE_ROOM_AFTER * self._most:
            self._left = 0
            self._make_room()

    def _make_room(self):
        newest_first = sorted(((at.st_mtime, at.st_size, path) for path, at in self._standing()), reverse=True)
        sums = itertools.accumulate(size for _moment, size, _path in newest_first)
        for (_moment, _size, path), together in zip(newest_first, sums, strict=True):
            if together > self._most:
                path.unlink(missing_ok=True)

    def _standing(self):
        for path in self._folder.iterdir():
            # Another process may have taken it away.
            with suppress(FileNotFoundError):
                yield path, path.stat()


class ReadSeldom:
    """What `read()` gives, read again once it is `most_s` seconds old."""

    def __init__(self, read, *, most_s):
        self._read, self._most_s = read, most_s
        self.clear()

    def get(self):
        if self._until < time.monotonic():
            self._found, self._until = self._read(), time.monotonic() + self._most_s
        return self._found

    def clear(self):
        self._found, self._until = None, float("-inf")


def digest(*values):
    """A short key for values too large to be one: dicts, lists, texts and numbers, equal only where all of them are."""
    return hashlib.blake2b(repr(values).encode(), digest_size=16).digest()
