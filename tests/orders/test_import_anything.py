"""Whatever bytes come in, reading them ends in lines, in problems or in a refusal, never in an error."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orders.importing.tables import Unreadable
from tests.orders.looked_at import catalogue, looked
from tests.orders.made_files import HEADS, TWO, old_workbook, one_sheet, open_document, separated

pytestmark = [pytest.mark.django_db, pytest.mark.once]

CELL = st.one_of(
    st.sampled_from(["", *TWO[1], *TWO[2], "-1", "1e9", "½", "²", "1/0", "=1+1", "0x10", "∞", "1830\u202e", "12:30"]),
    st.text(max_size=12),
)
quickly = settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(autouse=True)
def a_catalogue(db):
    catalogue()


def looked_or_refused(content):
    try:
        preview = looked(content)
    except Unreadable:
        return
    assert preview.ready or preview.problems
    for problem in preview.problems:
        assert problem.message
        assert len(str(problem)) < 700


@settings(quickly, max_examples=100)
@given(st.lists(st.lists(CELL, min_size=13, max_size=13), max_size=4))
def test_any_cells_below_the_heads(rows):
    looked_or_refused(separated([HEADS, *rows], encoding="utf-8"))


@settings(quickly, max_examples=100)
@given(st.binary(max_size=300))
def test_any_bytes(content):
    if not content.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0")):
        looked_or_refused(content)


SPREADSHEETS = {"xlsx": one_sheet(), "ods": open_document(), "xls": old_workbook()}


@settings(quickly, max_examples=40)
@given(st.sampled_from(sorted(SPREADSHEETS)), st.floats(0, 1), st.binary(min_size=1, max_size=8), st.booleans())
def test_a_spreadsheet_with_some_bytes_changed_or_broken_off(kind, share, put, broken_off):
    content = SPREADSHEETS[kind]
    at = 8 + int(share * (len(content) - 8))
    looked_or_refused(content[:at] + put + (b"" if broken_off else content[at + len(put) :]))
