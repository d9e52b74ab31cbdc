"""What was cut off explains as many missing answers as it can have cost; the rest, and all else, is said in words."""

import math
import subprocess
import sys
import time
from pathlib import Path

import pytest

from script.soak_cuts import Cut, Missing, not_explained
from script.soak_people import ASKED_AGAIN, Kept
from script.soak_report import grown, summary
from script.soak_served import kill_group

pytestmark = pytest.mark.once


def missing(began, ended, status=0):
    return Missing("queue", status, began, ended)


SINGLE, SPAN = Cut("page process", 100), Cut("all pages", 100, 120)


@pytest.mark.parametrize(
    ("found", "cut"),
    [
        (missing(99, 100.1), SINGLE),
        (missing(99, 104.9), SINGLE),
        (missing(99, 100.1, 503), Cut("a connection", 100)),
        (missing(99, 100.1), SPAN),
        (missing(120, 160), SPAN),
        (missing(101, 102, 503), Cut("the database", 100, 110)),
        (missing(500, 501), Cut("all pages", 100)),
    ],
)
def test_what_was_in_hand_when_it_was_cut_off_is_explained(found, cut):
    assert not not_explained([found], [cut])


@pytest.mark.parametrize(
    ("found", "cut"),
    [
        (missing(98, 99.9), SINGLE),
        (missing(100.1, 100.2), SINGLE),
        (missing(99, 106), SINGLE),
        (missing(99, 100.1, 503), SINGLE),
        (missing(99, 100.1, 500), SINGLE),
        (missing(99, 100.1, 502), SPAN),
        (missing(99, 100.1), Cut("a connection", 100)),
        (missing(99, 100.1), Cut("the database", 100, 110)),
        (missing(121, 122), SPAN),
        (missing(98, 99), SPAN),
        (missing(99, 100.1), Cut("worker", 100)),
        (missing(99, 100.1, 503), Cut("live", 100)),
    ],
)
def test_what_it_can_t_have_cost_is_not(found, cut):
    assert not_explained([found], [cut]) == [found]


def test_a_page_process_costs_one_answer_and_all_of_them_any_number():
    several = [missing(99, 100 + each / 10) for each in range(5)]
    assert not_explained(several, [SINGLE]) == several[1:]
    assert not not_explained(several, [SINGLE, SPAN])
    assert not_explained([missing(99, 100.1), missing(105, 110.1)], [SINGLE, Cut("page process", 110)]) == []


def said(kept=None, *, record=(), sizes=(), deaf=(), still=0):
    kept = kept or Kept()
    kept.answered.add("an event")
    whole = {"on_record": 1, "lost": [], "doubled": 0, "nobody_sent": [], "refused_yet_on_record": []}
    return summary(
        kept,
        record={**whole, "stages_differ": [], **dict(record)},
        sizes=dict(sizes),
        seconds=60,
        live={"did_not_hear": list(deaf)},
        still=still,
    )


def grew(*, to_mb, seconds=1200):
    first = [(at, 100 * 1024) for at in range(0, seconds * 3 // 4, 10)]
    return first + [(at, to_mb * 1024) for at in range(seconds * 3 // 4, seconds + 10, 10)]


def test_nothing_found_is_sound():
    assert said(sizes={"worker 7": grew(to_mb=104)})["not_sound"] == []


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"record": {"lost": ["a", "b"]}}, "2 events were answered and are not on record"),
        ({"record": {"doubled": 1}}, "1 events are on record twice"),
        ({"record": {"nobody_sent": ["a"]}}, "1 events are on record that nobody sent"),
        ({"record": {"refused_yet_on_record": ["a"]}}, "1 events were refused and are on record all the same"),
        ({"record": {"stages_differ": ["a"]}}, "1 stages are not what their events come to"),
        ({"deaf": ["tablet 3 at railing is not followed"]}, "tablet 3 at railing is not followed"),
        ({"still": 2}, "2 of those at work did not end"),
        (
            {"sizes": {"worker 7": grew(to_mb=110)}},
            "worker 7 grew by 10.0 % over the second half of its life, from 100",
        ),
    ],
)
def test_each_fault_is_said_in_words(given, words):
    found = said(**given)
    assert not found["sound"]
    [line] = found["not_sound"]
    assert line.startswith(words)


def test_an_answer_that_nothing_explains_is_said_and_one_that_is_explained_is_not():
    kept = Kept()
    kept.note("queue", 0, 1.0, at=99.5, said="reset")
    kept.cuts.append(Cut("page process", 100))
    assert said(kept)["sound"]
    kept.note("queue", 0, 1.0, at=99.6, said="reset")
    [line] = said(kept)["not_sound"]
    assert line.startswith("1 answers are missing")


@pytest.mark.parametrize(("status", "text"), [(500, "broken"), (409, " "), (403, "no")])
def test_no_cut_explains_an_answer_that_nobody_expects(status, text):
    kept = Kept()
    kept.cuts.append(Cut("all pages", 0, math.inf))
    kept.note("queue", status, 1.0, at=99, said=text)
    [line] = said(kept)["not_sound"]
    assert line.startswith("Nobody expects this")


def test_what_a_page_asks_again_by_itself_may_come_too_late_and_not_be_cut_off():
    kept = Kept()
    kept.note(ASKED_AGAIN, 0, 4.0, at=99, timed_out=True)
    assert said(kept)["sound"]
    kept.note(ASKED_AGAIN, 0, 4.0, at=99)
    assert not said(kept)["sound"]


def test_nothing_asked_is_not_sound():
    found = summary(
        Kept(),
        record=dict.fromkeys(("lost", "doubled", "nobody_sent", "refused_yet_on_record", "stages_differ"), 0),
        sizes={},
        seconds=60,
        live={"did_not_hear": []},
        still=0,
    )
    assert found["not_sound"] == ["Not one event was answered: nothing was tried."]


def test_a_process_that_is_young_is_not_judged():
    assert not grown({"pages 1": grew(to_mb=200, seconds=300)})


def test_whoever_was_begun_by_a_process_that_was_killed_ends_with_it():
    child = "import time; time.sleep(60)"
    parent = (
        f"import subprocess, sys; print(subprocess.Popen([sys.executable, '-c', {child!r}]).pid, flush=True); input()"
    )
    process = subprocess.Popen(
        [sys.executable, "-c", parent], stdin=subprocess.PIPE, stdout=subprocess.PIPE, start_new_session=True, text=True
    )
    with process:
        pid = process.stdout.readline().strip()
        process.kill()
        process.wait()
        kill_group(process)
        give_up = time.monotonic() + 20
        while is_alive(pid) and time.monotonic() < give_up:
            time.sleep(0.01)
        assert not is_alive(pid)


def is_alive(pid):
    try:
        return "\nState:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return False
