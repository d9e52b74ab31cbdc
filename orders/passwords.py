"""What a password may not be made of, beside those that are common everywhere: what whoever guesses tries first."""

import re
from functools import cache

from django.conf import settings
from django.contrib.auth.password_validation import CommonPasswordValidator
from django.core.exceptions import ValidationError

from .roles import ROLE_NAMES

HOUSE_WORDS = ("railwright", "vertical", "blinds", "blind", "workshop", "password", *ROLE_NAMES)
"""With the workshop's own name and what somebody signs in as."""
LEAST_LEFT = 8
SIGNS_OF_A_COMMON_ONE = 3
"""One of 20,000 is guessed as soon as three letters by chance: 26 x 26 x 26 = 17,576."""
SHORTEST_COMMON = 4
ROWS = (
    *("01234567890", "abcdefghijklmnopqrstuvwxyz"),
    *("qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiopü", "yxcvbnm", "azertyuiop", "qsdfghjklm"),
    *("1qaz2wsx3edc4rfv5tgb6yhn7ujm8ik9ol0p", "1q2w3e4r5t6y7u8i9o0p", "qazwsxedcrfvtgbyhnujmikolp"),
)
"""The order of digits and letters, and the keys beside each other of three keyboards, across and down."""
SHORTEST_RUN = 3


class NoWordsOfTheHouse:
    """Refuses a password of which too little is left without the words of the house."""

    def validate(self, password, user=None):
        left = password.casefold()
        own = re.findall(r"\w{4,}", f"{settings.WORKSHOP_NAME} {getattr(user, 'username', '')}".casefold())
        for word in sorted({*HOUSE_WORDS, *own}, key=len, reverse=True):
            left = left.replace(word, "")
        if len(password) >= LEAST_LEFT > len(left):
            raise ValidationError(
                "That password is made of the workshop's own words. Choose a few words that have nothing to do with it."
            )

    def get_help_text(self):
        return "Not made of the workshop's own words, such as its name."


class NoPatterns:
    """Refuses a password that is long only by what is repeated, runs along the keys, or is common by itself."""

    def validate(self, password, user=None):
        if len(password) >= LEAST_LEFT > worth(password):
            raise ValidationError(
                "That password is mostly common passwords, neighbouring keys, or the same again and again. Choose a "
                "few words that have nothing to do with each other."
            )

    def get_help_text(self):
        return "Not made of common passwords, rows of keys or repetitions."


def worth(password):
    """How many signs by chance a password is as hard to guess as: where what repeats counts once, a run of
    neighbours as one sign, and a common password as SIGNS_OF_A_COMMON_ONE.

    A lower bound by rules of our own, without source; other patterns are not looked for.
    """
    typed = password.casefold()
    return min(_cost(typed), _cost(once(typed)))


def _cost(left):
    total = 0
    while left:
        common, run = common_at_start(left), run_at_start(left)
        if max(common, run) < SHORTEST_RUN:
            common, run, cost = 1, 0, 1
        else:
            cost = 1 if run >= common else SIGNS_OF_A_COMMON_ONE
        left, total = left[max(common, run) :], total + cost
    return total


def once(text):
    """Of a text that is the same part again and again, the part; of a sign many times in a row, two."""
    text = re.sub(r"(.)\1{2,}", r"\1\1", text, flags=re.DOTALL)
    period = next(size for size in range(1, len(text) + 1) if text == (text[:size] * len(text))[: len(text)])
    return text[:period] if period * 2 <= len(text) else text


def run_at_start(text):
    """How many signs at the beginning stand beside each other on a keyboard or in the alphabet, either way."""
    return max(_shared(text, row) for row in (*ROWS, *(row[::-1] for row in ROWS)))


def common_at_start(text):
    """How many signs at the beginning are one of the common passwords; 0 for none."""
    known = common_passwords()
    sizes = range(min(len(text), longest_common()), SHORTEST_COMMON - 1, -1)
    return next((size for size in sizes if text[:size] in known), 0)


@cache
def longest_common():
    return max(map(len, common_passwords()))


@cache
def common_passwords():
    return CommonPasswordValidator().passwords


def _shared(text, row):
    begin = row.find(text[:SHORTEST_RUN]) if len(text) >= SHORTEST_RUN else -1
    if begin < 0:
        return 0
    pairs = zip(text, row[begin:], strict=False)
    return next((place for place, (one, other) in enumerate(pairs) if one != other), min(len(text), len(row) - begin))
