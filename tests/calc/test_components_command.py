"""`manage.py components`: a list in and out, one blind a line in and out, exit statuses, memory, no database."""

import json
import os
import resource
import shlex
import subprocess
import sys
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from calc.components import components

PROJECT = Path(__file__).parents[2]
SAMPLE = {
    "system": "demo-38",
    "width_mm": 1830,
    "drop_mm": 1600,
    "size_basis": "recess",
    "vane_width_mm": 89,
    "draw": "split",
    "hand": "left",
    "operation": "cord_chain",
    "loop_control": "tensioner",
    "chain": "metal",
    "control_drop_mm": None,
    "measured_chain_mm": None,
    "installation_height_mm": None,
    "market": "en13120",
    "fixing": "top",
    "bottom": "chain",
    "fabric_g_per_m2": 240,
}
SAMPLE_ANSWER = {
    "finished_width_mm": 1820,
    "finished_drop_mm": 1588,
    "rail_cut_mm": 1814,
    "tilt_rod_cut_mm": 1805,
    "carriers": {"total": 24, "left": 12, "right": 12, "lead": 2},
    "spacer_tubes_mm": {"left": 25, "right": 25},
    "rail_stops": 2,
    "closed_pitch_mm": 76.7727,
    "overlap_mm": 12.2273,
    "centre_spacing_mm": 21,
    "centre_overlap_mm": 68,
    "gap_check_held": 2,
    "gap_check_mm": 63,
    "stack_mm": {"left": 216, "right": 209},
    "bottom_chain_mm": 3520,
    "brackets": 3,
    "vanes": {"count": 24, "finished_mm": 1546, "cut_mm": 1616, "fabric_m": 38.784},
    "longest_chain_mm": 980,
    "chain_balls": 326,
    "chain_loop_mm": 1956,
    "chain_drop_mm": 978,
    "cord_drop_mm": 998,
    "cord_cut_mm": 5624,
    "tensioners": 1,
    "warning_tags": 2,
    "wand_mm": None,
    "wands": 0,
}


def run(*arguments, given=b"", **options):
    command = [sys.executable, "manage.py", "components", *arguments]
    return subprocess.run(command, input=given, capture_output=True, cwd=PROJECT, check=False, **options)


def blinds(count):
    return [SAMPLE | {"width_mm": 400 + index % 5000} for index in range(count)]


def test_the_sample_blind_comes_out_as_the_description_prints_it(tmp_path):
    file = tmp_path / "blinds.json"
    file.write_text(json.dumps([SAMPLE]))
    printed = run(str(file))
    assert printed.returncode == 0
    assert printed.stderr == b""
    (answer,) = json.loads(printed.stdout)
    assert {key: answer[key] for key in SAMPLE_ANSWER} == SAMPLE_ANSWER
    assert set(answer) - set(SAMPLE_ANSWER) == {"mass_kg", "tolerances_mm", "working", "findings"}


def test_a_list_comes_back_in_its_own_order_and_length_whatever_the_single_blinds_come_to():
    # Five chunks over two processes; a refused blind and one that is no object stay in their places.
    asked = [*blinds(450), SAMPLE | {"hand": "up"}, None, *blinds(450)]
    printed = run("-", "--jobs", "2", given=json.dumps(asked).encode())
    assert printed.returncode == 0
    assert json.loads(printed.stdout) == [components(blind) for blind in asked]


def test_an_empty_list_comes_back_empty():
    printed = run("-", given=b"[]")
    assert printed.returncode == 0
    assert json.loads(printed.stdout) == []


def test_one_blind_a_line_comes_back_one_answer_a_line():
    asked = blinds(900)
    lines = "\n".join(json.dumps(blind) for blind in asked)
    printed = run("-", "--lines", "--jobs", "2", given=lines.encode())
    assert printed.returncode == 0
    answers = [json.loads(line) for line in printed.stdout.splitlines()]
    assert answers == [components(blind) for blind in asked]


@pytest.mark.parametrize("lines", [[], ["--lines"]])
def test_without_the_working_everything_else_is_answered(lines):
    asked = [*blinds(2), SAMPLE | {"hand": "up"}, None]
    given = "\n".join(map(json.dumps, asked)) if lines else json.dumps(asked)
    printed = run("-", "--no-working", *lines, given=given.encode())
    assert printed.returncode == 0
    answers = [json.loads(line) for line in printed.stdout.splitlines()] if lines else json.loads(printed.stdout)
    assert answers == [{key: part for key, part in components(blind).items() if key != "working"} for blind in asked]


def test_one_process_prints_the_same_as_two():
    given = "".join(json.dumps(blind) + "\n" for blind in blinds(500)).encode()
    assert (
        run("-", "--lines", "--jobs", "1", given=given).stdout == run("-", "--lines", "--jobs", "2", given=given).stdout
    )


def test_blank_lines_are_passed_over_and_a_byte_order_mark_is_read():
    given = b"\xef\xbb\xbf" + json.dumps(SAMPLE).encode() + b"\r\n\n   \n" + json.dumps(SAMPLE).encode()
    printed = run("-", "--lines", given=given)
    assert printed.returncode == 0
    assert len(printed.stdout.splitlines()) == 2


