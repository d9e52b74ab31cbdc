"""Exact numbers, and the only place that rounds.

Inside `calc` a number is an int where it is whole and a Fraction where it is not, never a float: a count then never
hangs on a rounding. Floats appear once, in `json_number`, when a finished figure leaves.
"""

from decimal import Decimal
from fractions import Fraction

Exact = int | Fraction

PLACES = 4
_SCALE = 10**PLACES


def settled(number: Exact) -> Exact:
    """`number` as an int where it is whole."""
    return number.numerator if number.denominator == 1 else number


def exact(number: int | float | str | Decimal | Fraction) -> Exact:
    """`number` as it was typed: 0.15 is 15/100, "2/3" two thirds. Raises ValueError where it is no finite number."""
    if isinstance(number, bool):
        raise ValueError(f"{number} is a yes or no, not a number")
    try:
        return settled(Fraction(repr(number) if isinstance(number, float) else number))
    except (OverflowError, TypeError, ValueError, ZeroDivisionError):
        raise ValueError(f"{number!r} is not a number") from None


def ratio(over: Exact, under: Exact) -> Exact:
    """`over` / `under`, exact. Raises ZeroDivisionError."""
    return Fraction(over, under) if over % under else over // under


def half(number: Exact) -> Exact:
    """Half of `number`, exact."""
    return ratio(number, 2)


def total(*numbers: Exact) -> Exact:
    """`numbers` added up, exact; brought to lowest terms once, at the end."""
    above, below = 0, 1
    for number in numbers:
        over, under = number.as_integer_ratio()
        if under == below:
            above += over
        else:
            above, below = above * under + over * below, below * under
    return ratio(above, below)


def product(one: Exact, other: Exact) -> Exact:
    """`one` times `other`, exact."""
    (above, below), (over, under) = one.as_integer_ratio(), other.as_integer_ratio()
    return ratio(above * over, below * under)


def sum_of_products(*pairs: tuple[Exact, Exact], over: int) -> Exact:
    """The products of `pairs` added up and divided by `over`, exact; brought to lowest terms once, at the end."""
    above, below = 0, over
    for one, other in pairs:
        (one_above, one_below), (other_above, other_below) = one.as_integer_ratio(), other.as_integer_ratio()
        under = one_below * other_below
        above, below = above * under + one_above * other_above * (below // over), below * under
    return ratio(above, below)


def ceil_ratio(over: Exact, under: Exact) -> int:
    """The least whole number that is not below `over` / `under`."""
    return -(-over // under)


def json_number(number: Exact) -> int | float:
    """`number` as JSON prints it: whole, or a decimal of at most four places, rounded half away from zero."""
    if type(number) is int:
        return number
    over, under = number.as_integer_ratio()
    if over < 0:
        return -json_number(-number)
    ten_thousandths = (2 * over * _SCALE + under) // (2 * under)
    return ten_thousandths / _SCALE if ten_thousandths % _SCALE else ten_thousandths // _SCALE


def mm(length_mm: Exact) -> str:
    """A length as a sentence says it."""
    return f"{json_number(length_mm)} mm"


def exact_text(number: Exact) -> int | str:
    """`number` so that JSON keeps it exactly: an int, decimal digits where they end ("0.52"), else a ratio ("2/3")."""
    number = settled(number)
    if type(number) is int:
        return number
    if 10**12 % number.denominator:
        return str(number)
    return f"{Decimal(f'{number * 10**12}E-12'):f}".rstrip("0")
