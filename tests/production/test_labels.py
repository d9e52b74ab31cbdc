"""Tickets and labels: one page a blind, nothing lost, every figure there, every code read back as it is printed."""

import re

import pytest
import zxingcpp
from django.utils.html import escape

from orders.models import Order
from production import codes, labels, pack_label, paper, route
from production.drawing.pen import figure_text
from production.models import Blind
from tests import factories
from tests.factories import AT
from tests.production.amending import accept, ask_off
from tests.production.long_texts import LONG_CUSTOMER, LONG_INSTRUCTION, LONG_ROOM, LOOSE, WAND
from tests.production.read_pdf import fonts_of, pictures_of, text_of, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]

PRINTERS = (labels.ticket_pdf, labels.rail_labels_pdf, labels.pack_labels_pdf)

SIZES_MM = {labels.ticket_pdf: (210, 297), labels.rail_labels_pdf: (100, 25), labels.pack_labels_pdf: (100, 70)}


def printed(pdf, *, blinds=None):
    return pdf(blinds=Blind.objects.all() if blinds is None else blinds, at=AT)


def renumber(blind, *, order_number, serial, remake=0):
    """Give the blind that number; the code that its papers must carry then."""
    Order.objects.filter(pk=blind.order_id).update(number=order_number)
    code = codes.ticket_code(order_number=order_number, serial=serial)
    Blind.objects.filter(pk=blind.pk).update(serial=serial, code=code, remake=remake)
    return codes.ticket_code(order_number=order_number, serial=serial, remake=remake)


@pytest.mark.parametrize("pdf", PRINTERS)
@pytest.mark.parametrize(
    ("order_number", "serial", "remake"),
    [
        (1, 1, 0),
        (412, 3, 0),
        (38_127, 40, 0),
        (700_707, 77, 0),
        (999_999, 999, 0),
        (1, 1, 1),
        (412, 3, 1),
        (38_127, 40, 10),
        (999_999, 999, 99),
    ],
)
def test_every_code_reads_back_from_a_printer_of_203_dots_an_inch(pdf, order_number, serial, remake, tmp_path):
    blind = factories.released()[0]
    code = renumber(blind, order_number=order_number, serial=serial, remake=remake)
    put_out = printed(pdf)
    expected = {(zxingcpp.BarcodeFormat.Code128, code)}
    if pdf is labels.ticket_pdf:
        expected.add((zxingcpp.BarcodeFormat.QRCode, code))
    for dpi in (203, 203.2):
        (picture,) = pictures_of(put_out, tmp_path, dpi=dpi)
        assert {(found.format, found.text) for found in zxingcpp.read_barcodes(picture)} == expected, dpi
    assert codes.read_code(code) == (order_number, serial, remake)


@pytest.mark.parametrize("pdf", [labels.ticket_pdf, labels.rail_labels_pdf])
def test_a_remades_ticket_and_rail_label_say_so_and_the_first_ones_dont(pdf):
    first, again = factories.released(lines=[{"quantity": 2}])
    Blind.objects.filter(pk=again.pk).update(remake=12)
    pages = text_of(printed(pdf))
    assert ["New papers 12" in page for page in pages] == [False, True]
    again.refresh_from_db()
    assert again.label_code in pages[1]
    assert first.code in pages[0]


@pytest.mark.parametrize("remake", [0, 99])
@pytest.mark.parametrize("pdf", PRINTERS)
def test_every_bar_code_has_its_quiet_zone_on_both_sides(pdf, remake, tmp_path):
    """Ten modules each side (GS1 General Specifications R18, 5.4.4), a module three dots; where the label ends, the
    paper does."""
    blind = factories.released(customer=factories.customer(LONG_CUSTOMER), lines=[{"room": LONG_ROOM}])[0]
    renumber(blind, order_number=999_999, serial=999, remake=remake)
    (picture,) = pictures_of(printed(pdf), tmp_path)
    (found,) = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.Code128)
    left, right = found.position.top_left.x, found.position.top_right.x
    top, bottom = sorted((found.position.top_left.y, found.position.bottom_left.y))
    for begins, ends in ((left - 30 + 1, left - 1), (right + 2, right + 30 - 1)):
        zone = picture.crop((max(begins, 0), top, min(ends, picture.width), bottom))
        assert zone.getextrema() == (255, 255)
    assert left >= 30
    assert picture.width - right >= 30


