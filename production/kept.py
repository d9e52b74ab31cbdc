"""What a process keeps of what it has worked out, by all that it follows from.

A key holds every value that the kept thing shows or follows from, so that nothing kept can be out of date: what changes
is asked for by another key, in every process at once, and what nobody asks for any more makes room.
"""

import hashlib
import itertools
import secrets
import threading
import time
from contextlib import suppress
from functools import partial
from pathlib import Path

MAKE_ROOM_EVERY = 200
"""After so many texts that a process has left for others, those that were left first make room."""


class Kept:
    """The `most` things that were asked for last, by their keys."""

    def __init__(self, *, most):
        self._most, self._found, self._lock = most, {}, threading.Lock()

    def get(self, key, make):
        """What is kept by `key`, or else what `make()` gives, which is kept from then on."""
        with self._lock:
            if key in self._found:
                # Put back at the end: what stands at the head was not asked for the longest.
                self._found[key] = found = self._found.pop(key)
                return found
        made = make()
        with self._lock:
            self._found[key] = made
            while len(self._found) > self._most:
                del self._found[next(iter(self._found))]
        return made

    def clear(self):
        with self._lock:
            self._found.clear()


class KeptTexts(Kept):
    """Texts, which the processes that know the same `folder` make once between them; without one, each for itself.

    A folder that can't be read or written costs time and nothing else.
    """

    def __init__(self, *, most, folder=None):
        super().__init__(most=most)
        self._folder = Path(folder) if folder else None
        self._left = itertools.count(1)

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
        begun.write_text(text, encoding="utf-8")
        begun.replace(path)
        if next(self._left) % MAKE_ROOM_EVERY == 0:
            oldest_first = sorted(self._folder.iterdir(), key=lambda found: found.stat().st_mtime)
            for found in oldest_first[: -self._most]:
                found.unlink()


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
