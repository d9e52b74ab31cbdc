"""A hardware system as one TOML text, for a workshop to keep, compare and hand on: text in, text out.

The names are those of `System`; meaning, unit and sane range stand above each constant as a comment. What a constant
says is kept exactly: decimals as they end, a ratio such as "2/3" as text; a tolerance that is not given is left out.
"""

import re
import tomllib
from difflib import get_close_matches

from calc import book
from calc.book import Constant, Unreadable
from calc.rounding import exact_text
from calc.system import DEMO_38, System

LARGEST_CHARACTERS = 40_000
LONGEST_LINE = 400
LONGEST_TEXT = 200
CODE = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
HEAD = ("code", "revision", "source")
_WHERE = re.compile(r"\(at line (\d+), column \d+\)|\(at end of document\)")


class BadFile(ValueError):
    """The text is no hardware system; `problems` says each reason with its line or key, and what to type."""

    def __init__(self, problems: list[str]):
        super().__init__("\n".join(problems))
        self.problems = problems


class _Decimal(str):
    """A decimal as it stands in the text, so that none passes through a float."""


def written(system: System) -> str:
    """`system` as TOML text."""
    lines = [
        f"# Hardware system {system.code}, revision {system.revision}. Lengths are millimetres.",
        "# Each range is a guard against slips of the pen, invented, and no recommendation.",
        "",
        *_head(system),
    ]
    plain = [each for each in book.constants() if each.vane_width_mm is None]
    for part, title in book.PARTS.items():
        listed = [each for each in plain if each.part == part]
        if listed:
            lines += ["", f"# {title}", *(line for each in listed for line in _entry(each, system))]
    for vane, width_mm in book.VANES.items():
        listed = [each for each in book.constants() if each.vane_width_mm == width_mm]
        lines += ["", f"# Parts for vanes of {width_mm} mm", f"[{vane}]"]
        lines += [line for each in listed for line in _entry(each, system)]
    return "\n".join(lines) + "\n"


def _head(system: System) -> list[str]:
    lines = []
    for name in HEAD:
        lines += [f"# {book.meanings(System)[name]}", f"{name} = {_toml(getattr(system, name))}"]
    return lines


def _entry(constant: Constant, system: System) -> list[str]:
    value = book.value_of(system, constant.key)
    comment = f"# {constant.meaning}; {constant.range_words}"
    if value is None:
        return [comment, f"# {constant.name} is not given"]
    return [comment, f"{constant.name} = {_toml(value)}"]


def _toml(value) -> str:
    if isinstance(value, tuple):
        return f"[{', '.join(_toml(each) for each in value)}]"
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return '"' + "".join(each if each.isprintable() else f"\\U{ord(each):08x}" for each in escaped) + '"'
    number = str(exact_text(value))
    return f'"{number}"' if "/" in number else number


def read(text: str) -> System:
    """The hardware system in `text`. Raises BadFile with every problem at once.

    Whether a sound blind can be built from it is another question: `breaches` answers it.
    """
    plain = _parsed(text)
    problems, values = [], {}
    known = [*HEAD, *book.VANES, *(each.key for each in book.constants() if "." not in each.key)]
    problems += _unknown(text, plain, known)
    for vane in book.VANES:
        parts = plain.get(vane, {})
        if not isinstance(parts, dict):
            problems.append(
                f"{_line(text, vane)}{vane} must be a table: put [{vane}] on a line, its constants under it."
            )
            parts = plain[vane] = {}
        names = [each.name for each in book.constants() if each.key.startswith(f"{vane}.")]
        problems += _unknown(text, parts, names, vane=vane)
    for constant in book.constants():
        _take(text, plain, constant, values, problems)
    head = _read_head(text, plain, problems)
    if problems:
        raise BadFile(problems)
    return book.with_values(DEMO_38, {**head, **values})


def _parsed(text: str) -> dict:
    if len(text) > LARGEST_CHARACTERS:
        raise BadFile(
            [
                f"The file has {len(text)} characters; a system needs about 6000 and may have {LARGEST_CHARACTERS}. "
                "Choose the file that was exported."
            ]
        )
    for number, line in enumerate(text.split("\n"), start=1):
        if len(line) > LONGEST_LINE:
            raise BadFile(
                [f"Line {number} has {len(line)} characters; the longest may have {LONGEST_LINE}. Shorten it."]
            )
    try:
        return tomllib.loads(text, parse_float=_Decimal)
    except tomllib.TOMLDecodeError as error:
        raise BadFile([_not_toml(text, str(error))]) from None
    except RecursionError:
        raise BadFile(
            ["This is no hardware system: its values are nested too deep. Export one and change its values only."]
        ) from None