@pytest.mark.parametrize("pdf", PRINTERS)
def test_a_paper_counts_the_blinds_that_the_order_still_has(pdf):
    blinds = factories.released(lines=[{"quantity": 3}])
    last = Blind.objects.filter(pk=blinds[2].pk)
    assert "blind 3 of 3" in " ".join(text_of(printed(pdf, blinds=last))[0].split())
    accept(ask_off(blinds[0]))
    page = " ".join(text_of(printed(pdf, blinds=last))[0].split())
    assert "blind 3, 2 in all" in page
    assert "blind 3 of 3" not in page


@pytest.mark.parametrize("remake", [0, 99])
@pytest.mark.parametrize("pdf", PRINTERS)
def test_the_longest_texts_overflow_nothing(pdf, remake):
    long = {"room": LONG_ROOM, "special_instruction": LONG_INSTRUCTION, "width_mm": 5800, "drop_mm": 1200}
    factories.fabric(
        127, name="F" * 30 + " dim-out jacquard weave no two", colour="oyster shell with a silver thread on i"
    )
    blinds = factories.released(
        customer=factories.customer(LONG_CUSTOMER),
        reference="Purchase order 77-1182/B, third call-off, gate 4, quote 9/2026"[:60],
        rush=True,
        lines=[
            long,
            {**long, "draw": "reverse", "hand": "right", "vane_width_mm": 127, "size_basis": "exact", **LOOSE},
            {**long, **WAND, "draw": "one_way", "vane_width_mm": 127},
        ],
    )
    Blind.objects.update(remake=remake)
    pages = list(words_of(printed(pdf)))
    assert len(pages) == len(blinds)
    for (width, height), words in pages:
        assert (round(width), round(height)) == SIZES_MM[pdf]
        for word, left, top, right, bottom in words:
            assert left >= 1, word  # the boxes stand higher than the letters, by the face's ascent
            assert top >= 0, word
            assert right <= width - 1, word
            assert bottom <= height - 0.5, word


@pytest.mark.parametrize("market", ["en13120", "australia"])
@pytest.mark.parametrize("draw", ["one_way", "reverse", "split"])
def test_a_ticket_is_one_page_whatever_the_blind(market, draw):
    customer = factories.customer(LONG_CUSTOMER)
    blinds = factories.released(
        customer=customer,
        market=market,
        lines=[
            {"draw": draw, "special_instruction": LONG_INSTRUCTION, "width_mm": width, "drop_mm": drop, **LOOSE}
            for width, drop in ((360, 400), (2400, 1600), (5800, 1300))
        ],
    )
    pages = text_of(printed(labels.ticket_pdf))
    assert len(pages) == len(blinds)
    for page in pages:
        assert "printed Wed 4 Mar 2026, 09:00" in page.strip().splitlines()[-1]


@pytest.mark.parametrize("changes", [{}, WAND, {**WAND, "bottom": "chainless"}, LOOSE], ids=str)
def test_a_pack_label_keeps_its_contents_above_its_warning_and_both_whole(changes):
    factories.released(customer=factories.customer(LONG_CUSTOMER), lines=[{"room": LONG_ROOM, **changes}])
    ((_, words),) = words_of(printed(labels.pack_labels_pdf))
    warning = next(top for word, _, top, _, _ in words if word == "WARNING")
    above = [word for word, _, _, _, bottom in words if bottom <= warning]
    assert above[-1] == "instructions."
    below = " ".join(word for word, *_ in words if word not in above or word == "WARNING")
    blind = Blind.objects.get()
    for line in pack_label.pack_warning(blind.spec):
        assert escape(line.split()[-1]) in below


def test_the_tickets_of_an_order_come_in_the_order_of_their_numbers():
    blinds = factories.released(lines=[{"quantity": 3}, {"draw": "one_way"}])
    typed = [f"{blind.number}-{blind.code[9]}" for blind in blinds]
    assert [page.split()[0] for page in text_of(printed(labels.ticket_pdf))] == typed


def test_labels_of_an_order_are_rail_labels_then_pack_labels():
    factories.released(lines=[{"quantity": 2}])
    sizes = [tuple(map(round, size)) for size, _ in words_of(labels.labels_pdf(blinds=Blind.objects.all(), at=AT))]
    assert sizes == [(100, 25)] * 2 + [(100, 70)] * 2


