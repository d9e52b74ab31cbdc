"""The number that a blind is known by: the code that a scanner reads, the form that people say and type, and both
as drawings a label printer can hold.

A scanned code is ten digits: the order's number in six, the blind's serial in three, and a check digit (Damm 2004,
which catches every wrong digit and every swap of neighbours). Once a rail was scrapped or a change accepted, it is
twelve: two more before the check digit count how often the papers were made anew, so that no old one is taken for them.
People say `0412-3`, and type it with the check digit of the first ten after it, `0412-3-0`, or without.
"""

import re
from typing import NamedTuple

import segno
from barcode.charsets import code128
from stdnum import damm

from .words import _

LARGEST_ORDER_NUMBER = 999_999
LARGEST_SERIAL = 999
LARGEST_REMAKE = 99
DOT_MM = 0.125
"""One dot of a 203 dpi label printer, which prints eight dots a millimetre."""
CODE128_QUIET_MODULES = 10
"""Quiet zone each side: GS1 General Specifications R18, 5.4.4."""
QR_QUIET_MODULES = 4
"""Quiet zone all round: ISO/IEC 18004."""

BADGE_PREFIX = "98"
BADGES = 10**26
"""How many badges there could be: 86 bits."""

_SYMBOLOGY = re.compile(r"^\][A-Za-z][0-9A-Za-z]")
"""What a scanner may send before the data, such as `]C0` or `]Q1`: ISO/IEC 15424."""
_DASHES = str.maketrans(dict.fromkeys("‐‑‒–—−", "-"))
_HUMAN = re.compile(r"([0-9]{1,6})-([0-9]{1,3})(?:-([0-9]))?")


class CodeError(ValueError):
    """A text that names no blind. Its message says what is wrong with it and what to do."""


class Named(NamedTuple):
    """The blind that a text names; `remake` is how often its papers had been made anew, None where it was typed."""

    order_number: int
    serial: int
    remake: int | None


def ticket_code(*, order_number: int, serial: int, remake: int = 0) -> str:
    """The digits a scanner reads for blind `serial` (1 to 999) of order `order_number` (1 to 999999): ten, or twelve
    once its papers were made anew (`remake`, up to 99)."""
    _check_range(order_number=order_number, serial=serial)
    if not 0 <= remake <= LARGEST_REMAKE:
        raise ValueError(f"New papers {remake} have no code: they are made anew up to {LARGEST_REMAKE} times.")
    digits = f"{order_number:06d}{serial:03d}" + (f"{remake:02d}" if remake else "")
    return digits + damm.calc_check_digit(digits)


def human_number(*, order_number: int, serial: int) -> str:
    """The number that people say and type, `0412-3`. Same limits as `ticket_code`."""
    _check_range(order_number=order_number, serial=serial)
    return f"{order_number:04d}-{serial}"


def check_digit(*, order_number: int, serial: int) -> str:
    """The digit that proves a typed number, `0412-3-0`: the last of the ten that are scanned. Same limits."""
    return ticket_code(order_number=order_number, serial=serial)[9]


def is_proved(text: str) -> bool:
    """Whether what was scanned or typed carries a check digit; else a slip may name another blind."""
    typed = _HUMAN.fullmatch(_tidy(text))
    return not typed or bool(typed[3])


def badge_code(number: int) -> str:
    """The 28 digits on badge `number` (0 up to BADGES): too long for a blind's, and digits alone, since a scanner types
    letters wrong on some keyboards."""
    if not 0 <= number < BADGES:
        raise ValueError("There is no such badge: its number must be from 0 up to BADGES.")
    return f"{BADGE_PREFIX}{number:026d}"


def badge_on(text: str) -> str | None:
    """The digits of the badge that was scanned, without what a scanner adds, or None where it is no badge."""
    tidy = _tidy(text)
    return tidy if re.fullmatch(f"{BADGE_PREFIX}[0-9]{{26}}", tidy) else None


def read_code(text: str) -> Named:
    """The blind that was scanned or typed.

    Takes the ten or twelve digits as a scanner sends them (with its own prefix, spaces, a line end), or the number
    with its dash typed by hand, its check digit after another dash if it has one. Raises CodeError for anything else.
    """
    tidy = _tidy(text)
    shown = tidy if len(tidy) <= 24 else tidy[:24] + "…"
    if not tidy:
        raise CodeError(_("Nothing was read. Scan the code on the ticket, or type its number, such as 0412-3."))
    if badge_on(tidy):
        # Not repeated: whoever reads it could print one.
        raise CodeError(_("That is a badge, not a blind: a tablet in use reads it. Scan the code on the ticket."))
    if human := _HUMAN.fullmatch(tidy):
        named = _typed(*human.groups(), shown=shown)
    elif tidy.isascii() and tidy.isdecimal():
        named = _scanned(tidy, shown=shown)
    else:
        raise CodeError(
            _(
                "{code} is not the code of a blind. "
                "Scan the code on the ticket or on the rail, or type its number, such as 0412-3.",
                code=shown,
            )
        )
    if not (named.order_number and named.serial):
        raise CodeError(
            _("{code} names no blind: orders and blinds count from 1. Check the number on the ticket.", code=shown)
        )
    return named


