"""A promise once given is not broken by changing another order: whom it would make late is said and asked first."""

import datetime as dt

import pytest
from django.urls import reverse
from django.utils import timezone

from orders import calendar, intake
from orders.calendar import said
from orders.models import Order, PromiseGiven
from production import amend, amend_outlook, crew, planning, promising, release, route
from production.models import Amendment, Blind
from tests import factories
from tests.orders.grid_rows import row, seen
from tests.orders.pages import in_days
from tests.production.amending import ask, ask_off, plan, state_of, typed

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def small_workshop(db):
    """One person at each station, every day from tomorrow on, no days in hand."""
    calendar.set_week(weekdays=list(range(7)), country="", subdivision="", days_in_hand=0)
    calendar.close(first_day=in_days(0), last_day=in_days(0), reason="Stocktaking")
    crew.set_crews({key: {"people": 1, "minutes": 450} for key in route.STATION})


@pytest.fixture
def manager(client):
    found = factories.person("manager", "sales", name="ida")
    client.force_login(found)
    return found


def promised(by, quantity, *, confirm=True):
    """A confirmed order, promised for the earliest day that can be kept."""
    at = timezone.now()
    order = factories.order(by=by, due_on=in_days(14), lines=[{"quantity": quantity}])
    return promising.promise(order=order, day=promising.quote(order=order, at=at).day, by=by, at=at, confirm=confirm)


def two_in_a_row(by):
    """Two confirmed orders; the second one's promise leaves no minute to spare behind the first."""
    return promised(by, 12), promised(by, 10)


def released(by):
    """The same with the first one's blinds at work."""
    first, second = two_in_a_row(by)
    blinds = release.release(order=first, by=by, at=timezone.now())
    return Order.objects.get(pk=first.pk), second, blinds


def late():
    return {each.order.number for each in planning.read(at=timezone.now()).late}


def asks_about(answer, other):
    """Whether the page says that `other` would be late, and asks."""
    page = answer.content.decode()
    assert answer.status_code == 409
    assert f"{other.number:04d}</a>, {other.customer.name}, promised for" in page
    assert "late</b>" in page
    assert "Nothing is changed yet." in page
    return page


def all_the_same(client, answer, way):
    """Press 'Change it all the same', which sends what was typed once more."""
    sent = {}
    for name, value in answer.context["sent"]:
        sent.setdefault(name, []).append(value)
    return client.post(way, {**sent, "agreed": answer.context["outlook"].token}, follow=True)


def line_as_typed(order, **given):
    return typed(factories.line(order=order), **given)


def test_a_line_added_to_a_confirmed_order_names_whom_it_makes_late_and_is_not_kept_unasked(client, manager):
    first, second = two_in_a_row(manager)
    way = reverse("line-new", args=[first.number])
    answer = client.post(way, line_as_typed(first, quantity=6))
    page = asks_about(answer, second)
    assert "is added" not in page
    assert first.lines.count() == 1
    page = all_the_same(client, answer, way).content.decode()
    assert "Line 2 is added." in page
    assert page.count("Line 2 is added.") == 1
    assert first.lines.get(position=2).quantity == 6
    assert second.number in late()
    (number, customer, days) = PromiseGiven.objects.filter(order=first).latest("pk").makes_late[0]
    assert (number, customer, days >= 1) == (second.number, second.customer.name, True)


def test_the_earliest_day_is_promised_with_the_change_by_one_button(client, manager):
    first, second = two_in_a_row(manager)
    way, fields = reverse("line-new", args=[first.number]), line_as_typed(first, quantity=6)
    answer = client.post(way, fields)
    day = answer.context["outlook"].quote.day
    assert f"Promise {said(day)} and change it" in answer.content.decode()
    page = client.post(way, {**fields, "move_to": f"{day}"}, follow=True).content.decode()
    assert "Line 2 is added." in page
    assert f"is promised for {said(day)}." in page
    assert (Order.objects.get(pk=first.pk).due_on, late()) == (day, set())
    # Any other day is looked at as well.
    assert client.post(way, {**fields, "move_to": f"{in_days(1)}"}).status_code == 409
    page = client.post(way, {**fields, "move_to": f"{in_days(-1)}"}).content.decode()
    assert "has gone" in page
    assert first.lines.count() == 2
    assert second.number not in late()


