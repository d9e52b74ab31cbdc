"""Tickets, labels and the papers for customers as PDF. The only module that knows WeasyPrint.

Sheets are sized in millimetres in templates/labels/. Every paper is set in one face that travels with the program, so
that it prints the same everywhere; the face is loaded once and kept.
"""

import gc
from functools import cache, wraps

from django.conf import settings
from django.template.loader import render_to_string
from django.utils import timezone, translation
from weasyprint import CSS, HTML
from weasyprint.text.fonts import FontConfiguration
from weasyprint.urls import URLFetcher

from orders.customer_papers import COLLECTION, CONFIRMATION, DELIVERY, MEASUREMENTS

from . import codes, office_papers, pack_label, paper, working_paper

FONTS = settings.BASE_DIR / "static" / "fonts"
ROOMY_INSTRUCTION = 70
"""A longer special instruction always takes so much of a ticket that its small print is set tighter at once."""
LABELS_AT_ONCE = 20
"""So many are laid out as one document: quicker than one by one, and short enough to be left between."""


def in_the_workshops_language(printed):
    """Paper is for everybody: whoever prints it, it speaks the workshop's language."""

    @wraps(printed)
    def said(**given):
        with translation.override(settings.LANGUAGE_CODE):
            return printed(**given)

    return said


@in_the_workshops_language
def ticket_pdf(*, blinds, at, step=None) -> bytes:
    """The work tickets of `blinds` (a queryset), A4 portrait, one page each, printed at `at`.

    `step` is called with the number of tickets that are laid out so far.
    """
    return _joined([_ticket(blind, at=at) for blind in _counted(blinds.for_paper(), step)])


@in_the_workshops_language
def rail_labels_pdf(*, blinds, at) -> bytes:
    """The labels that stick on the rails of `blinds` (a queryset), 100 x 25 mm, one page each."""
    return _joined(_labels(blinds, at=at, kinds=("rail",)))


@in_the_workshops_language
def pack_labels_pdf(*, blinds, at) -> bytes:
    """The labels that go on the packs of `blinds` (a queryset), 100 x 70 mm, one page each."""
    return _joined(_labels(blinds, at=at, kinds=("pack",)))


@in_the_workshops_language
def labels_pdf(*, blinds, at, step=None) -> bytes:
    """All rail labels of `blinds` (a queryset), then all their pack labels, each page of its own label's size.

    `step` is called with the number of blinds whose labels are laid out so far.
    """
    return _joined(_labels(blinds, at=at, kinds=("rail", "pack"), step=step))


def working_pdf(*, blinds, at) -> bytes:
    """How every figure of `blinds` (a queryset) came about, A4 portrait, as many pages a blind as that takes."""
    papers = ([working_paper.working_of(blind)] for blind in blinds.for_paper())
    return _joined([_laid_out("labels/working.html", each, at=at) for each in papers])


def office_paper_pdf(*, asked, replaces=None, at) -> bytes:
    """One paper for a customer (an `office_papers.OfficePaper`), A4 portrait, as many pages as its lines take.

    `replaces`: the moment at which another version of it was sent last. Wholly in English, as the office's pages are.
    """
    content = {
        **asked.content,
        "address_size": office_papers.address_size(asked.content["address"]),
        "mark": asked.mark,
        "replaces": replaces and timezone.localtime(replaces),
    }
    if asked.kind == MEASUREMENTS.key:
        drawn = zip(content["lines"], asked.sketches(), strict=True)
        content["lines"] = [{**line, "sketch": sketch} for line, sketch in drawn]
    with translation.override(office_papers.ENGLISH):
        return _joined([_laid_out(f"labels/{OFFICE_TEMPLATES[asked.kind]}.html", [content], at=at)])


OFFICE_TEMPLATES = {
    MEASUREMENTS.key: "measurements",
    CONFIRMATION.key: "confirmation",
    COLLECTION.key: "handing_over",
    DELIVERY.key: "handing_over",
}


@in_the_workshops_language
def badge_pdf(*, person, code, at) -> bytes:
    """The badge that says `code`, 85.6 x 54 mm as an identity card: ISO/IEC 7810, ID-1."""
    badge = {
        "person": person,
        "code128": codes.code128_svg(code, dots=3, height_mm=15),
        "workshop": settings.WORKSHOP_NAME,
    }
    return _joined([_laid_out("labels/badge.html", [badge], at=at)])


def _ticket(blind, *, at):
    """One ticket laid out; its small print is set tighter where it would spill."""
    papers = [paper.ticket_of(blind)]
    document = _laid_out("labels/tickets.html", papers, at=at, tight=len(blind.special_instruction) > ROOMY_INSTRUCTION)
    return document if len(document.pages) == 1 else _laid_out("labels/tickets.html", papers, at=at, tight=True)


def _labels(blinds, *, at, kinds, step=None):
    blinds = list(blinds.for_paper())
    papers_of = {"rail": paper.rail_of, "pack": pack_label.pack_of}
    sheets = [
        (kind, blinds[first : first + LABELS_AT_ONCE])
        for kind in kinds
        for first in range(0, len(blinds), LABELS_AT_ONCE)
    ]
    documents = []
    for kind, part in sheets:
        documents.append(_laid_out(f"labels/{kind}_labels.html", [papers_of[kind](blind) for blind in part], at=at))
        if step:
            step(len(blinds) * len(documents) // len(sheets))
    return documents


def _counted(blinds, step):
    """Each of `blinds`; before the next one, `step` is told how many are done."""
    for done, blind in enumerate(blinds):
        if step:
            step(done)
        yield blind


def _joined(documents):
    """One PDF of these documents, which are gone after it. Raises ValueError where there is none."""
    if not documents:
        raise ValueError("There is nothing to print: no blind was chosen. Release the order first.")
    pdf = documents[0].copy([page for document in documents for page in document.pages]).write_pdf()
    # What was laid out refers to itself, 5 MB for each ticket: it would stay until Python looks for such by itself.
    documents.clear()
    gc.collect(1)
    return pdf


def _laid_out(template, papers, *, at, tight=False):
    face, fonts = _face()
    page = render_to_string(template, {"papers": papers, "printed_at": timezone.localtime(at), "tight": tight})
    return HTML(string=page, url_fetcher=_own_files()).render(stylesheets=[face], font_config=fonts)


@cache
def _face():
    fonts = FontConfiguration()
    return CSS(filename=FONTS / "ticket.css", font_config=fonts, url_fetcher=_own_files()), fonts


def _own_files():
    """Lets a paper load our own files and drawings and nothing else; one that is missing stops the print."""
    return URLFetcher(allowed_protocols=("file", "data"), fail_on_errors=True)
