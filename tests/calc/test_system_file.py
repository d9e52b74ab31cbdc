"""A system's file says what the system says, and answers what it can't read in words."""

import re
import tomllib
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings

from calc import book
from calc.system import DEMO_38, System
from calc.system_file import LARGEST_CHARACTERS, BadFile, read, written
from tests.calc.strategies import systems

TEXT = written(DEMO_38)


def problems(text):
    with pytest.raises(BadFile) as bad:
        read(text)
    return bad.value.problems


def line_of(text, words):
    return next(number for number, line in enumerate(text.split("\n"), start=1) if words in line)


@given(systems())
@settings(max_examples=100, deadline=None)
def test_a_system_comes_back_from_its_file_and_the_file_from_the_system(constants):
    system = System.from_dict(constants)
    assert read(written(system)) == system
    assert written(read(written(system))) == written(system)


@pytest.mark.parametrize(
    "changes",
    [
        {"source": 'measured "twice"\\once\n\ttabbed, ünïcode 測 and \x7f'},
        {"wand_share": Fraction(2, 3)},
        {"above_4000_m_mm": None, "above_4000_f_mm": Fraction(1, 2)},
        {"wands_mm": (Fraction(1001, 2),)},
    ],
)
def test_text_ratios_and_what_is_not_given_come_back_too(changes):
    system = replace(DEMO_38, **changes)
    assert read(written(system)) == system


def test_the_file_is_toml_that_another_reader_understands():
    plain = tomllib.loads(TEXT)
    assert plain["rail_kg_per_m"] == 0.52
    assert plain["vane_89"]["link_pitch_mm"] == 80
    assert plain["wands_mm"] == [500, 750, 1000, 1250, 1500]
    assert "above_4000_f_mm" not in plain


def test_each_constant_stands_under_its_meaning_unit_and_range():
    lines = TEXT.split("\n")
    for constant in book.constants():
        at = next(n for n, line in enumerate(lines) if re.match(rf"(# )?{constant.name} (=|is)", line))
        assert lines[at - 1] == f"# {constant.meaning}; {constant.range_words}"
    assert "# thickness of one end cover, outboard of the rail; 0 to 20 mm\nend_cover_mm = 3\n" in TEXT


def test_a_decimal_is_kept_as_it_was_typed():
    # As a float 0.1 + 0.2 is not 0.3; as typed it is three tenths.
    assert read(TEXT.replace("= 0.52", "= 0.3000")).rail_kg_per_m == Fraction(3, 10)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("end_cover_mm = 3", "end_cover_mm = 30", "end_cover_mm: 30 mm is outside the sane range, 0 to 20 mm"),
        ("end_cover_mm = 3", "end_cover_mm = -0.1", "end_cover_mm: -0.1 mm is outside the sane range"),
        ("end_cover_mm = 3", 'end_cover_mm = "3"', "end_cover_mm: “3” is text. Type the number without quotes."),
        ("end_cover_mm = 3", "end_cover_mm = true", "end_cover_mm: it is no number"),
        ("end_cover_mm = 3", "end_cover_mm = nan", "end_cover_mm: “nan” is not a number"),
        ("end_cover_mm = 3", "end_cover_mm = 1e999999999", "end_cover_mm: “1e999999999” is not a number"),
        ("end_cover_mm = 3", f"end_cover_mm = {'9' * 300}", "end_cover_mm: it has far too many digits"),
        ("end_cover_mm = 3", "end_cover_mm = 10000000", "end_cover_mm: it has far too many digits"),
        ("end_cover_mm = 3", "end_cover_mm = 9999999", "end_cover_mm: 9999999 mm is outside the sane range"),
        ("end_cover_mm = 3", 'end_cover_mm = "1/0"', "end_cover_mm: “1/0” is not a number"),
        ("end_cover_mm = 3", "end_cover_mm = 2026-01-01", "end_cover_mm: it is no number"),
        ("wands_mm = [500", "wands_mm = [50", "wands_mm: 50 mm is outside the sane range, 100 to 4000 mm"),
        ("wands_mm = [500, 750, 1000, 1250, 1500]", "wands_mm = []", "wands_mm: it must be lengths in square brackets"),
        ('rail_class = "m"', 'rail_class = "x"', "rail_class: “x” is no class. Choose one of f, m, c, v."),
        ('rail_class = "m"', "rail_class = 1", "rail_class: it must be text in double quotes"),
    ],
)
def test_a_value_that_is_none_is_named_with_its_line_and_what_to_type(old, new, says):
    text = TEXT.replace(old, new, 1)
    (problem,) = problems(text)
    assert problem.startswith(f"Line {line_of(text, new.split(' ')[0] + ' =')}, {says}")