@pytest.mark.parametrize(
    "changes", [{}, {"draw": "one_way", "hand": "right", "vane_width_mm": 127}, {"draw": "reverse"}, WAND], ids=str
)
def test_a_ticket_carries_every_figure_of_every_station(changes):
    (blind,) = factories.released(lines=[{"quantity": 1, **changes}])
    text = " ".join(printed_words(labels.ticket_pdf))
    for figures in (paper.FIGURES[place.key](blind) for place in route.STATIONS):
        for figure in figures:
            assert figure["value"] in text, figure
            assert figure["tolerance"] in text, figure
    for key in ("closed_pitch_mm", "overlap_mm", "finished_width_mm", "finished_drop_mm"):
        assert figure_text(blind.components[key]) in text, key


def printed_words(pdf):
    return [word for _, words in words_of(printed(pdf)) for word, *_ in words]


def test_a_ticket_shows_the_size_basis_with_both_sizes():
    factories.released(lines=[{"size_basis": "recess"}, {"size_basis": "exact"}])
    recess, exact = text_of(printed(labels.ticket_pdf))
    assert "recess opening" in recess
    assert "1830 × 1600" in recess
    assert "1820 × 1588" in recess
    assert "no clearance taken" in exact
    assert exact.count("1830 × 1600") == 2


def test_a_ticket_names_who_it_is_for_when_it_is_due_and_what_it_was_computed_with():
    (blind,) = factories.released(customer=factories.customer("Zoë Łukasik & Ωmega Жук"), rush=True)
    (page,) = text_of(printed(labels.ticket_pdf))
    for words in ("Zoë Łukasik & Ωmega Жук", "Kitchen", "Wed 18 Mar 2026", "RUSH", blind.code, "demo-38 revision 1"):
        assert words in page
    assert re.search(r"blind 1\s+of 1", page)


def test_a_ticket_carries_its_steps_with_their_cautions():
    factories.released()
    text = " ".join(printed_words(labels.ticket_pdf))
    assert "Saw: eye protection, rail clamped" in text
    assert "Hot cord end: burns." in text
    assert "Cord and chain bundled, warning tag 2" in text


def test_a_ticket_says_what_must_be_fitted_by_which_rule_and_who_decides():
    factories.released()
    text = " ".join(printed_words(labels.ticket_pdf))
    assert "Must be fitted: tensioner" in text
    assert "EN 13120" in text
    assert "it never certifies" in text
    assert "competent installer decide" in text


def test_a_special_instruction_stands_out_and_names_its_stations():
    factories.released(lines=[{"special_instruction": "Metal chain in black.", "concerns": ["stringing", "packing"]}])
    (page,) = text_of(printed(labels.ticket_pdf))
    assert "Metal chain in black." in page
    assert "Special instruction, for stringing, packing." in page
    assert page.count("Special instruction read.") == 2


def test_what_customers_type_is_text_and_never_markup():
    factories.released(
        customer=factories.customer("<b>Bold</b> & Sons"),
        lines=[{"special_instruction": "<img src=file:///etc/hosts>"}],
    )
    (page,) = text_of(printed(labels.ticket_pdf))
    assert "<b>Bold</b> & Sons" in page
    assert "<img src=file:///etc/hosts>" in page


@pytest.mark.parametrize("pdf", PRINTERS)
def test_only_our_own_face_is_set(pdf, tmp_path):
    factories.released(lines=[{"special_instruction": "Brackets ≥ 3 → beam; 45° ± 1, ½ turn"}])
    assert fonts_of(printed(pdf), tmp_path) <= {"Ticket", "Ticket-Bold"}


def test_a_warning_uses_the_signal_word_for_what_could_kill():
    # ANSI Z535.4-2007, 4.14, as quoted in secondary summaries: WARNING "could result in death or serious injury".
    factories.released()
    (page,) = text_of(printed(labels.pack_labels_pdf))
    assert "WARNING" in page
    assert "Young children can be strangled" in page
    assert not re.search(r"\b(DANGER|CAUTION|NOTICE)\b", page)


@pytest.mark.parametrize("pdf", [*PRINTERS, labels.labels_pdf])
def test_nothing_to_print_is_refused_with_what_to_do(pdf):
    with pytest.raises(ValueError, match="Release the order first"):
        pdf(blinds=Blind.objects.none(), at=AT)


@pytest.mark.parametrize("pdf", [*PRINTERS, labels.labels_pdf])
def test_printing_asks_the_database_once_however_many_the_blinds(pdf, django_assert_num_queries):
    factories.released(lines=[{"quantity": 4}])
    with django_assert_num_queries(1):
        printed(pdf)