@pytest.mark.parametrize(
    ("given", "says"),
    [
        (b"", "not JSON"),
        (b"not json", "not JSON"),
        (b"[{]", "not JSON"),
        (b"[{}] trailing", "not JSON"),
        (b"{}", "not a JSON list of blinds but one object"),
        (b'"[]"', "not a JSON list of blinds but a text"),
        (b"null", "not a JSON list of blinds but null"),
        (b"3", "not a JSON list of blinds but a number"),
        (b"[\xff]", "not JSON text"),
        (b"[" * 100_000, "nested too deeply"),
        (b"[" + b"9" * 5000 + b"]", "not JSON"),
    ],
    ids=["empty", "words", "broken", "trailing", "object", "text", "null", "number", "bytes", "deep", "digits"],
)
def test_what_is_no_list_of_blinds_ends_with_status_2_and_one_line_on_standard_error(given, says):
    printed = run("-", given=given)
    assert printed.returncode == 2
    assert printed.stdout == b""
    (line,) = printed.stderr.decode().splitlines()
    assert "standard input" in line
    assert says in line


def test_a_file_that_is_not_there_ends_with_status_2_and_its_name(tmp_path):
    for missing in (tmp_path / "none.json", tmp_path):
        printed = run(str(missing))
        assert printed.returncode == 2
        (line,) = printed.stderr.decode().splitlines()
        assert str(missing) in line


@pytest.mark.parametrize("good", [2, 700])
def test_a_bad_line_is_named_by_its_number_after_the_answers_before_it(good):
    lines = [json.dumps(blind) for blind in blinds(good)] + ["{oops", json.dumps(SAMPLE)]
    printed = run("-", "--lines", "--jobs", "2", given="\n".join(lines).encode())
    assert printed.returncode == 2
    (line,) = printed.stderr.decode().splitlines()
    assert f"line {good + 1}" in line
    assert len(printed.stdout.splitlines()) == good


def test_a_line_that_is_no_object_is_refused_in_its_place():
    printed = run("-", "--lines", given=b"3\n")
    assert printed.returncode == 0
    assert json.loads(printed.stdout)["findings"][0]["code"] == "wrong_type"


def test_whoever_stops_reading_hears_no_complaint():
    given = "".join(json.dumps(blind) + "\n" for blind in blinds(3000)).encode()
    shell = f"{shlex.quote(sys.executable)} manage.py components --lines --jobs 2 - | head -c 100"
    printed = subprocess.run(["sh", "-c", shell], input=given, capture_output=True, cwd=PROJECT, check=False)
    assert printed.stderr == b""
    assert len(printed.stdout) == 100


def test_no_database_is_needed(tmp_path):
    nowhere = os.environ | {"DATABASE_URL": f"sqlite:///{tmp_path}/no/such/folder/db.sqlite3"}
    assert run("-", given=json.dumps([SAMPLE]).encode(), env=nowhere).returncode == 0
    unreachable = os.environ | {"DATABASE_URL": "postgres://nobody@127.0.0.1:1/none"}
    assert run("-", given=json.dumps([SAMPLE]).encode(), env=unreachable).returncode == 0


def test_no_query_is_made(tmp_path, settings):
    # Without the database mark any query would fail the test; nor is a connection opened.
    opened = connection.connection
    file = tmp_path / "blinds.json"
    file.write_text(json.dumps([SAMPLE]))
    printed = StringIO()
    call_command("components", str(file), stdout=printed)
    assert json.loads(printed.getvalue()) == [components(SAMPLE)]
    assert connection.connection is opened


def test_called_from_python_an_unreadable_file_is_a_command_error_with_status_2(tmp_path):
    file = tmp_path / "blinds.json"
    file.write_text("{}")
    with pytest.raises(CommandError, match="put the blinds between") as refused:
        call_command("components", str(file), stdout=StringIO())
    assert refused.value.returncode == 2


def peak_kib(file):
    """Peak memory of the largest process of a run, which is the one that reads and prints or one that computes."""
    measured = (
        "import resource, subprocess, sys; "
        "subprocess.run([sys.executable, 'manage.py', 'components', '--lines', '--jobs', '2', sys.argv[1]], "
        "stdout=subprocess.DEVNULL, check=True); "
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    command = [sys.executable, "-c", measured, str(file)]
    return int(subprocess.run(command, capture_output=True, cwd=PROJECT, check=True).stdout)


@pytest.mark.skipif(not hasattr(resource, "RUSAGE_CHILDREN"), reason="the platform does not measure memory")
def test_line_by_line_twenty_thousand_blinds_need_no_more_memory_than_a_thousand(tmp_path):
    peaks = []
    for count in (1_000, 20_000):
        file = tmp_path / f"{count}.jsonl"
        with file.open("w") as lines:
            lines.writelines(json.dumps(blind) + "\n" for blind in blinds(count))
        peaks.append(peak_kib(file))
    # Held in memory, the answers to 20,000 blinds would be some 280 MB, and the blinds themselves 24 MB.
    assert peaks[1] < peaks[0] * 1.2 + 8 * 1024, peaks