def with_the_wider_vanes_first(text):
    at_89, at_127 = text.index("# Parts for vanes of 89"), text.index("# Parts for vanes of 127")
    return text[:at_89] + text[at_127:] + text[at_89:at_127]


@pytest.mark.parametrize("ordered", [str, with_the_wider_vanes_first])
@pytest.mark.parametrize(("vane", "pitch_mm"), [("vane_89", 80), ("vane_127", 117)])
def test_a_constant_by_vane_width_is_named_with_its_own_line(ordered, vane, pitch_mm):
    text = ordered(TEXT.replace(f"link_pitch_mm = {pitch_mm}", "link_pitch_mm = 1170"))
    (problem,) = problems(text)
    assert problem.startswith(f"Line {line_of(text, 'link_pitch_mm = 1170')}, {vane}.link_pitch_mm: 1170 mm is outside")


def test_a_constant_that_stands_above_its_table_is_unknown_there_and_not_taken_for_the_table_s():
    text = "link_pitch_mm = 80\n" + TEXT.replace("link_pitch_mm = 117", "link_pitch_mm = 1170")
    unknown, outside = problems(text)
    assert unknown.startswith("Line 1, link_pitch_mm is no constant of a system.")
    assert outside.startswith(f"Line {line_of(text, 'link_pitch_mm = 1170')}, vane_127.link_pitch_mm")


def test_every_problem_is_said_at_once():
    text = TEXT.replace("end_cover_mm = 3", "end_covr_mm = 3").replace("ball_pitch_mm = 6", "ball_pitch_mm = 600")
    found = problems(text)
    assert (
        f"Line {line_of(text, 'end_covr')}, end_covr_mm is no constant of a system. Did you mean end_cover_mm?" in found
    )
    assert "end_cover_mm is missing. Add a line such as end_cover_mm = 3" in found
    assert any("ball_pitch_mm: 600 mm" in problem for problem in found)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('code = "demo-38"', 'code = "Demo 38"', "code must be at most 40 small letters"),
        ("revision = 1", "revision = 1.5", "revision must be a whole number"),
        ('source = "values invented for the demo"', 'source = ""', "source must say where the values come from"),
        ('code = "demo-38"', "code = 38", "code must be at most 40 small letters"),
        ('code = "demo-38"', f'code = "{"d" * 41}"', "code must be at most 40 small letters"),
        ("revision = 1", "revision = 0", "revision must be a whole number from 1"),
        ("revision = 1", "revision = 1000001", "revision must be a whole number from 1"),
        (
            'source = "values invented for the demo"',
            f'source = "{"v" * 201}"',
            "source must say where the values come from, in at most 200",
        ),
        ("[vane_89]", "[vane_90]", "vane_90 is no constant of a system. Did you mean vane_89?"),
    ],
)
def test_the_head_of_the_file_is_read_as_strictly(old, new, says):
    text = TEXT.replace(old, new, 1)
    assert any(problem.startswith(f"Line {line_of(text, new)}, {says.split(' ')[0]}") for problem in problems(text))
    assert any(says in problem for problem in problems(text))


@pytest.mark.parametrize(
    "head", [{"code": "d" * 40}, {"revision": 1_000_000}, {"source": "v"}, {"source": "v" * 200}, {"code": "9"}]
)
def test_the_head_of_the_file_may_be_as_long_as_its_limits(head):
    system = replace(DEMO_38, **head)
    assert read(written(system)) == system


