"""The figures beside a line as it is typed: what is shown of an unfinished line, and how a figure came about."""

import ast
import operator
import re

import pytest
from django.urls import reverse
from django.utils.html import escape

from calc.components import components
from orders.models import SystemRevision
from orders.spec import spec_of
from production.figures import GROUPS, LABELS, grouped
from production.workings import value_of
from tests import factories
from tests.typed_line import typed_line

pytestmark = pytest.mark.django_db


def typed(**given):
    return typed_line(**{"market": "en13120", **given})


def ask(client, fields):
    answer = client.post(reverse("figures"), fields)
    assert answer.status_code == 200
    return answer.content.decode()


def plain(page):
    """The page's words alone, spaces settled."""
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page))


def test_a_whole_line_shows_size_drawing_figures_and_the_safety_rule(client, sales):
    page = ask(client, typed())
    words = plain(page)
    assert "1820 × 1588" in words
    assert "<svg" in page
    for said in ("Carriers 24", "Rail, cut 1814 mm", "Chain drop 978 mm", "Cord, cut 5624 mm", "Brackets 3"):
        assert said in words
    assert "Child safety, EU and UK (EN 13120)" in words
    assert "secondary summaries" in words
    assert "competent installer decide" in words


def test_both_readings_of_the_size_are_shown_and_the_ordered_one_is_marked(client, sales):
    # Recess clearances 10 and 12 mm, invented for the demo system.
    sizes = {}
    for basis in ("recess", "exact"):
        context = client.post(reverse("figures"), typed(size_basis=basis)).context
        sizes[basis] = {each["basis"]: each for each in context["sizes"]}
    for shown in sizes.values():
        assert shown["recess"]["opening"] == (1830, 1600)
        assert shown["recess"]["finished"] == (1820, 1588)
        assert shown["exact"]["opening"] == (1840, 1612)
        assert shown["exact"]["finished"] == (1830, 1600)
    assert [each["chosen"] for each in sizes["recess"].values()] == [True, False]
    assert [each["chosen"] for each in sizes["exact"].values()] == [False, True]


def test_before_the_basis_is_chosen_both_readings_are_shown_and_neither_is_ordered(client, sales):
    words = plain(ask(client, typed(size_basis=None)))
    assert "Still needed: recess or exact" in words
    assert "1820 × 1588" in words
    assert "ordered" not in words


def test_nothing_typed_yet_is_no_mistake(client, sales):
    page = ask(client, {})
    assert "Still needed: recess or exact, width, drop" in plain(page)
    assert 'class="signal"' not in page


@pytest.mark.parametrize(
    "left_out", ["width_mm", "drop_mm", "hand", "draw", "vane_width_mm", "fabric", "operation", "chain", "system"]
)
def test_a_line_with_one_thing_open_says_what_and_refuses_nothing(client, sales, left_out):
    page = ask(client, typed() | {left_out: ""})
    words = plain(page)
    assert "Still needed:" in words
    assert "Can't be made" not in words
    assert "is missing" not in words


def test_a_width_alone_shows_what_it_would_come_to(client, sales):
    assert "1820 × ?" in plain(ask(client, typed() | {"drop_mm": ""}))


@pytest.mark.parametrize("entered", ["1,500", "wide", "1830.55", "-1", "9" * 11, "<b>", "‏١٨٣٠"])
def test_a_width_that_cannot_be_read_is_said_with_what_to_type_and_refuses_nothing_else(client, sales, entered):
    page = ask(client, typed(width_mm=entered))
    words = plain(page)
    assert "Not read: " in words
    assert re.search(r"\bType ", words)
    assert "Still needed" not in words
    assert escape(f"“{entered}”") in page


def test_what_is_wrong_with_the_room_is_no_matter_for_the_figures(client, sales):
    assert "Not read" not in plain(ask(client, typed(room="R" * 90, concerns=[], special_instruction="Odd bracket")))


def test_a_refusal_stands_first_with_its_source(client, sales):
    page = ask(client, typed(width_mm="6000"))
    assert page.index("The finished width is 5990 mm") < page.index("What the size means")
    assert "Source: " in page
    assert "<svg" not in page


def test_a_refused_loop_leaves_the_other_figures_to_be_seen(client, sales):
    # Canada allows no reachable loop: SOR/2019-97, read in full.
    words = plain(ask(client, typed(market="canada")))
    assert "Can't be made:" in words
    assert "Rail, cut 1814 mm" in words
    assert "Chain drop" not in words


def test_a_warning_is_told_apart_from_a_refusal(client, sales):
    page = ask(client, typed(market="australia", installation_height_mm="2600"))
    assert "Mind:" in page
    assert "A bottom chain hangs in loops between the vanes" in page
    assert "Can't be made" not in page


def test_a_wand_blind_shows_its_wand_and_no_chain(client, sales):
    words = plain(ask(client, typed(operation="wand", draw="one_way", loop_control=None, chain=None)))
    # Three quarters of 1588 is 1191: the longest stocked wand below is 1000; invented stock.
    assert "Wand 1000 mm" in words
    assert "Chain drop" not in words
    assert "Still needed" not in words


