"""How customers' papers are laid out: nothing spilt, the address in its window, typed text never markup."""

import re

import pytest

from orders.customer_papers import KIND
from orders.models import Order
from production.office_papers import address_of
from tests import factories
from tests.factories import AT
from tests.production.customer_papers import LINES, printed
from tests.production.long_texts import LONG_CUSTOMER
from tests.production.read_pdf import fonts_of, line_of, text_of, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.mark.parametrize("kind", KIND)
def test_the_longest_texts_overflow_nothing(kind):
    customer = factories.customer(
        LONG_CUSTOMER, contact="C" * 80, address="\n".join(f"Line {place} of a long address" for place in range(11))
    )
    pages = list(words_of(printed(kind, customer=customer, reference="R" * 60, lines=LINES * 3, replaces=AT)))
    assert len(pages) >= 3
    for (width, height), words in pages:
        assert (round(width), round(height)) == (210, 297)
        for word, left, top, right, bottom in words:
            assert left >= 25 - 0.1, word
            assert top >= 8, word
            assert right <= 190 + 0.6, word
            assert bottom <= height - 5, word


def in_the_window(pdf):
    """The words in the address zone of DIN 5008, form B (from memory): 20 to 105 mm across, 62.7 to 90 mm down."""
    (_, words), *_ = words_of(pdf)
    return [word for word, left, top, right, bottom in words if left < 105 and top >= 61.5 and bottom <= 90.5]


@pytest.mark.parametrize(
    "address",
    [
        "4 Tannery Row, Eastwick",
        "Harrowgarth House\r\nStation Approach\r\n\r\nUpper Norrowby",
        "\n".join(f"Line {place} of an address that is long" for place in range(12)),
        "Unbroken" * 37,
        "",
    ],
    ids=["one line", "several lines", "too many lines", "no break", "none"],
)
@pytest.mark.parametrize("name", ["Ida Brook", LONG_CUSTOMER], ids=len)
def test_name_and_address_stand_in_the_window_and_nothing_else_does(name, address):
    customer = factories.customer(name, address=address)
    shown = "".join(in_the_window(printed("confirmation", customer=customer, lines=[{}])))
    assert shown == "".join("".join(line.split()) for line in address_of(customer))


def test_a_paper_of_200_lines_repeats_its_head_and_numbers_its_pages():
    pages = text_of(printed("confirmation", lines=[{"room": f"R{place:03d}"} for place in range(200)]))
    rows = [re.findall(r"\bR\d{3}\b", page) for page in pages]
    assert [room for page in rows for room in page] == [f"R{place:03d}" for place in range(200)]
    with_rows = [place for place, page in enumerate(rows) if page]
    assert all("room" in pages[place] for place in with_rows)
    assert all(f"page {place} of {len(pages)}" in page for place, page in enumerate(pages, start=1))
    # The total stands under rows, never alone on a page.
    assert "200 blinds" in pages[with_rows[-1]]


def test_wherever_the_pages_end_no_row_stands_alone_at_an_end_of_the_table():
    alone = {}
    # Where a page would end one row early or late, as the sheet is laid out now, and a row on either side.
    for lines in (4, 5, 6, 7, 13, 14, 15):
        Order.objects.all().delete()
        rows = [page.count("Kitchen") for page in text_of(printed("confirmation", lines=[{}] * lines))]
        rows = [count for count in rows if count]
        assert sum(rows) == lines
        if 1 in (rows[0], rows[-1]):
            alone[lines] = rows
    assert alone == {}


def test_a_paper_of_one_line_is_one_page():
    for kind in KIND:
        assert len(text_of(printed(kind, lines=[{}]))) == 1, kind


@pytest.mark.parametrize("kind", KIND)
def test_what_customers_type_is_text_and_never_markup(kind, tmp_path):
    hostile = "<script>x</script> & <img src=file:///etc/hosts>"
    customer = factories.customer("</style><b>Bold</b> & Sons", address=f"{hostile}\n\"'}} @page {{", contact=hostile)
    pdf = printed(kind, customer=customer, reference="{{ settings.SECRET_KEY }}", lines=[{"room": hostile}])
    text = line_of(pdf).replace(" ", "")
    for typed in ("</style><b>Bold</b> & Sons", hostile, "{{ settings.SECRET_KEY }}"):
        assert typed.replace(" ", "") in text
    assert "localhost" not in text


def test_letters_of_other_scripts_are_there(tmp_path):
    pdf = printed("confirmation", customer=factories.customer("Zoë Łukasik & Ωmega Жук"), lines=[{}])
    assert "Zoë Łukasik & Ωmega Жук" in line_of(pdf)
    assert fonts_of(pdf, tmp_path) <= {"Ticket", "Ticket-Bold"}
