"""Passwords that were stolen elsewhere, in a list that the owner keeps on the server: nobody outside is asked.

The list is text, a line for each password: its SHA-1 in 40 hexadecimal signs and, after a colon, anything; in the order
of the hashes. It may be far larger than memory.
"""

import hashlib
import os
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured, ValidationError

HEX = 40


def require_list(path):
    """Raises ImproperlyConfigured where no list stands at `path`, by its first line."""
    try:
        with open(path, "rb") as lines:
            first = lines.readline().partition(b":")[0].strip()
    except OSError:
        first = b""
    if len(first) != HEX or first.strip(b"0123456789abcdefABCDEF"):
        raise ImproperlyConfigured(
            f"BREACHED_PASSWORDS is {path}, and no list stands there: lines of SHA-1 in hexadecimal signs, in their "
            "order. Name one, or leave the setting out."
        )


class NotBreached:
    """Refuses a password that is in the list at `path`, and any while the list can't be read."""

    def __init__(self, path):
        self._path = Path(path)

    def validate(self, password, user=None):
        try:
            is_known = _is_in(self._path, password)
        except OSError as trouble:
            raise ValidationError(
                f"The list of stolen passwords can't be read ({trouble.strerror}), so that none can be chosen now. "
                "Tell whoever runs the server: BREACHED_PASSWORDS names it."
            ) from trouble
        if is_known:
            raise ValidationError(
                "That password was stolen from somebody elsewhere, and is tried first. Choose a few words that have "
                "nothing to do with each other."
            )

    def get_help_text(self):
        return "Not one that was stolen elsewhere."


def _is_in(path, password):
    """Whether the hash of `password` is in the list; halves what is left of it with each look."""
    # Not to keep a secret: the lists that there are have it so.
    wanted = hashlib.sha1(password.encode(), usedforsecurity=False).hexdigest().encode()
    with path.open("rb") as lines:
        low, high = 0, lines.seek(0, os.SEEK_END)
        while low < high:
            # Back to where a line begins.
            lines.seek(max(0, (low + high) // 2 - 1))
            if lines.tell():
                lines.readline()
            found = lines.readline()[:HEX].lower()
            if found == wanted:
                return True
            if found and found < wanted:
                low = lines.tell()
            else:
                high = (low + high) // 2
    return False
