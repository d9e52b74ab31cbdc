"""A password of fifteen signs that is quickly guessed all the same is refused, and an honest one isn't."""

import re

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from orders.models import Person
from orders.passwords import LEAST_LEFT, SIGNS_OF_A_COMMON_ONE, common_passwords, worth

# The kinds that are tried first: NIST SP 800-63B-4, 3.1.1.2, names breached and common passwords, words of the context,
# and SP 800-63B (2017), 5.1.1.2, repetitive and sequential signs ('aaaaaa', '1234abcd').
GUESSED = {
    "one sign": "aaaaaaaaaaaaaaaa",
    "signs many times": "aaaaabbbbbcccccddddd",
    "a part again and again": "kestrkestrkestrkestr",
    "a part with a rest": "heron7heron7heron7her",
    "digits in a row": "1234567890123456",
    "digits backwards": "987654321098765",
    "the alphabet": "abcdefghijklmnopq",
    "a row of keys": "qwertyuiopasdfgh",
    "keys from above to below": "1qaz2wsx3edc4rfv",
    "keys zigzag": "1q2w3e4r5t6y7u8i",
    "a German keyboard": "qwertzuiopyxcvbnm",
    "a French keyboard": "azertyuiopqsdfgh",
    "a common one twice": "sunshinesunshine",
    "two common ones": "sunshine-princess",
    "a common one and a row": "football123456789",
    "in capitals": "FOOTBALL123456789",
    "the standard's own": "1234abcd1234abcd",
}
HONEST = (
    "kettle-ladder-orchard",
    "correct horse battery staple",
    "gulls over the harbour at noon",
    "orange-monkey-dragon-tree",
    "ÜberMäßigLangesWort",
    "lagartijas bajo la lluvia",
    "7f3kq9x2mwz8rtv",
    "Zwölf Boxkämpfer jagen",
)


def refusals(password):
    try:
        validate_password(password, Person(username="nora"))
    except ValidationError as refused:
        return " ".join(refused.messages)
    return ""


@pytest.mark.parametrize("password", GUESSED.values(), ids=GUESSED)
def test_what_is_long_only_by_its_pattern_is_refused_with_the_way_out(password):
    assert len(password) >= 15
    assert re.search("neighbouring keys.*Choose a few words", refusals(password))


@pytest.mark.parametrize("password", HONEST)
def test_a_few_words_that_have_nothing_to_do_with_each_other_are_taken(password):
    assert refusals(password) == ""


def test_of_the_common_list_hardly_any_is_long_enough_to_match():
    """Why the list alone proves little: 48 of Django's 19,640 have fifteen signs. Each of them is refused."""
    long_enough = [password for password in common_passwords() if len(password) >= 15]
    assert len(long_enough) < 100 < len(common_passwords())
    assert [password for password in long_enough if "too common" not in refusals(password)] == []


def test_any_common_one_filled_up_with_a_row_of_digits_is_refused():
    left = [each for each in common_passwords() if len(each) < 15 and worth(f"{each}1234567890123456") >= LEAST_LEFT]
    assert left == []


def test_a_common_one_is_worth_as_many_signs_as_chance_needs_for_it():
    assert 26**SIGNS_OF_A_COMMON_ONE <= len(common_passwords()) < 26 ** (SIGNS_OF_A_COMMON_ONE + 1)


@pytest.mark.parametrize("password", ["a" * 4096, "ab" * 2048, "kestrel " * 512, "x1y2z3" * 600])
def test_a_very_long_one_is_judged_as_well(password):
    assert worth(password) < LEAST_LEFT + 3
