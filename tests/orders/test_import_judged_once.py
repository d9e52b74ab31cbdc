"""A look that found nothing in the way isn't taken twice, and counts as long as nothing changed that it hung on."""

from dataclasses import replace

import pytest

from calc.components import outline
from calc.system import DEMO_38
from orders import lines
from orders.importing import preview, reading, sound, taking
from orders.importing.tables import Unreadable
from orders.models import Customer, CustomersColumns, Fabric, Order, OrderLine, SystemRevision
from tests import factories
from tests.orders.files_page import chosen, pressed
from tests.orders.looked_at import TODAY
from tests.orders.made_files import BAY, HEADS, TWO, row, separated, sheets

pytestmark = [pytest.mark.django_db, pytest.mark.once]
MANY = [HEADS, *[row(Room=f"Flat {number}") for number in range(150)]]


@pytest.fixture
def judged(monkeypatch):
    """The rows whose figures were worked out."""
    found = []
    worked_out = preview.outlined_line

    def noted(**given):
        found.append(given["line"])
        return worked_out(**given)

    monkeypatch.setattr(preview, "outlined_line", noted)
    return found


def test_what_was_looked_at_is_taken_in_without_another_look_at_its_figures(client, customer, judged):
    answer = chosen(client, customer, separated())
    assert len(judged) == 2
    pressed(client, answer)
    assert len(judged) == 2
    assert [(line.room, line.width_mm) for line in OrderLine.objects.order_by("position")] == [
        ("Bay", 1830),
        ("Study", 1210.5),
    ]


CHANGES = {
    "the constants in force": lambda: SystemRevision.objects.update(
        constants=replace(DEMO_38, max_width_mm=1500).to_dict()
    ),
    "a fabric's weight": lambda: Fabric.objects.update(weight_g_per_m2=241),
    "the customer's market": lambda: Customer.objects.update(market="usa"),
    "what is remembered of a column": lambda: CustomersColumns.objects.update(columns={"Room": {}}),
    "the rules": lambda: sound._rules.cache_clear(),
}


@pytest.mark.parametrize("change", CHANGES)
def test_once_anything_is_changed_that_it_hung_on_a_look_counts_no_more(
    client, customer, judged, change, monkeypatch, tmp_path
):
    answer = chosen(client, customer, separated())
    CustomersColumns.objects.get_or_create(customer=customer)
    file = answer.context["file"]
    found = taking.marked(file, today=TODAY)
    assert taking.marked(file, today=TODAY) == found
    if change == "the rules":
        monkeypatch.setattr(sound.calc, "__file__", str(tmp_path / "__init__.py"))
    CHANGES[change]()
    assert taking.marked(type(file).objects.get(), today=TODAY) != found
    sound._rules.cache_clear()


@pytest.mark.parametrize("told", ["", "0" * 64, f"{'0' * 64}:forged", "not a mark"])
def test_a_mark_that_no_page_told_saves_no_look(client, customer, judged, told):
    answer = chosen(client, customer, separated())
    pressed(client, answer, sound=told)
    assert len(judged) == 4
    assert Order.objects.count() == 1


def test_the_mark_of_another_file_saves_no_look(client, customer, judged):
    other = chosen(client, customer, separated([HEADS, BAY]))
    answer = chosen(client, customer, separated())
    pressed(client, answer, sound=other.context["sound"])
    assert len(judged) == 5


def test_a_blind_that_cannot_be_made_any_more_is_refused_whatever_the_page_found(client, customer):
    answer = chosen(client, customer, separated())
    CHANGES["the constants in force"]()
    refused = pressed(client, answer)
    assert refused.status_code == 409
    assert not Order.objects.exists()


def test_no_mark_is_told_of_a_file_with_a_problem(client, customer):
    assert not chosen(client, customer, separated([*TWO, row(Width="wide")])).context["sound"]


def test_of_many_rows_the_page_shows_the_first_and_those_with_something_to_say(client, customer):
    wrong = [row(Room="Attic", Width="wide")]
    answer = chosen(client, customer, separated([*MANY, *wrong]))
    page = answer.content.decode()
    assert "101 of 151 rows" in page
    assert 'id="row-101"' in page
    assert 'id="row-102"' not in page
    assert 'href="#row-152"' in page
    assert 'id="row-152"' in page
    every = client.get(answer.context["file"].get_absolute_url(), {"rows": "all"}).content.decode()
    assert "Every row" in every
    assert 'id="row-102"' in every


def test_the_page_of_a_hundred_rows_shows_each(client, customer):
    page = chosen(client, customer, separated(MANY[:101])).content.decode()
    assert "Every row" in page
    assert "rows=all" not in page


def test_a_spreadsheet_is_opened_once_and_its_cells_are_kept(client, customer, monkeypatch):
    opened = []
    answer_about = reading.answer_about
    monkeypatch.setattr(reading, "answer_about", lambda content: opened.append(content) or answer_about(content))
    monkeypatch.setattr(reading, "read_workbook", lambda content: pytest.fail("It is opened again."))
    answer = chosen(client, customer, sheets(("March", TWO, False)), name="march.xlsx")
    pressed(client, answer)
    assert len(opened) == 1
    assert OrderLine.objects.count() == 2


def test_a_spreadsheet_with_far_more_cells_than_bytes_is_kept_as_it_came(client, customer, monkeypatch):
    monkeypatch.setattr(reading, "MOST_KEPT", 100)
    content = sheets(("March", TWO, False))
    answer = chosen(client, customer, content, name="march.xlsx")
    assert bytes(answer.context["file"].content) == content
    pressed(client, answer)
    assert OrderLine.objects.count() == 2


def test_a_file_that_says_it_is_kept_cells_is_refused_as_no_text():
    with pytest.raises(Unreadable, match="bytes that are no text"):
        reading.to_keep(reading.CELLS + b'{"sheets": [], "hidden": [], "left": [], "macros": false}')


def test_lines_that_ask_for_the_same_blind_are_worked_out_once(monkeypatch):
    worked_out = []
    monkeypatch.setattr(lines, "outline", lambda spec, **given: worked_out.append(spec) or outline(spec, **given))
    known = {}
    factories.system()
    asked = [factories.line(), factories.line(room="Hall", quantity=3), factories.line(width_mm=1831)]
    figured = [
        lines.outlined_line(line=each, market=market, system=DEMO_38, known=known)
        for each in asked
        for market in ("en13120", "usa")
    ]
    assert len(worked_out) == 4
    assert [each.components["rail_cut_mm"] for each in figured] == [1814, 1814, 1814, 1814, 1815, 1815]
    assert [bool(each.refusals) for each in figured] == [False, True] * 3