def _not_toml(text: str, error: str) -> str:
    where = _WHERE.search(error)
    said = _WHERE.sub("", error).strip().rstrip(".")
    number = int(where[1]) if where and where[1] else text.rstrip("\n").count("\n") + 1
    line = text.split("\n")[number - 1].strip()
    return (
        f"Line {number}, “{line[:60]}”, is not TOML ({said}). Write a name, an equals sign and a value, such as "
        "end_cover_mm = 3; text stands in double quotes."
    )


def _line(text: str, name: str, *, vane: str = "") -> str:
    """'Line 12, ' where `name` is set on a line of the text, else nothing."""
    inside = ""
    for number, line in enumerate(text.split("\n"), start=1):
        table = re.match(r"\s*\[\s*([\w.-]+)\s*\]", line)
        if table:
            inside = table[1]
        if (inside == vane and re.match(rf"\s*[\"']?{re.escape(name)}[\"']?\s*[=.]", line)) or (
            table and not vane and table[1].split(".")[0] == name
        ):
            return f"Line {number}, "
    return ""


def _unknown(text: str, table: dict, known: list[str], *, vane: str = ""):
    for name in table:
        if name not in known:
            near = get_close_matches(name, known)
            way_out = f"Did you mean {near[0]}?" if near else "Take the line out."
            within = f"{vane}." if vane else ""
            yield f"{_line(text, name, vane=vane)}{within}{name[:60]} is no constant of a system. {way_out}"


def _take(text: str, plain: dict, constant: Constant, values: dict, problems: list[str]) -> None:
    """The value of `constant` into `values`, or what is wrong with it into `problems`."""
    vane = constant.key.rpartition(".")[0]
    table = plain.get(vane, {}) if vane else plain
    if constant.name not in table:
        if constant.may_be_missing:
            values[constant.key] = None
        else:
            example = _toml(book.value_of(DEMO_38, constant.key))
            under = f" under [{vane}]" if vane else ""
            problems.append(f"{constant.key} is missing. Add a line{under} such as {constant.name} = {example}")
        return
    try:
        values[constant.key] = book.typed(constant, _as_typed(constant, table[constant.name]))
    except Unreadable as trouble:
        problems.append(f"{_line(text, constant.name, vane=vane)}{constant.key}: {trouble}")


def _as_typed(constant: Constant, value) -> str:
    """A TOML value as the same constant would be typed. Raises Unreadable for one of another kind."""
    if constant.kind == book.LENGTHS:
        if not isinstance(value, list) or not value:
            raise Unreadable("it must be lengths in square brackets, such as [500, 750, 1000].")
        return ", ".join(_scalar(each) for each in value)
    if constant.kind == book.CHOICE:
        if type(value) is not str:
            raise Unreadable(f"it must be text in double quotes: {constant.range_words}.")
        return value
    return _scalar(value)


def _scalar(value) -> str:
    if type(value) is str and "/" not in value:
        raise Unreadable(f"“{value[:40]}” is text. Type the number without quotes.")
    if type(value) is int and abs(value) >= 10**7:
        raise Unreadable("it has far too many digits. Check the unit and the decimals.")
    if isinstance(value, str) or type(value) is int:
        return str(value)
    raise Unreadable("it is no number. Type one, such as 3 or 3.5.")


def _read_head(text: str, plain: dict, problems: list[str]) -> dict:
    code, revision, source = (plain.get(name) for name in HEAD)
    if not (type(code) is str and CODE.fullmatch(code)):
        problems.append(
            f'{_line(text, "code")}code must be at most 40 small letters, digits and hyphens, such as code = "demo-38"'
        )
    if not (type(revision) is int and 1 <= revision <= 10**6):
        problems.append(f"{_line(text, 'revision')}revision must be a whole number from 1, such as revision = 1")
    if not (type(source) is str and source and len(source) <= LONGEST_TEXT):
        problems.append(
            f"{_line(text, 'source')}source must say where the values come from, in at most {LONGEST_TEXT} characters: "
            'source = "measured on our own hardware"'
        )
    return {"code": code, "revision": revision, "source": source}
