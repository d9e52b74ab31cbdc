"""The papers for a customer: to print, to send by e-mail, and what was sent before."""

from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from orders import mail, once
from orders.customer_papers import KIND, kinds_in
from orders.letter_form import LetterForm
from orders.models import IssuedPaper, Letter
from orders.roles import MANAGER, SALES, role_required
from orders.views import works
from orders.views.order import find_order, order_page
from production import sending
from production.letters import first_draft
from production.office_papers import PaperRefused, paper_of

from .papers import pdf_answer


def known_kind(kind):
    if kind not in KIND:
        raise Http404(f"There is no paper called {kind!r}.")
    return KIND[kind]


@role_required(SALES, MANAGER)
@require_safe
@never_cache
def order_paper(request, number, kind):
    """The paper as the order stands now, as A4."""
    known_kind(kind)
    order = find_order(number)
    try:
        asked = paper_of(order=order, kind=kind)
    except PaperRefused as refused:
        return order_page(request, order, problems=refused.problems, status=409)
    if sending.is_long(asked):
        return works.on_the_way(request, sending.begin_printing(asked, by=request.user))
    return pdf_answer(sending.printed(asked), filename=sending.filename(asked))


@role_required(SALES, MANAGER)
@never_cache
def order_paper_send(request, number, kind):
    """Write a letter that takes the paper to the customer, and send it."""
    known_kind(kind)
    order = find_order(number)
    try:
        asked = paper_of(order=order, kind=kind)
    except PaperRefused as refused:
        return order_page(request, order, problems=refused.problems, status=409)
    if request.method != "POST":
        draft = {"to": order.customer.email, "mark": asked.mark, **first_draft(asked)}
        return letter_page(request, asked, LetterForm(initial=draft))
    form = LetterForm(request.POST)
    if not form.is_valid():
        return letter_page(request, asked, form, status=422)
    typed = form.cleaned_data
    if typed["mark"] != asked.mark:
        changed = "What the paper says has changed since this page was opened. Look at it again, then send it."
        return letter_page(request, asked, form.seen_anew(asked.mark), problems=[{"message": changed}], status=409)
    if sending.is_long(asked):
        return works.on_the_way(request, sending.begin_sending(asked, typed, by=request.user))
    return answer(request, order, sending.send(asked, typed, by=request.user))


def letter_page(request, asked, form, *, problems=(), status=200):
    context = {
        "order": asked.order,
        "kind": KIND[asked.kind],
        "asked": asked,
        "form": form,
        "problems": problems,
        "has_server": mail.has_server(),
    }
    return render(request, "paper_send.html", context, status=status)


@role_required(SALES, MANAGER)
@require_POST
def letter_again(request, number, pk):
    """Try a letter once more that did not leave, as it was written and with the very paper that it took."""
    order = find_order(number)
    letter = get_object_or_404(Letter.objects.whole(), pk=pk, paper__order=order)
    kind = letter.paper.get_kind_display().lower()
    try:
        stale = paper_of(order=order, kind=letter.paper.kind).mark != letter.paper.mark
        problems = (
            [f"What the {kind} says has changed since it was written. Send the new one instead."] if stale else []
        )
    except PaperRefused as refused:
        problems = refused.problems
    if problems:
        return order_page(request, order, problems=problems, status=409)
    letters = mail.write(
        paper=letter.paper,
        addresses=[letter.to],
        subject=letter.subject,
        text=letter.text,
        form_id=once.read_key(request.POST.get("form_id")) or once.new_key(),
        by=request.user,
        at=timezone.now(),
    )
    return answer(request, order, letters)


def answer(request, order, letters):
    """Back to the order's page with what became of each letter."""
    for letter in letters:
        what = letter.paper.get_kind_display()
        if letter.outcome == Letter.SENT:
            messages.success(request, f"{what} sent to {letter.to}.")
        elif letter.outcome in Letter.UNDER_WAY:
            messages.info(request, f"{what} to {letter.to} is on its way. What becomes of it is said below.")
            works.follow(request)
        else:
            messages.error(request, f"{what} to {letter.to} was not sent: {letter.reason}. Nothing is lost; try again.")
    return redirect(f"{order.get_absolute_url()}#customer-papers")


@role_required(SALES, MANAGER)
@require_safe
@never_cache
def sent_paper(request, number, pk):
    """A paper byte for byte as it was sent."""
    paper = get_object_or_404(IssuedPaper.objects.select_related("order"), pk=pk, order__number=number)
    return pdf_answer(bytes(paper.pdf), filename=paper.filename)


def papers_of(*, order):
    """The papers that `order` has now, and each letter that was written about it, the newest first."""
    letters = list(Letter.objects.of_order(order))
    marks = marks_now(order, {letter.paper.kind for letter in letters})
    for letter in letters:
        letter.as_it_stands = letter.paper.kind in marks and letter.paper.mark == marks[letter.paper.kind]
        letter.outdated = letter.paper.kind in marks and not letter.as_it_stands
        ended_badly = letter.outcome not in (Letter.SENT, *Letter.UNDER_WAY)
        letter.again = letter.as_it_stands and ended_badly and once.new_key()
    return {
        "order": order,
        "kinds": kinds_in(order.state),
        "letters": letters,
        "under_way": any(letter.outcome in Letter.UNDER_WAY for letter in letters),
    }


def marks_now(order, kinds):
    """The mark that each of these papers would bear now, by its kind; without those that the order can't have."""
    found = {}
    for kind in kinds:
        try:
            found[kind] = paper_of(order=order, kind=kind).mark
        except PaperRefused:
            continue
    return found
