"""What the papers that a customer is given say: every line's figures, and what replaced what."""

import datetime as dt
import re

import pytest

from orders.customer_papers import KIND, KINDS, kinds_in
from orders.lines import figured
from orders.models import Order
from production import labels, office_papers, pack_label
from production.drawing.pen import figure_text
from production.models import Blind
from production.office_lines import draw_words, spans
from production.office_papers import PaperRefused, paper_of
from production.safety_rule import line_spans
from tests import factories
from tests.factories import AT
from tests.production.customer_papers import order_for, printed
from tests.production.read_pdf import line_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]

SIXTY = "Northgate and Wetherill Contract Furnishing of Upper Marlow"


def facts_of(kind, order):
    """What this order's rows in the database say must be read on its paper, worked out apart from the paper."""
    if order.editable:
        made = [(each.line.quantity, each.spec, each.components, each.line) for each in figured(order=order)]
    else:
        made = [(1, blind.spec, blind.components, blind.line) for blind in Blind.objects.of_order(order)]
    for _, spec, figures, line in made:
        yield f"{figure_text(figures['finished_width_mm'])} × {figure_text(figures['finished_drop_mm'])}"
        yield line.room
        yield str(line.fabric)
        if kind in ("measurements", "confirmation"):
            yield f"{figure_text(line.width_mm)} × {figure_text(line.drop_mm)}"
            yield {"recess": "recess opening", "exact": "exact, finished blind"}[line.size_basis]
            yield f"{figures['vanes']['count']} vanes of {line.vane_width_mm} mm"
            hangs = "chain_drop_mm" if spec["operation"] == "cord_chain" else "wand_mm"
            yield f"{figure_text(figures[hangs])} mm"
            yield line.special_instruction
        else:
            yield f"{figures['vanes']['count']} vanes"
            yield f"{figures['brackets']} brackets"


@pytest.mark.parametrize("kind", KIND)
def test_every_lines_figures_on_paper_are_those_of_the_database(kind):
    order = order_for(kind)
    text = line_of(labels.office_paper_pdf(asked=paper_of(order=order, kind=kind), at=AT))
    facts = list(facts_of(kind, order))
    assert len(facts) > 20
    for fact in facts:
        assert " ".join(fact.split()) in text, fact
    assert "8 blinds" in text


def test_each_row_of_a_confirmation_says_its_own_lines_figures_and_no_others():
    sizes = [(1000 + 37 * place, 900 + 23 * place) for place in range(25)]
    order = order_for("confirmation", lines=[{"width_mm": w, "drop_mm": d, "room": f"Room {w}"} for w, d in sizes])
    text = line_of(labels.office_paper_pdf(asked=paper_of(order=order, kind="confirmation"), at=AT))
    rows = re.findall(r"Room (\d+) .*?(\d+) × (\d+) recess opening (\d+) × (\d+)", text)
    # Recess clearances 10 and 12 mm, invented for the demo system.
    expected = [(w, w, d, w - 10, d - 12) for w, d in sizes]
    assert [tuple(map(int, row)) for row in rows] == expected


@pytest.mark.parametrize("kind", KINDS, ids=[kind.key for kind in KINDS])
@pytest.mark.parametrize("state", [state for state, _ in Order.STATES])
def test_a_paper_is_there_in_its_states_and_is_refused_in_the_others_with_the_next_step(kind, state):
    made = order_for("delivery" if state not in ("draft", "confirmed", "cancelled") else "measurements", lines=[{}])
    Order.objects.filter(pk=made.pk).update(state=state)
    order = Order.objects.get(pk=made.pk)
    assert (kind in kinds_in(state)) == (state in kind.states)
    if state in kind.states:
        assert paper_of(order=order, kind=kind.key).content["blinds"] == 1
    else:
        with pytest.raises(PaperRefused, match="so there is no"):
            paper_of(order=order, kind=kind.key)


def test_a_line_that_can_not_be_made_any_more_stops_the_paper_and_says_why():
    order = order_for("confirmation", lines=[{}, {}])
    order.lines.filter(position=2).update(width_mm=9000)
    with pytest.raises(PaperRefused, match=r"Line 2 can't be made: .*5800"):
        paper_of(order=order, kind="confirmation")
    order.lines.all().delete()
    with pytest.raises(PaperRefused, match="has no lines. Add a line first."):
        paper_of(order=order, kind="confirmation")


def test_the_mark_stays_while_nothing_changes_and_changes_with_whatever_is_printed(settings):
    order = order_for("confirmation", lines=[{}, {"room": "Hall"}])

    def mark():
        return paper_of(order=Order.objects.get(pk=order.pk), kind="confirmation").mark

    marks = [mark()]
    assert marks == [mark()]

    def rename_the_room():
        line = order.lines.get(position=2)
        line.room = "Hallway"
        line.save()

    for change in (
        lambda: order.lines.filter(position=1).update(width_mm=1831),
        rename_the_room,
        lambda: order.lines.filter(position=2).update(hand="right"),
        lambda: Order.objects.filter(pk=order.pk).update(due_on=dt.date(2026, 3, 19)),
        lambda: type(order.customer).objects.update(address="New Street"),
        lambda: setattr(settings, "WORKSHOP_PHONE", "01632 960 001"),
    ):
        change()
        marks.append(mark())
    assert len(set(marks)) == len(marks)


