"""The table of the security standard in config/security.md: whole, and each claim with what shows it."""

import ast
import re
from collections import Counter
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "config/security.md").read_text()
STATES = ("met", "written", "partly", "not met", "not here", "owner")


def levels():
    """The level of each requirement, by its number."""
    lines = Path(__file__).with_name("asvs_5_0_0.csv").read_text().splitlines()
    return {number: int(level) for number, level in (line.split(",") for line in lines if not line.startswith("#"))}


def rows():
    for line in PAGE.splitlines():
        if line.startswith("| v5.0.0-"):
            number, asks, state, how, shown = (cell.strip() for cell in line.strip("|").split("|"))
            yield number.removeprefix("v5.0.0-"), asks, state, how, re.findall(r"`([^`]+::[^`]+)`", shown), shown


@cache
def names_in(path):
    return {node.name for node in ast.parse((ROOT / path).read_text()).body if isinstance(node, ast.FunctionDef)}


def test_the_standard_has_as_many_requirements_as_it_says():
    """70, 183 and 92 of level 1, 2 and 3: counted in https://github.com/OWASP/ASVS, 5.0/docs_en, the CSV of 5.0.0."""
    assert Counter(levels().values()) == {1: 70, 2: 183, 3: 92}


def test_every_requirement_of_levels_1_and_2_stands_in_the_table_once():
    wanted = [number for number, level in levels().items() if level <= 2]
    assert Counter(number for number, *_ in rows()) == Counter(wanted)


def test_no_row_claims_without_what_shows_it_or_a_reason():
    wrong = []
    for number, asks, state, how, tests, shown in rows():
        right = state in STATES and bool(asks) and bool(how)
        right &= bool(tests) == (state in ("met", "partly"))
        right &= shown.startswith("§") == (state == "written")
        if not right:
            wrong.append(number)
    assert wrong == []


def test_every_test_that_is_named_is_there_and_collected():
    named = {test for *_, tests, _ in rows() for test in tests}
    assert len(named) > 80
    wrong = set()
    for test in named:
        path, _, name = test.partition("::")
        collected = Path(path).name.startswith("test_") and name.startswith("test_")
        if not (collected and (ROOT / path).is_file() and name in names_in(path)):
            wrong.add(test)
    assert wrong == set()


def test_every_chapter_that_is_named_is_there():
    chapters = set(re.findall(r"^## (.+)$", PAGE, re.MULTILINE))
    assert {shown.removeprefix("§") for *_, shown in rows() if shown.startswith("§")} <= chapters


def test_the_chapters_say_what_the_program_does():
    from orders import again, first_password, passwords, second_step, sessions, signing_in, throttle

    hours = sessions.LONGEST_S / 3600
    assert hours == 12
    assert "| a PIN or badge | 8 hours | 12 hours |" in PAGE
    assert (throttle.HERE.tries, throttle.ADDRESS.tries, throttle.NAME.tries) == (5, 30, 50)
    for words in ("five for one name from one address", "thirty for one address", "fifty for one name from anywhere"):
        assert words in " ".join(PAGE.split())
    assert (again.SHOWN_WITHIN_S, again.SENT_WITHIN_S) == (15 * 60, 60 * 60)
    assert passwords.LEAST_LEFT == 8
    assert (throttle.CODE.tries, throttle.CODE.back_after.seconds, second_step.SPARE_CODES) == (10, 15 * 60, 8)
    assert (signing_in.HALFWAY_S, second_step.KEY_BYTES * 8, second_step.SPARE_BYTES * 8) == (600, 160, 120)
    assert (first_password.GOOD_FOR.days, first_password.AFTER_SIGNING_IN.seconds) == (3, 3600)
