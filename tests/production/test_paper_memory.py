"""Who prints all day needs no more memory for it: nothing of a paper stays once it is printed."""

import gc
import re

import pytest
from weasyprint import CSS, HTML
from weasyprint.text import line_break
from weasyprint.text.fonts import FontConfiguration

from production import labels
from production.models import Blind
from tests import factories
from tests.factories import AT

PRINTERS = [labels.ticket_pdf, labels.labels_pdf, labels.working_pdf]
pytestmark = [pytest.mark.django_db, pytest.mark.once]


@pytest.mark.parametrize("pdf", PRINTERS)
def test_nothing_that_was_laid_out_stays(pdf):
    factories.released(lines=[{"quantity": 2}])
    gc.collect()
    gc.disable()
    try:
        pdf(blinds=Blind.objects.all(), at=AT)
        assert gc.collect() < 1000
    finally:
        gc.enable()


@pytest.mark.parametrize("pdf", PRINTERS)
def test_no_text_asks_for_features_of_its_own(pdf, monkeypatch):
    """WeasyPrint 70, text/line_break.py, Layout.setup: what holds them is never given back, "leaking", as it says."""
    asked, features = [], line_break.font_features
    monkeypatch.setattr(line_break, "font_features", lambda *given: asked.append(features(*given)) or asked[-1])
    factories.released()
    pdf(blinds=Blind.objects.all(), at=AT)
    assert len(asked) > 10
    assert not any(asked)


def test_a_zero_is_slashed():
    def glyphs(css):
        fonts = FontConfiguration()
        face = CSS(string=css, base_url=f"{labels.FONTS}/", font_config=fonts)
        page = HTML(string="<p>0</p>").write_pdf(stylesheets=[face], font_config=fonts, uncompressed_pdf=True)
        [shown] = re.findall(rb"\[<([0-9a-f]{4})>0?\] TJ", page)
        return shown

    ours = (labels.FONTS / "ticket.css").read_text()
    plain = ours.replace('font-feature-settings: "zero";', "")
    asked_by_the_text = plain + "html { font-variant-numeric: slashed-zero }"
    assert glyphs(ours) == glyphs(asked_by_the_text) != glyphs(plain)