def test_a_line_that_fits_is_added_without_a_question(client, manager):
    order = factories.order(by=manager, due_on=in_days(20), lines=[{"quantity": 1}])
    promising.promise(order=order, day=in_days(20), by=manager, at=timezone.now(), confirm=True)
    client.post(reverse("line-new", args=[order.number]), line_as_typed(order))
    assert order.lines.count() == 2
    assert PromiseGiven.objects.count() == 1


def test_the_grid_and_the_line_of_a_confirmed_order_are_asked_about_too(client, manager):
    first, second = two_in_a_row(manager)
    sent = {"seen": seen(client, first), **row(1, quantity="6")}
    way = reverse("lines", args=[first.number])
    answer = client.post(way, sent)
    asks_about(answer, second)
    line = first.lines.get()
    asks_about(client.post(reverse("line", args=[first.number, 1]), typed(line, quantity=18)), second)
    assert first.lines.get().quantity == 12
    all_the_same(client, answer, way)
    assert sum(first.lines.values_list("quantity", flat=True)) == 18


def test_a_draft_that_goes_back_to_the_day_it_was_promised_is_asked_about(client, manager):
    draft = promised(manager, 10, confirm=False)
    day, way = draft.due_on, reverse("order-edit", args=[draft.number])
    fields = {"customer": draft.customer_id, "market": draft.market, "reference": ""}
    assert client.post(way, {**fields, "due_on": f"{in_days(30)}"}).status_code == 302
    other = promised(manager, 10)
    assert other.due_on == day
    answer = client.post(way, {**fields, "due_on": f"{day}"})
    asks_about(answer, other)
    assert Order.objects.get(pk=draft.pk).due_on == in_days(30)


def foreseen(asked):
    """What the page of changes says that accepting it would do, by the plan, or None where nobody loses by it."""
    return amend_outlook.outlooks([plan(asked)], at=timezone.now())[asked.pk]


def assert_it_was_said_before(client, asked, answer):
    """What is asked about on accepting it stood word for word on the page of changes before."""
    expected = foreseen(asked)
    assert f'name="agreed" value="{expected.token}"' in answer.content.decode()
    for name, args in (("changes", []), ("order-changes", [asked.order.number])):
        told = client.get(reverse(name, args=args)).content.decode()
        assert "Accepted, by the plan:" in told
        for each in (*expected.late, *expected.squeezed):
            assert f"{each.number:04d}</a>, {each.customer}" in told


def test_a_line_added_at_work_is_asked_about_when_it_is_accepted(client, manager):
    first, second, _ = released(manager)
    line = factories.line(order=first, quantity=6)
    asked = amend.ask_line(order=first, line=line, because="Mrs Marlow rang", by=manager, at=timezone.now())
    answer = accept(client, asked)
    asks_about(answer, second)
    assert_it_was_said_before(client, asked, answer)
    assert (state_of(asked), Blind.objects.of_order(first).count()) == (Amendment.ASKED, 12)
    all_the_same(client, answer, way_to(asked))
    assert (state_of(asked), Blind.objects.of_order(first).count()) == (Amendment.ACCEPTED, 18)
    assert PromiseGiven.objects.filter(order=first).latest("pk").makes_late[0][0] == second.number


def test_blinds_made_larger_at_work_are_asked_about_when_it_is_accepted(client, manager):
    first, second, blinds = released(manager)
    asked = ask(*blinds, by=manager, at=timezone.now(), width_mm=3000)
    answer = accept(client, asked)
    asks_about(answer, second)
    assert_it_was_said_before(client, asked, answer)
    assert state_of(asked) == Amendment.ASKED
    assert {blind.spec["width_mm"] for blind in Blind.objects.of_order(first)} == {1830}


