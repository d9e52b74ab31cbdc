"""Tickets and labels in the workshop's language: as whole, and as much on its page, as in English."""

import pytest
from django.utils.translation import gettext, override

from production import labels, pack_label
from production.models import Blind
from script.messages import languages
from tests import factories
from tests.production.long_texts import LONG_CUSTOMER, LONG_INSTRUCTION, LONG_ROOM, LOOSE, WAND
from tests.production.read_pdf import words_of
from tests.production.test_labels import printed

pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.fixture(autouse=True, params=languages())
def language(settings, request):
    settings.LANGUAGE_CODE = request.param
    with override("en-gb"):  # whoever prints reads the office's pages
        yield request.param


def said(english, language):
    with override(language):
        return gettext(english)


@pytest.mark.parametrize("draw", ["one_way", "reverse", "split"])
def test_a_ticket_is_one_page_whatever_the_blind(draw, language):
    made = {"draw": draw, "special_instruction": LONG_INSTRUCTION, **LOOSE}
    lines = [{**made, "width_mm": width, "drop_mm": drop} for width, drop in ((360, 400), (2400, 1600), (5800, 1300))]
    blinds = factories.released(customer=factories.customer(LONG_CUSTOMER), lines=lines)
    pages = list(words_of(printed(labels.ticket_pdf)))
    assert len(pages) == len(blinds)
    for (width, height), words in pages:
        assert said("promised", language) in [word for word, *_ in words]
        assert all(
            left >= 1 and top >= 0 and right < width and bottom < height for _, left, top, right, bottom in words
        )


@pytest.mark.parametrize("changes", [{}, WAND, {**WAND, "bottom": "chainless"}, LOOSE], ids=str)
def test_a_pack_label_keeps_its_contents_above_its_warning_and_both_whole(changes, language):
    factories.released(customer=factories.customer(LONG_CUSTOMER), lines=[{"room": LONG_ROOM, **changes}])
    (((_, height), words),) = words_of(printed(labels.pack_labels_pdf))
    warning = next(top for word, _, top, _, _ in words if word == said("WARNING", language))
    above = [word for word, _, _, _, bottom in words if bottom <= warning]
    assert above[-1] == said("instructions", language) + "."
    with override(language):
        lines = pack_label.pack_warning(Blind.objects.get().spec)
    below = [(word, bottom) for word, _, top, _, bottom in words if top >= warning]
    for line in lines:
        assert line.split()[-1] in [word for word, _ in below]
    assert max(bottom for _, bottom in below) < height - 1.5


def test_a_rail_label_carries_the_letter_and_the_hand_in_the_workshops_language(language):
    factories.released()
    ((_, words),) = words_of(printed(labels.rail_labels_pdf))
    assert {said("L", language), said("left", language) + ","} <= {word for word, *_ in words}