def _typed(order_number, serial, check, *, shown):
    """The blind of a number that was typed by hand, proved by its check digit where it has one."""
    named = Named(int(order_number), int(serial), None)
    if check and not damm.is_valid(f"{named.order_number:06d}{named.serial:03d}{check}"):
        raise CodeError(
            _(
                "{code} was mistyped: its check digit does not fit. "
                "Look at the ticket or the rail, and type the whole number again.",
                code=shown,
            )
        )
    return named


def _scanned(digits, *, shown):
    """The blind of the digits that a scanner sent."""
    if len(digits) not in (10, 12):
        raise CodeError(
            _(
                "{code} has {digits} digits; a scanned code has 10 or 12, and a typed number has a dash, "
                "such as 0412-3. Scan it again, or type the number with its dash.",
                code=shown,
                digits=len(digits),
            )
        )
    # No code is printed with 00 for new papers.
    if not damm.is_valid(digits) or (len(digits) == 12 and digits[9:11] == "00"):
        raise CodeError(
            _(
                "{code} was misread: its check digit does not fit. "
                "Scan it again, or type the number printed beside the code, such as 0412-3.",
                code=shown,
            )
        )
    return Named(int(digits[:6]), int(digits[6:9]), int(digits[9:-1] or 0))


def code128_svg(digits: str, *, dots: int = 2, height_mm: float = 8) -> str:
    """Code 128 (ISO/IEC 15417) of `digits`, a module `dots` printer dots wide (2 or more), quiet zones included.

    Raises ValueError for a narrower module, and for anything but an even number of digits.
    """
    if dots < 2:
        raise ValueError(f"A Code 128 module of {dots} printer dot cannot be read back; use 2 or more.")
    modules = code128_modules(digits)
    bars = "".join(
        f"M{run.start() + CODE128_QUIET_MODULES} 0h{len(run.group())}v1h-{len(run.group())}z"
        for run in re.finditer("1+", modules)
    )
    columns = len(modules) + 2 * CODE128_QUIET_MODULES
    return _svg(path=bars, columns=columns, rows=1, width_mm=columns * dots * DOT_MM, height_mm=height_mm, label=digits)


def code128_modules(digits: str) -> str:
    """The symbol as 1 for a bar and 0 for a space, in code set C: start, pairs of digits, check, stop.

    Only the table of patterns is python-barcode's: its encoder takes a leading pair 99 for a change of code set and
    drops it.
    """
    if not re.fullmatch(r"([0-9]{2})+", digits):
        raise ValueError(f"{digits!r} is no even number of digits, and code set C holds only pairs.")
    values = [code128.START_CODES["C"], *(int(pair) for pair in re.findall("..", digits))]
    check = (values[0] + sum(place * value for place, value in enumerate(values))) % 103
    return "".join(code128.CODES[value] for value in [*values, check]) + code128.STOP + "11"


def qr_svg(text: str, *, dots: int = 4) -> str:
    """QR code (ISO/IEC 18004, recovery Q) of `text`, a module `dots` printer dots (3 or more), quiet zone included."""
    if dots < 3:
        raise ValueError(f"A QR module of {dots} printer dots cannot be read back; use 3 or more.")
    rows = ["".join("1" if dark else "0" for dark in row) for row in segno.make_qr(text, error="q").matrix]
    squares = "".join(
        f"M{run.start() + QR_QUIET_MODULES} {y + QR_QUIET_MODULES}h{len(run.group())}v1h-{len(run.group())}z"
        for y, row in enumerate(rows)
        for run in re.finditer("1+", row)
    )
    side = len(rows) + 2 * QR_QUIET_MODULES
    side_mm = side * dots * DOT_MM
    return _svg(path=squares, columns=side, rows=side, width_mm=side_mm, height_mm=side_mm, label=text)


def _tidy(text: str) -> str:
    printable = "".join(character for character in text.strip() if character.isprintable())
    return re.sub(r"\s", "", _SYMBOLOGY.sub("", printable)).translate(_DASHES)


def _check_range(*, order_number: int, serial: int) -> None:
    if not 1 <= order_number <= LARGEST_ORDER_NUMBER:
        raise ValueError(f"Order number {order_number} has no code: it must be from 1 to {LARGEST_ORDER_NUMBER}.")
    if not 1 <= serial <= LARGEST_SERIAL:
        raise ValueError(f"Serial {serial} has no code: an order holds blinds 1 to {LARGEST_SERIAL}.")


def _svg(*, path: str, columns: int, rows: int, width_mm: float, height_mm: float, label: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm:g}mm" height="{height_mm:g}mm" '
        f'viewBox="0 0 {columns} {rows}" preserveAspectRatio="none" shape-rendering="crispEdges" '
        f'role="img" aria-label="{label}"><path fill="#000" d="{path}"/></svg>'
    )