def test_releasing_an_order_changes_nothing_on_its_confirmation():
    order = order_for("confirmation")
    before = paper_of(order=order, kind="confirmation")
    factories.release(order=order, by=order.entered_by, at=AT)
    after = paper_of(order=Order.objects.get(pk=order.pk), kind="confirmation")
    assert after.content == before.content
    assert after.mark == before.mark


def test_a_confirmation_of_a_released_order_follows_its_frozen_blinds_and_not_the_line():
    order = order_for("delivery", lines=[{}])
    order.lines.update(width_mm=2000)
    (line,) = paper_of(order=order, kind="confirmation").content["lines"]
    assert line["measured"] == "1830 × 1600"


def test_a_paper_that_replaces_another_says_so_with_its_moment():
    assert "This replaces what we sent on Wednesday 4 March 2026, 09:00." in line_of(
        printed("confirmation", lines=[{}], replaces=AT)
    )
    assert "This replaces" not in line_of(printed("confirmation", lines=[{}]))


@pytest.mark.parametrize(
    ("draw", "hand", "operation", "said"),
    [
        ("one_way", "left", "cord_chain", "Controls on the left; the vanes gather on the left, seen from the room."),
        ("reverse", "left", "cord_chain", "Controls on the left; the vanes gather on the right, seen from the room."),
        (
            "split",
            "right",
            "cord_chain",
            "Controls on the right; the vanes part in the middle and gather at both sides",
        ),
        ("one_way", "right", "wand", "The vanes gather on the right, seen from the room."),
        ("split", "left", "wand", "The vanes part in the middle and gather at both sides, seen from the room."),
    ],
)
def test_hand_and_draw_are_said_in_words_that_need_no_trade(draw, hand, operation, said):
    assert draw_words({"draw": draw, "hand": hand, "operation": operation}).startswith(said)


@pytest.mark.parametrize(
    ("market", "line", "said"),
    [
        ("en13120", {}, "EN 13120:2009+A1:2014, seen in secondary summaries"),
        ("australia", {}, "Competition and Consumer (Corded Internal Window Coverings) Safety Standard 2014"),
        ("canada", {"operation": "wand"}, "SOR/2019-97, ss 5 to 8"),
        ("usa", {"operation": "wand"}, "ANSI/WCMA A100.1-2022"),
    ],
)
@pytest.mark.parametrize("kind", ["confirmation", "delivery"])
def test_the_markets_safety_rule_stands_with_its_source_and_certifies_nothing(kind, market, line, said):
    text = line_of(printed(kind, market=market, lines=[line]))
    assert re.search(rf"Source: [^.]*{re.escape(said)}", text)
    assert "it never certifies" in text
    assert "Young children can be strangled" in text


def test_a_market_that_limits_loops_is_told_of_the_chain_at_the_bottom():
    order = order_for(
        "confirmation", market="canada", lines=[{"operation": "wand"}, {"operation": "wand", "bottom": "chainless"}]
    )
    rules = paper_of(order=order, kind="confirmation").content["safety"]
    assert [rule["lines"] for rule in rules if "chain at the foot" in rule["says"]] == ["line 1"]


@pytest.mark.parametrize("line", [{}, {"operation": "wand"}, {"loop_control": "breakaway"}], ids=str)
def test_a_delivery_note_lists_what_the_pack_label_lists_and_every_safety_item(line):
    order = order_for("delivery", lines=[line])
    text = line_of(labels.office_paper_pdf(asked=paper_of(order=order, kind="delivery"), at=AT))
    blind = Blind.objects.get()
    assert ", ".join(pack_label.contents_of(blind)) in text
    if blind.looped:
        assert f"{line.get('loop_control', 'tensioner')}" in text
        assert f"{blind.components['warning_tags']} warning tags" in text
    assert "instructions" in text
    assert "signature" in text


def test_blinds_of_one_line_that_came_to_differ_stand_apart():
    order = order_for("delivery", lines=[{"quantity": 4}])
    Blind.objects.filter(serial=3).update(room="Attic")
    lines = paper_of(order=order, kind="delivery").content["lines"]
    assert [(line["quantity"], line["room"], line["numbers"]) for line in lines] == [
        (3, "Kitchen", "0001-1 to 0001-2, 0001-4"),
        (1, "Attic", "0001-3"),
    ]


def test_runs_of_numbers_are_said_shortly():
    assert spans(["0012-1", "0012-2", "0012-3", "0012-7"]) == "0012-1 to 0012-3, 0012-7"
    assert line_spans([4, 1, 2, 2, 3, 9, 10]) == "lines 1 to 4, 9, 10"
    assert line_spans([7]) == "line 7"


def test_papers_are_in_english_whatever_the_workshops_language(settings):
    settings.LANGUAGE_CODE = "es"
    text = line_of(printed("delivery", lines=[{}]))
    assert "headrail" in text
    assert "promised Wednesday 18 March 2026" in text


@pytest.mark.parametrize("kind", KIND)
def test_a_paper_asks_the_database_no_more_for_many_lines(kind, django_assert_max_num_queries):
    order = order_for(kind, lines=[{}] * 30)
    with django_assert_max_num_queries(3):
        assert office_papers.paper_of(order=order, kind=kind).mark
