"""What is typed to find an order, and what an order is found by, folded alike so that each finds the other.

Letters lose case and accents (`Müller` is muller, and mueller too, as it is typed without that key), figures are ASCII,
apostrophes vanish and every other mark parts two words. A phone number counts without its country code and without the
nought before the area, so that +44 20 7946 0101, 0044 (0)20-7946-0101 and 02079460101 are one. Pure: text in, text out.
"""

import hashlib
import re
import unicodedata
from functools import lru_cache
from typing import NamedTuple

MOST_WORDS = 4
"""So many of what was typed are looked for, the longest: each costs a look."""
LONGEST_ENDING = 24
"""So many letters of a word are in an index; the few with more in common are held against the whole word."""
MARK = "#"
"""What is typed never begins with it."""
SHORTEST_INSIDE = 3
"""Fewer letters must begin a word."""
FEWEST_PHONE_DIGITS = 5
"""Fewer digits may be anything."""
LONGEST_NUMBER = 6
"""So many digits has the number of an order at most."""
COUNTRY_CODE = re.compile(r"1|7|2[07]|3[0-469]|4[013-9]|5[1-8]|6[0-6]|8[1246]|9[0-58]|[0-9]{3}|[0-9]+")
"""Country codes of one and of two digits; every other has three: ITU-T E.164, list of assigned country codes."""

_APOSTROPHES = str.maketrans(dict.fromkeys("'’‘ʼ`´′"))
_LETTERS = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "ħ": "h", "ı": "i", "æ": "ae", "œ": "oe", "þ": "th"})
_SPELT_OUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "å": "aa", "ø": "oe"})
_EMAIL = re.compile(r"\S+@\S*")
_RUN_OF_DIGITS = re.compile(r"(?<!\w)(?:\+|\(\+?)?[0-9](?:[0-9\s().+/‐‑‒–—−-]*[0-9])?(?!\w)")
_BETWEEN_PHONES = re.compile(r"[/,;&|]|[^\W\d]+")
_ORDER_NUMBER = re.compile(r"(?:order ?)?(?:number ?|no ?|nr ?)?0*([0-9]{1,6})")


class Unit(NamedTuple):
    """One thing that was typed: found where any of `needles` stands, or at the order of this `number`."""

    needles: tuple[str, ...]
    number: int | None = None


def words(text: str) -> list[str]:
    """The folded words of `text`: letters and figures, parted by everything else."""
    apart = unicodedata.normalize("NFKD", _small(text))
    plain = "".join(each for each in apart if not unicodedata.combining(each)).translate(_LETTERS).casefold()
    return "".join(each if each.isalnum() else " " for each in plain).split()


@lru_cache(maxsize=4096)
def written(*texts: str, phones: tuple[str, ...] = ()) -> str:
    """What the owner of these `texts` and `phones` is found by, as its `sought` is stored."""
    parts = []
    for text in texts:
        for spelling in _spellings(text):
            # Typed without its gaps and marks, it is found all the same.
            parts += [*words(spelling), "".join(words(spelling))]
    for phone in phones:
        numbers = _BETWEEN_PHONES.split(_small(phone))
        parts += [form for number in numbers for form in sorted(phone_forms(number))]
        parts += [*words(phone), "".join(words(phone))]
    return "".join(f" {part}" for part in dict.fromkeys(parts) if part)


def units(text: str) -> list[Unit]:
    """Everything that was typed, each to be found; the longest four where there are more."""
    if number := order_number(text):
        return [Unit((_needle(str(number)), _needle("".join(words(text)))), number)]
    found = []

    def take_email(run):
        found.append(Unit((_needle("".join(words(run[0]))),)))
        return " "

    def take_digits(run):
        if len(_digits(run[0])) < FEWEST_PHONE_DIGITS:
            return run[0]
        found.append(_unit_of_digits(run[0]))
        return " "

    rest = _RUN_OF_DIGITS.sub(take_digits, _EMAIL.sub(take_email, _small(text)))
    found += [Unit((_needle(word),), _number_in(word)) for word in words(rest)]
    wanted = [unit for unit in dict.fromkeys(found) if unit.needles[0].strip()]
    longest = sorted(wanted, key=lambda unit: -len(unit.needles[0].strip()))[:MOST_WORDS]
    return [unit for unit in wanted if unit in longest]


def endings(sought: str) -> set[str]:
    """What every needle that `sought` holds is the beginning of, up to LONGEST_ENDING letters: each word behind its
    gap, and from each letter on. A mark of `sought` as a whole is among them, by which others are told from them."""
    pieces = {MARK + hashlib.md5(sought.encode(), usedforsecurity=False).hexdigest()} if sought else set()
    for word in sought.split():
        pieces.add(f" {word}"[:LONGEST_ENDING])
        # Shorter than three, a needle begins a word: see _needle.
        pieces.update(
            word[at : at + LONGEST_ENDING]
            for at in range(len(word))
            if len(word) - at >= SHORTEST_INSIDE or not word[at:].isascii()
        )
    return pieces


def order_number(text: str) -> int | None:
    """The number where `text` is one order's number and no more: 412, 0412, #412, Order no. 412."""
    found = _ORDER_NUMBER.fullmatch(" ".join(words(text)))
    return int(found[1]) or None if found else None


def phone_forms(text: str) -> set[str]:
    """The digits that the phone number `text` may be meant by: without country code and trunk nought, and with its
    country code where it has one. Empty where there are no digits but noughts."""
    digits = _digits(text.replace("(0)", ""))
    if "+" in text:
        return _international(digits)
    if digits.startswith("00"):
        return _international(digits[2:])
    # Spreadsheets take the plus away.
    may_have_code = len(digits) > 10 and not digits.startswith("0")
    return {digits.lstrip("0"), *(_international(digits) if may_have_code else ())} - {""}


def _international(digits):
    if not digits.strip("0"):
        return set()
    code = COUNTRY_CODE.match(digits)[0]
    national = digits[len(code) :].lstrip("0")
    return {national, code + national} - {""}


def _unit_of_digits(run):
    digits = _digits(run)
    forms = sorted(form for form in phone_forms(run) - {digits} if len(form) >= FEWEST_PHONE_DIGITS)
    return Unit((digits, *forms), _number_in(run))


def _number_in(word):
    is_number = word.isascii() and word.isdecimal() and len(word) <= LONGEST_NUMBER
    return int(word) or None if is_number else None


def _needle(word):
    """One or two letters stand in nearly everything, so they must begin a word; elsewhere one sign may be a name."""
    return f" {word}" if len(word) < SHORTEST_INSIDE and word.isascii() else word


def _digits(text):
    return "".join(each for each in text if each.isdecimal())


def _small(text):
    """Small letters with their accents, apostrophes gone, figures in ASCII."""
    composed = unicodedata.normalize("NFKC", text.translate(_APOSTROPHES)).translate(_APOSTROPHES)
    return "".join(str(unicodedata.decimal(each, each)) for each in composed.casefold())


def _spellings(text):
    small = unicodedata.normalize("NFC", _small(text))
    return dict.fromkeys((small, small.translate(_SPELT_OUT)))
