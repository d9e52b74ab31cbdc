"""Orders written out and taken in again are the same orders; and no text written out becomes a formula elsewhere."""

import csv
import io

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from python_calamine import CalamineWorkbook

from orders.importing import writing
from orders.importing.columns import FIELD_OF, plain, read_head
from orders.importing.heads import HEADS, TITLES
from orders.importing.reading import read
from orders.importing.words import OTHER_WORDS, TITLE_OF, VALUE_OF, accepted
from orders.models import HardwareSystem, OrderLine
from orders.models.choices import MARKET_NAMES, WORDS
from orders.spec import spec_of
from tests import factories
from tests.orders.looked_at import catalogue, looked, problems
from tests.orders.pages import in_days

pytestmark = pytest.mark.django_db

KINDS = [
    {},
    {"quantity": 12, "room": "Bay, left"},
    {"size_basis": "exact", "width_mm": "1210.5", "drop_mm": "1400.1", "hand": "right", "draw": "one_way"},
    {"draw": "reverse", "vane_width_mm": 127, "chain": "plastic", "loop_control": "breakaway"},
    {"operation": "wand", "fixing": "face", "bottom": "chainless", "recess_depth_mm": 140},
    {"control_drop_mm": 900, "installation_height_mm": 2500},
    {"special_instruction": "Odd bracket;\nask Nora, “twice”", "concerns": ["railing", "packing"]},
]
WRITTEN = {"text": writing.as_text, "sheet": writing.as_sheet}


def same(line):
    """Everything that a line says."""
    names = ("quantity", "room", "special_instruction", "concerns", "fabric_id", "system_id", "loop_control", "chain")
    return spec_of(line, market="en13120") | {name: getattr(line, name) for name in names}


@pytest.mark.parametrize("write", WRITTEN.values(), ids=WRITTEN)
def test_every_kind_of_line_comes_back_as_it_went(write):
    catalogue()
    order = factories.order(reference="Flat 2", due_on=in_days(90), lines=KINDS)
    preview = looked(write(order.lines.in_order()))
    assert problems(preview) == []
    assert [same(row.line) for row in preview.rows] == [same(line) for line in order.lines.in_order()]
    (coming,) = preview.orders
    assert (coming.reference, coming.due_on, coming.market) == (order.reference, order.due_on, order.market)


@pytest.mark.parametrize("write", WRITTEN.values(), ids=WRITTEN)
def test_several_orders_stay_several_though_they_have_one_reference(write):
    catalogue()
    customer = factories.customer()
    for market in ("en13120", "australia"):
        factories.order(customer=customer, due_on=in_days(90), market=market, lines=[{}, {"room": "Hall"}])
    preview = looked(write(OrderLine.objects.open_of(customer)))
    assert [(order.code, order.market, len(order.rows)) for order in preview.orders] == [
        ("0001", "en13120", 2),
        ("0002", "australia", 2),
    ]


TYPED = st.text(st.sampled_from("=+-@'\"\t;,|\nAé1 "), min_size=1, max_size=20).map(str.strip).filter(bool)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(text=TYPED)
def test_any_text_comes_back_as_it_went_and_starts_no_formula(text):
    catalogue()
    line = factories.line(special_instruction=text, concerns=["railing"])
    line.order = factories.order(due_on=in_days(90))
    content = writing.as_text([line])
    cells = [cell for cells in csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")) for cell in cells]
    # What CWE-1236 and OWASP's page on CSV injection name as starts of formulas, as far as a cell can begin with them.
    assert not any(cell.startswith(("=", "+", "-", "@", "\t", "\r")) for cell in cells)
    (row,) = looked(content).rows
    assert row.line.special_instruction == text


def test_a_text_that_looks_like_a_formula_stays_text_in_a_sheet():
    line = factories.line(room="=1+1", special_instruction="@SUM(A1)")
    line.order = factories.order(due_on=in_days(90))
    content = writing.as_sheet([line])
    assert [note for note in read(content).sheets[0].notes if "formulas" in note] == []
    row = CalamineWorkbook.from_filelike(io.BytesIO(content)).get_sheet_by_index(0).to_python()[1]
    assert (row[4], row[-2]) == ("=1+1", "@SUM(A1)")


def template():
    return writing.template(fabrics=[factories.fabric(89)], systems=HardwareSystem.objects.by_name())


def test_the_form_to_fill_in_has_every_column_and_no_blind_yet():
    factories.system()
    preview = looked(template())
    assert [column.field for column in preview.layout.columns] == list(TITLES)
    assert problems(preview) == ["No blind stands below the head. Choose another sheet, or the right row of the head."]


def test_every_word_that_the_form_offers_is_understood():
    factories.system()
    words = read(template()).sheets[1].rows
    offered = {
        title.removesuffix(" may be"): [row[place] for row in words[1:] if place < len(row) and row[place]]
        for place, title in enumerate(words[0])
    }
    for field, values in VALUE_OF.items():
        assert [values[plain(word)] for word in offered.pop(TITLES[field])] == list(OTHER_WORDS[field])
    assert offered == {"Vane width": ["89", "127"], "Fabric": ["Linden chalk, 89 mm"], "System": ["Demo 38"]}


def test_every_choice_of_a_line_has_its_words_and_each_title_is_one_of_them():
    fields = {name: field for name in OTHER_WORDS if name != "market" and (field := OrderLine._meta.get_field(name))}
    for name, field in fields.items():
        assert set(OTHER_WORDS[name]) == {value for value, _ in field.choices}
    assert set(OTHER_WORDS["market"]) == set(MARKET_NAMES)
    for name, values in OTHER_WORDS.items():
        assert accepted(name) == [(WORDS | MARKET_NAMES)[value] for value in values]
        assert all(VALUE_OF[name][plain(TITLE_OF[value])] == value for value in values)


def test_every_head_that_is_written_is_known_with_its_unit():
    written = [read_head(head) for head in writing.HEADS]
    assert [field for field, _ in written] == list(HEADS)
    assert {field for field, unit in written if unit == "mm"} == set(writing.IN_MM)
    assert len(FIELD_OF) > 250
