"""What a process keeps of what it has worked out, by all that it follows from.

A key holds every value that the kept thing shows or follows from, so that nothing kept can be out of date: what changes
is asked for by another key, in every process at once, and what nobody asks for any more makes room.
"""

import hashlib
import threading


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


def digest(*values):
    """A short key for values too large to be one: dicts, lists, texts and numbers, equal only where all of them are."""
    return hashlib.blake2b(repr(values).encode(), digest_size=16).digest()