def test_a_day_brought_forward_at_work_is_asked_about_when_it_is_accepted(client, manager):
    first, second = two_in_a_row(manager)
    release.release(order=second, by=manager, at=timezone.now())
    second = Order.objects.get(pk=second.pk)
    asked = amend.ask_head(order=second, due_on=in_days(1), note="", because="They rang", by=manager, at=timezone.now())
    answer = accept(client, asked)
    page = asks_about(answer, first)
    assert_it_was_said_before(client, asked, answer)
    assert f"{second} itself is packed on" in page
    assert Order.objects.get(pk=second.pk).due_on == second.due_on
    all_the_same(client, answer, way_to(asked))
    assert Order.objects.get(pk=second.pk).due_on == in_days(1)


def test_a_note_or_a_later_day_breaks_no_promise(client, manager):
    first, _, _ = released(manager)
    for due_on, note in ((first.due_on, "Ring first"), (first.due_on + dt.timedelta(days=30), "Ring first")):
        order = Order.objects.get(pk=first.pk)
        asked = amend.ask_head(
            order=order, due_on=due_on, note=note, because="They rang", by=manager, at=timezone.now()
        )
        assert accept(client, asked).status_code == 302
    assert PromiseGiven.objects.filter(order=first).count() == 1


def test_an_order_that_is_late_already_may_be_changed_where_that_makes_nobody_later(client, manager):
    blinds = factories.released(by=manager, due_on=in_days(1), lines=[{"quantity": 30}])
    assert blinds[0].order.number in late()
    asked = ask(blinds[0], by=manager, at=timezone.now(), width_mm=1700)
    assert accept(client, asked).status_code == 302


def test_a_doubted_promise_is_moved_by_the_same_rule(client, manager):
    first, second = two_in_a_row(manager)
    release.release(order=second, by=manager, at=timezone.now())
    order = Order.objects.get(pk=second.pk)
    intake.doubt_promise(order=order, because="A fault", at=timezone.now())
    sent = {"seen": order.promise_doubted_at.isoformat(), "due_on": f"{in_days(1)}"}
    way = reverse("order-promise", args=[second.number])
    answer = client.post(way, sent)
    asks_about(answer, first)
    assert Order.objects.get(pk=second.pk).promise_doubted_at
    all_the_same(client, answer, way)
    assert Order.objects.get(pk=second.pk).due_on == in_days(1)


def test_what_was_agreed_to_holds_for_just_what_was_shown(client, manager):
    first, _ = two_in_a_row(manager)
    way = reverse("line-new", args=[first.number])
    answer = client.post(way, line_as_typed(first, quantity=6))
    crew.set_crews({route.STRINGING: {"people": 1, "minutes": 200}})
    assert all_the_same(client, answer, way).status_code == 409
    assert first.lines.count() == 1


def way_to(asked):
    return reverse("change-accept", args=[asked.order.number, asked.pk])


def accept(client, asked):
    return client.post(way_to(asked), {"seen": plan(asked).mark})


def test_of_a_change_that_costs_nobody_anything_the_page_says_so_and_of_a_cancelled_order_nothing(client, manager):
    *_, blinds = released(manager)
    fewer = ask_off(blinds[0], by=manager, at=timezone.now())
    assert foreseen(fewer) is None
    assert "By the plan nobody is later for it." in client.get(reverse("changes")).content.decode()
    assert accept(client, fewer).status_code == 302
    rest = ask_off(*blinds[1:], by=manager, at=timezone.now())
    assert amend_outlook.outlooks([plan(rest)], at=timezone.now()) == {}


def test_the_plan_foreseen_is_the_plan_that_comes(manager):
    first, _, blinds = released(manager)
    asked = ask(
        *blinds[:3],
        by=manager,
        at=timezone.now(),
        width_mm=1100,
        vane_width_mm=127,
        fabric=factories.fabric(vane_width_mm=127),
    )
    at, found = timezone.now(), plan(asked)
    before = planning.read(at=at)
    (expected,) = [work for work in amend_outlook.accepted(found, before=before).works if work.key == first.number]
    amend.accept(amendment=asked, seen=found.mark, by=manager, at=at)
    (came,) = [work for work in planning.read(at=at).works if work.key == first.number]
    assert expected == came
    assert came.widths == (89, 127)
