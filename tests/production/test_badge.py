"""A badge on paper: the size of an identity card, read back by a scanner, and its code nowhere in words."""

import pytest
import zxingcpp

from production import codes, labels
from tests import factories
from tests.factories import AT
from tests.production.read_pdf import fonts_of, pictures_of, text_of, words_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]


def badge(person, number=12_345_678_901_234_567_890_123_456):
    return labels.badge_pdf(person=person, code=codes.badge_code(number), at=AT)


@pytest.mark.parametrize("number", [0, 12_345_678_901_234_567_890_123_456, codes.BADGES - 1], ids=str)
@pytest.mark.parametrize("dpi", [203, 300, 600])
def test_the_code_reads_back_as_a_label_printer_or_an_offices_prints_it(maker, number, dpi, tmp_path):
    (picture,) = pictures_of(badge(maker, number), tmp_path, dpi=dpi)
    read = [(found.format, found.text) for found in zxingcpp.read_barcodes(picture)]
    assert read == [(zxingcpp.BarcodeFormat.Code128, codes.badge_code(number))]


def test_it_is_as_large_as_an_identity_card_and_shows_the_name_and_roles_but_not_the_code(maker, tmp_path):
    """ISO/IEC 7810, ID-1: 85.60 x 53.98 mm."""
    ((size, _),) = words_of(badge(maker))
    assert size == pytest.approx((85.6, 53.98), abs=0.1)
    (text,) = text_of(badge(maker))
    assert "Mara Lind" in text
    assert "Maker" in text
    assert "1234567890" not in text
    assert fonts_of(badge(maker), tmp_path) <= {"Ticket", "Ticket-Bold"}


def test_the_longest_name_overflows_nothing():
    person = factories.person(
        "maker", "checker", first_name="Maximiliana Theodora", last_name="Featherstonehaugh-Montgomery-Ashworth"
    )
    ((width, height), words), *more = words_of(badge(person))
    assert not more
    assert {"Featherstonehaugh-Montgomery-Ashworth", "Maximiliana"} & {word for word, *_ in words}
    for word, left, top, right, bottom in words:
        assert left >= 1, word
        assert top >= 0, word
        assert right <= width - 1, word
        assert bottom <= height - 0.5, word
    code_top_mm = 32
    assert all(bottom < code_top_mm for word, *_, bottom in words if word in {"Theodora", "Checker"})
