"""A length as people type it, with or without a unit, as millimetres to a tenth: 1200, 1200.5 mm, 120 cm, 1.2 m,
47 1/4 in, 47.25", 3' 11 1/4". A comma may stand for the decimal point.

The international yard and pound agreement of 1959 makes 1 yard 0.9144 m exactly (seen in an encyclopedia's article on
it), so that 1 inch, its 36th part, is 25.4 mm exactly. Where a length in inches is no whole tenth of a millimetre it is
rounded to one, half up, and the reading says so. What could mean two lengths is refused with both.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

INCH_MM = Fraction(254, 10)
FOOT_MM = 12 * INCH_MM
METRIC_MM = {"mm": 1, "cm": 10, "m": 1000}
UNITS = {
    "mm": r"mm|millimet(?:re|er)s?",
    "cm": r"cm|centimet(?:re|er)s?",
    "m": r"m|met(?:re|er)s?",
    "in": r"in\.?|inch(?:es)?|\"|''",
    "ft": r"ft\.?|foot|feet|'",
}
TAPE_FRACTIONS = (2, 4, 8, 16, 32, 64)
LONGEST_TEXT = 40

_ALIKE = str.maketrans(
    {
        **dict.fromkeys("″”“„‟", '"'),
        **dict.fromkeys("′’‘‛´`", "'"),
        "⁄": "/",
        "¼": " 1/4",
        "½": " 1/2",
        "¾": " 3/4",
        "⅛": " 1/8",
        "⅜": " 3/8",
        "⅝": " 5/8",
        "⅞": " 7/8",
    }
)
_NUMBER = r"[0-9]{1,6}(?:[.,][0-9]{1,6})?"
_METRIC = re.compile(rf"(?P<number>{_NUMBER}) ?(?P<unit>{UNITS['mm']}|{UNITS['cm']}|{UNITS['m']})?")
_FEET = rf"(?:(?P<feet>{_NUMBER}) ?(?:{UNITS['ft']}))"
_INCHES = (
    rf"(?:(?:(?P<inches>{_NUMBER})(?:(?: |-| - )(?P<over>[0-9]+/[0-9]+))?|(?P<only>[0-9]+/[0-9]+)) ?(?:{UNITS['in']}))"
)
_IMPERIAL = re.compile(rf"{_FEET}|{_FEET.replace('P<feet>', 'P<whole_feet>')}? ?{_INCHES}")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2}[.,][0-9]{3}")


class LengthError(ValueError):
    """A text that is no length, or could be two. Its message gives the values and what to type instead."""


@dataclass(frozen=True)
class Reading:
    """What `typed` was read as: `mm` in tenths, `exact_mm` before it was rounded; `plain` where no unit was typed."""

    typed: str
    mm: Decimal
    exact_mm: Fraction
    plain: bool

    def __str__(self):
        rounded = "" if self.exact_mm == self.mm else f", rounded from {decimal_text(self.exact_mm)}"
        return f"{self.typed} = {decimal_text(self.mm)} mm{rounded}"

    @property
    def converted(self):
        """Whether what is kept looks other than what was typed."""
        return self.typed not in (decimal_text(self.mm), f"{self.mm:f}")


def read_length(text: str) -> Reading:
    """The length that `text` says, above 0. Raises LengthError for anything else."""
    typed = " ".join(text.split())
    if typed.isascii() and typed.isdecimal() and 0 < len(typed) <= 6 and typed.strip("0"):
        # As most are typed; told at once, since a file has thousands of them.
        return Reading(typed, Decimal(f"{int(typed)}.0"), Fraction(int(typed)), plain=True)
    if len(typed) > LONGEST_TEXT:
        raise _no_length(f"{typed[:LONGEST_TEXT]}…")
    tidy = " ".join(typed.translate(_ALIKE).casefold().split())
    if found := _METRIC.fullmatch(tidy):
        reading = _metric(typed, found)
    elif found := _IMPERIAL.fullmatch(tidy):
        reading = _imperial(typed, found)
    else:
        raise _no_length(typed)
    if not reading.exact_mm:
        raise LengthError(f"“{typed}” is nothing: a length is above 0. Measure it and type it.")
    return reading


def decimal_text(number) -> str:
    """A number that ends, in full and without a needless nought."""
    exact = Fraction(number)
    return f"{(Decimal(exact.numerator) / Decimal(exact.denominator)).normalize():f}"


def _metric(typed, found):
    number = found["number"]
    unit = next((key for key in METRIC_MM if found["unit"] and re.fullmatch(UNITS[key], found["unit"])), "mm")
    # Thousands of metres are no blind: 1.830 m is only metres to a millimetre.
    if unit != "m" and _THOUSANDS.fullmatch(number):
        raise _two_ways(typed, number, unit)
    exact_mm = _fraction(number) * METRIC_MM[unit]
    mm = _half_up(exact_mm)
    if exact_mm != mm:
        least = exact_mm * 10 // 1
        near = " or ".join(decimal_text(Fraction(tenths, 10)) for tenths in (least, least + 1) if tenths)
        raise LengthError(f"“{typed}” is finer than a tenth of a millimetre. Type {near}, in millimetres.")
    return Reading(typed, mm, exact_mm, plain=not found["unit"])


def _imperial(typed, found):
    feet, inches = found["feet"] or found["whole_feet"] or "0", found["inches"] or "0"
    part = _tape_fraction(typed, found["over"] or found["only"])
    for number, unit in ((feet, "ft"), (inches, "in")):
        if "," in number and _THOUSANDS.fullmatch(number):
            raise _two_ways(typed, number, unit)
    if found["over"] and not inches.isdecimal():
        raise LengthError(
            f"“{typed}” has a decimal and a fraction. Type one of the two, such as 47.25 in or 47 1/4 in."
        )
    if found["whole_feet"]:
        _check_feet(typed, feet, inches, found["over"])
    exact_mm = _fraction(feet) * FOOT_MM + (_fraction(inches) + part) * INCH_MM
    return Reading(typed, _half_up(exact_mm), exact_mm, plain=False)


def _check_feet(typed, feet, inches, over):
    if not feet.isdecimal():
        raise LengthError(f"“{typed}” has parts of a foot and inches too. Type whole feet with inches: 3 ft 11 1/4 in")
    if _fraction(inches) >= 12:
        alone = decimal_text(12 * _fraction(feet) + _fraction(inches))
        raise LengthError(
            f"“{typed}” has {inches} inches beside its feet, and 12 make a foot. "
            f"Measure again, or type the inches alone: {' '.join(filter(None, [alone, over]))} in"
        )


def _tape_fraction(typed, text):
    if not text:
        return Fraction(0)
    over, under = (int(number) for number in text.split("/"))
    if under not in TAPE_FRACTIONS or not 0 < over < under:
        raise LengthError(
            f"“{typed}” has {text} of an inch, and a tape shows halves to sixty-fourths, each less than 1. "
            "Read the tape again, or type a decimal, such as 47.25 in"
        )
    return Fraction(over, under)


def _fraction(number):
    return Fraction(number.replace(",", "."))


def _half_up(exact_mm):
    return Decimal(int((exact_mm * 10 + Fraction(1, 2)) // 1)).scaleb(-1)


def _two_ways(typed, number, unit):
    whole, part = re.sub(r"[.,]", "", number), decimal_text(_fraction(number))
    return LengthError(
        f"“{typed}” could be {whole} {unit} or {part} {unit}. "
        f"Type {whole} {unit} without a mark for thousands, or {part} {unit}."
    )


def _no_length(typed):
    return LengthError(
        f"“{typed}” is not a length. Type millimetres, such as 1830 or 1830.5, or a number with its unit: "
        "1.83 m, 183 cm, 72 1/4 in"
    )