def test_a_market_that_does_not_exist_is_no_error_page(client, sales):
    assert "Can't be made" in plain(ask(client, typed(market="<moon>")))


def test_without_a_published_revision_the_figures_say_whom_to_ask(client, sales):
    fields = typed()
    SystemRevision.objects.update(state="draft")
    assert "no published revision. Ask a manager" in plain(ask(client, fields))


def test_the_figures_on_the_page_are_those_that_are_answered_alone(client, sales):
    order = factories.order(by=sales, lines=[{}])
    page = client.get(reverse("line", args=[order.number, 1])).content.decode()
    line = order.lines.get()
    fields = typed(fabric=line.fabric_id, system=line.system_id, room="Kitchen")
    assert ask(client, fields).strip() in page


def test_the_figures_of_a_refused_line_are_on_its_page_too(client, sales):
    order = factories.order(by=sales)
    fields = typed(width_mm="6000", concerns=["railing"])
    page = client.post(reverse("line-new", args=[order.number]), fields).content.decode()
    assert ask(client, fields).strip() in page


def figures_of(**given):
    return components(spec_of(factories.line(**given), market="en13120"))


@pytest.mark.parametrize(
    "given",
    [
        {},
        {"draw": "one_way", "vane_width_mm": 127},
        {"draw": "reverse", "hand": "right", "width_mm": 2400},
        {"draw": "one_way", "operation": "wand"},
        {"width_mm": 4210, "drop_mm": 2600, "loop_control": "breakaway", "installation_height_mm": 2750},
    ],
)
def test_every_figure_shown_has_a_working_that_comes_to_its_value(given):
    shown = [each for group in grouped(figures_of(**given)) for each in group["figures"]]
    assert len(shown) > 15
    for each in shown:
        assert each["working"], each["key"]
        assert each["working"]["source"], each["key"]
        assert come_to(each["working"]["numbers"]) == pytest.approx(each["value"], abs=6e-5), each["key"]


def come_to(numbers):
    """The worth of a working in numbers, read as a person would with paper and pencil."""
    import math

    signs = {ast.Add: operator.add, ast.Sub: operator.sub, ast.Mult: operator.mul, ast.Div: operator.truediv}
    named = {"max": max, "min": min, "ceil": math.ceil, "floor": math.floor, "sqrt": math.sqrt}
    words = {"the greater of (": "max(", "the lesser of (": "min(", "round up (": "ceil(", "round down (": "floor("}

    def worth(node):
        if isinstance(node, ast.Constant):
            return node.value
        if isinstance(node, ast.UnaryOp):
            return -worth(node.operand)
        if isinstance(node, ast.BinOp):
            return signs[type(node.op)](worth(node.left), worth(node.right))
        return named[node.func.id](*map(worth, node.args))

    signs[ast.Pow] = operator.pow
    text = numbers.replace("×", "*").replace("−", "-").replace("÷", "/").replace("²", "**2").replace("√(", "sqrt(")
    for said, function in words.items():
        text = text.replace(said, function)
    return worth(ast.parse(text, mode="eval").body)


def test_a_working_reads_as_words_then_as_numbers():
    every = {each["key"]: each for group in grouped(figures_of()) for each in group["figures"]}
    rail = every["rail_cut_mm"]
    assert rail["working"]["formula"] == "finished width − 2 × end cover"
    assert rail["working"]["numbers"] == "1820 − 2 × 3"
    assert (rail["value"], rail["unit"]) == (1814, "mm")
    # ISO 2768-1 class m, above 1000 to 2000: 1.2, as two agreeing copies of its table 1 have it.
    assert rail["tolerance"] == 1.2


def test_every_figure_named_is_one_that_some_blind_has():
    blinds = [figures_of(), figures_of(draw="one_way", operation="wand"), figures_of(draw="reverse")]
    for _, named in GROUPS:
        for key, _ in named:
            assert any(value_of(blind, key) is not None for blind in blinds), key


def test_every_figure_that_is_worked_out_has_a_name_in_the_list():
    for blind in (figures_of(), figures_of(draw="one_way", operation="wand"), figures_of(draw="reverse")):
        assert {entry["name"] for entry in blind["working"]} <= set(LABELS)


def test_a_working_says_rounding_and_choosing_in_words():
    every = {each["key"]: each for group in grouped(figures_of()) for each in group["figures"]}
    assert every["brackets"]["working"]["formula"] == (
        "the greater of (2, round up ((rail cut − 2 × bracket inset) ÷ bracket span) + 1)"
    )
    assert every["tolerances_mm.gap_check_mm.root_sum_square"]["working"]["numbers"] == (
        "√(1.2² + 0.5² + 0.5² + 20 × 0.15²)"
    )
    assert every["tolerances_mm.rail_cut_mm"]["working"]["formula"] == "allowed, looked up by length"
