"""What a look at a customer's file hangs on, so that one which found nothing in the way is not taken twice.

The page of a file says so to the request that takes it in, signed; whoever takes it in holds it against how things are.
"""

import hashlib
from functools import cache
from pathlib import Path

from django.core import signing

import calc
from orders.importing.catalogue import as_it_is

SIGNER = signing.Signer(salt="a customer's file that may be taken in")


def mark_of(file, *, columns, today) -> str:
    """The mark of a look at `file` on `today`: another with the same mark comes to the same figures and findings.

    `columns`: what is remembered of the customer's.
    """
    hangs_on = (file.digest, file.choices, columns, file.customer.market, today, as_it_is(), _rules())
    return hashlib.sha256(repr(hangs_on).encode()).hexdigest()


@cache
def _rules():
    """The rules themselves: a newer version judges anew."""
    sources = sorted(Path(calc.__file__).parent.glob("*.py"))
    return hashlib.sha256(b"".join(each.read_bytes() for each in sources)).hexdigest()


def told(mark: str) -> str:
    """What a page says to the request after it: a look with this mark found nothing in the way."""
    return SIGNER.sign(mark)


def heard(text: str) -> str:
    """The mark in what a page said; "" where it said none, or was signed with another key."""
    try:
        return SIGNER.unsign(text)
    except signing.BadSignature:
        return ""