@pytest.mark.parametrize(
    ("ordered", "old", "new", "meant"),
    [
        (str, "[vane_89]", "[vane_90]", "vane_89"),
        (with_the_wider_vanes_first, "[vane_89]", "[vane_90]", "vane_89"),
        (str, "[vane_127]", "[vane_128]", "vane_127"),
    ],
)
def test_a_table_that_is_none_is_named_with_its_own_line_and_the_nearest_there_is(ordered, old, new, meant):
    text = ordered(TEXT.replace(old, new))
    assert f"Line {line_of(text, new)}, {new[1:-1]} is no constant of a system. Did you mean {meant}?" in problems(text)


def test_a_table_within_a_table_is_named_with_the_line_that_opens_it():
    text = TEXT + "[colours.white]\n"
    assert problems(text) == [
        f"Line {line_of(text, '[colours')}, colours is no constant of a system. Take the line out."
    ]


def test_a_long_name_or_text_is_cut_short():
    (problem,) = problems("x" * 61 + " = 1\n" + TEXT)
    assert problem == f"Line 1, {'x' * 60} is no constant of a system. Take the line out."
    (problem,) = problems(TEXT.replace("end_cover_mm = 3", f'end_cover_mm = "{"x" * 41}"'))
    assert problem.endswith(f"end_cover_mm: “{'x' * 40}” is text. Type the number without quotes.")


def test_a_vane_width_that_is_no_table_is_refused():
    text = (
        "vane_89 = 3\n" + TEXT[: TEXT.index("# Parts for vanes of 89")] + TEXT[TEXT.index("# Parts for vanes of 127") :]
    )
    assert any("Line 1, vane_89 must be a table" in problem for problem in problems(text))


def test_both_vane_widths_are_looked_at_where_neither_is_a_table():
    found = problems("vane_89 = 3\nvane_127 = []\n" + TEXT[: TEXT.index("# Parts for vanes of 89")])
    assert [problem.split(":")[0] for problem in found if "must be a table" in problem] == [
        "Line 1, vane_89 must be a table",
        "Line 2, vane_127 must be a table",
    ]


@pytest.mark.parametrize("broken", ["end_cover_mm = ", "= 3", "end_cover_mm 3", 'code = "demo', "a = 1\na = 2"])
def test_what_is_no_toml_is_named_with_its_line(broken):
    lines = TEXT.split("\n")
    lines[4:4] = broken.split("\n")
    (problem,) = problems("\n".join(lines))
    number = 4 + len(broken.split("\n"))
    assert problem.startswith(f"Line {number}, “{broken.split(chr(10))[-1].strip()}”, is not TOML"), problem


def test_what_the_end_of_the_file_cuts_off_is_named_with_its_last_line():
    (problem,) = problems(TEXT + "wands_mm = [500,\n750\n\n")
    number = TEXT.count("\n") + 2
    assert problem.startswith(f"Line {number}, “750”, is not TOML"), problem


def test_a_long_line_that_is_no_toml_is_repeated_up_to_60_characters():
    (problem,) = problems("x" * 61)
    assert problem.startswith(f"Line 1, “{'x' * 60}”, is not TOML")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("#" * 399 + "\n" + "# comment\n" * 5000, f"may have {LARGEST_CHARACTERS}"),
        ("a = " + "[" * 390, "nested too deep|is not TOML"),
        ("a = [\n" + "[\n" * 15000, "nested too deep"),
        ("a = " + "9" * 401, "Line 1 has 405 characters"),
        ("", "end_cover_mm is missing"),
        ("\x00", "is not TOML"),
        ("<html></html>", "is not TOML"),
    ],
)
def test_a_hostile_text_is_answered_in_words(text, says):
    found = problems(text)
    assert any(re.search(says, problem) for problem in found), found[:3]
    assert all(len(problem) < 400 for problem in found)


def test_a_file_and_its_lines_may_be_as_long_as_their_limits():
    longest_line = "#" * 400
    lines = [longest_line] * ((40_000 - len(TEXT)) // 401)
    padded = "\n".join([*lines, TEXT])
    padded += "#" * (40_000 - len(padded))
    assert read(padded) == DEMO_38
    (problem,) = problems(padded + "#")
    assert problem.startswith("The file has 40001 characters; a system needs about 6000 and may have 40000.")
    (problem,) = problems("#" * 401)
    assert problem == "Line 1 has 401 characters; the longest may have 400. Shorten it."
