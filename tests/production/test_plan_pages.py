"""What the office reads of the plan: days ahead, minutes, people at work, an order's earliest day, who will be late."""

import uuid

import pytest
from django.urls import reverse
from django.utils import timezone

from orders import calendar, intake
from orders.models import Order, PromiseGiven
from production import crew, planning, promising, route, worktimes
from production.models import Absence, Crew
from production.route import RAILING
from tests import factories
from tests.orders.grid_rows import row, seen
from tests.orders.pages import in_days, page_of, queries_of

pytestmark = pytest.mark.django_db
HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture(autouse=True)
def small_workshop(db):
    """One person at each station, every day from tomorrow on, no days in hand: what the plan says doesn't hang on the
    day and hour of the test."""
    calendar.set_week(weekdays=list(range(7)), country="", subdivision="", days_in_hand=0)
    calendar.close(first_day=in_days(0), last_day=in_days(0), reason="Stocktaking")
    crew.set_crews({key: {"people": 1, "minutes": 450} for key in route.STATION})


@pytest.fixture
def manager(client):
    found = factories.person("manager", name="ida")
    client.force_login(found)
    return found


def draft(by, quantity=3, days=14, **fields):
    return factories.order(by=by, due_on=in_days(days), lines=[{"quantity": quantity}], **fields)


def confirmed(by, **fields):
    order = draft(by, **fields)
    intake.confirm(order=order, by=by, at=timezone.now())
    return order


def booked(by, quantity):
    """An order of so many blinds, promised for the earliest day that can be kept."""
    order, at = draft(by, quantity), timezone.now()
    return promising.promise(order=order, day=promising.quote(order=order, at=at).day, by=by, at=at)


def press(client, order, day, **also):
    return client.post(reverse("order-promise-day", args=[order.number]), {"due_on": f"{day}", **also}, follow=True)


def said(day):
    return f"{day:%A} {day.day} {day:%B %Y}"


def fresh(order):
    return Order.objects.get(pk=order.pk)


# An order's page.


def test_a_draft_s_page_says_the_earliest_day_and_how_the_plan_comes_to_it(client, sales):
    order = draft(sales)
    page = page_of(client, "order", order.number)
    quote = promising.quote(order=order, at=timezone.now())
    assert f"Earliest day the workshop can keep: <b>{said(quote.day)}</b>" in page
    assert "No station is full before it" in page
    way = page[page.index("How the plan comes to it") :]
    assert all(place.name in way for place in route.STATIONS)


def test_it_says_which_station_is_full_and_until_when(client, sales):
    booked(sales, 10)
    order = draft(sales, quantity=9)
    page = page_of(client, "order", order.number)
    held = promising.quote(order=order, at=timezone.now()).held_by
    name = route.STATION[held.station].name
    assert f"{name} is full until {said(held.full[-1])} ({len(held.full)} of {len(held.full)} days)." in page


def test_an_order_without_lines_is_told_no_day(client, sales):
    order = factories.order(by=sales, due_on=in_days(14))
    assert "Earliest day" not in page_of(client, "order", order.number)


def test_the_earliest_day_is_promised_by_one_button(client, sales):
    order = draft(sales)
    day = promising.quote(order=order, at=timezone.now()).day
    page = press(client, order, day).content.decode()
    assert fresh(order).due_on == day
    assert f"is promised for {said(day)}." in page
    assert f"Promised for <b>{said(day)}</b>: the plan keeps it" in page
    assert "nora" in page[page.index("What was promised") :]


def test_too_early_a_day_says_whom_it_makes_late_and_asks(client, sales):
    first = booked(sales, 10)
    order, day = draft(sales, quantity=9, rush=True), first.due_on
    answer = press(client, order, day)
    page = answer.content.decode()
    assert answer.status_code == 409
    assert f"{said(day)} can’t be kept" in page
    assert f"{first.number:04d}" in page
    assert first.customer.name in page
    assert "1 working day late" in page
    assert f"Promise {said(day)} all the same" in page
    assert fresh(order).due_on == in_days(14)

    token = answer.context["outlook"].token
    page = press(client, order, day, agreed=token).content.decode()
    assert fresh(order).due_on == day
    assert f"Made order {first.number:04d}, {first.customer.name}, 1 working day late." in page
    assert order.promises_given.get().makes_late == [[first.number, first.customer.name, 1]]
    assert "1 order will be late by the plan" in page_of(client, "orders")


def test_a_day_that_is_none_is_refused_in_words(client, sales):
    order = draft(sales)
    assert "is no day" in press(client, order, "soon").content.decode()
    assert "has gone" in press(client, order, in_days(-1)).content.decode()
    assert fresh(order).due_on == in_days(14)


def test_confirming_goes_by_the_plan(client, sales):
    order = draft(sales)
    page = page_of(client, "order", order.number)
    assert '<button class="main">Confirm the order</button>' in page
    page = client.post(reverse("order-confirm", args=[order.number]), follow=True).content.decode()
    assert fresh(order).state == Order.CONFIRMED
    assert "Release it when the workshop may start." in page
    assert PromiseGiven.objects.get().due_on == order.due_on


def test_confirming_for_a_day_that_can_t_be_kept_offers_the_earliest(client, sales):
    order = draft(sales, quantity=30, days=1)
    address = reverse("order-confirm", args=[order.number])
    answer = client.post(address)
    page = answer.content.decode()
    earliest = answer.context["outlook"].quote.day
    assert f"Promise {said(earliest)} and confirm" in page
    assert fresh(order).state == Order.DRAFT
    client.post(address, {"due_on": f"{earliest}"})
    assert (fresh(order).state, fresh(order).due_on) == (Order.CONFIRMED, earliest)


def test_a_released_order_s_page_says_when_the_plan_has_it_packed(client, sales):
    order = factories.released(by=sales, due_on=in_days(1), lines=[{"quantity": 20}])[0].order
    forecast = planning.read(at=timezone.now()).forecasts[order.number]
    page = page_of(client, "order", order.number)
    assert f"packed on <b>{said(forecast.finished)}</b>" in page
    assert f"{forecast.late_days} working days late" in page
    assert "Earliest day" not in page


def test_a_promise_in_doubt_is_looked_at_with_the_forecast(client, sales):
    order = factories.released(by=sales, due_on=in_days(9))[0].order
    intake.doubt_promise(order=order, because="0001-1 was sent back", at=timezone.now())
    page = page_of(client, "order", order.number)
    doubt = page[page.index("Promise to be looked at") :]
    finished = planning.read(at=timezone.now()).forecasts[order.number].finished
    assert f"By the plan it is packed on <b>{said(finished)}</b>, in time." in doubt[: doubt.index("</section>")]


def test_the_part_of_the_page_is_the_page_s_own(client, sales):
    order = draft(sales)
    part = client.get(reverse("order-earliest", args=[order.number]), **HTMX).content.decode()
    tokenless = part.split('name="csrfmiddlewaretoken"')[0].strip()
    assert tokenless.startswith("<section")
    assert tokenless in page_of(client, "order", order.number)


def test_an_order_s_page_takes_as_many_queries_with_many_orders_booked(client, sales):
    order = draft(sales)
    confirmed(sales)
    factories.released(by=sales, due_on=in_days(9))
    address = reverse("order", args=[order.number])
    before = queries_of(client, address)
    for _ in range(5):
        confirmed(sales)
        factories.released(by=sales, due_on=in_days(9))
    assert queries_of(client, address) == before


# Who will be late.


def test_the_list_of_orders_names_those_that_will_be_late_and_asks_again(client, sales):
    assert "will be late" not in page_of(client, "orders")
    order = confirmed(sales, quantity=30, days=1)
    answer = client.get(reverse("plan-late"), **HTMX)
    part = answer.content.decode()
    assert "1 order will be late by the plan" in part
    assert f"{order.number:04d}" in part
    seen = answer.context["late_seen"]
    assert client.get(reverse("plan-late"), {"seen": seen}, **HTMX).status_code == 204
    confirmed(sales, quantity=30, days=1)
    assert client.get(reverse("plan-late"), {"seen": seen}, **HTMX).status_code == 200


def test_the_list_of_orders_takes_as_many_queries_with_many_that_will_be_late(client, sales):
    confirmed(sales, quantity=30, days=1)
    before = queries_of(client, "/orders/")
    for _ in range(5):
        confirmed(sales, quantity=30, days=1)
    assert queries_of(client, "/orders/") == before


def test_the_day_sheet_names_what_will_be_late_and_not_what_is_late_already(client, manager):
    coming = confirmed(manager, quantity=30, days=1)
    gone = confirmed(manager, quantity=1, days=-1)
    sheet = client.get(reverse("day")).context["sheet"]
    assert [each.order.number for each in sheet.to_be_late] == [coming.number]
    assert [each.number for each in sheet.late] == [gone.number]
    assert "Will be late by the plan" in page_of(client, "day")
    yesterday = client.get(reverse("day"), {"on": in_days(-1).isoformat()})
    assert yesterday.context["sheet"].to_be_late == ()


# Days ahead.


def test_the_days_ahead_say_of_each_station_whether_it_is_full_or_free(client, sales):
    crew.add_absence(person=factories.person("maker"), station="packing", first_day=in_days(1), last_day=in_days(1))
    confirmed(sales, quantity=20)
    answer = client.get(reverse("plan"))
    page = answer.content.decode()
    tomorrow = next(each for each in answer.context["days"] if each["day"] == in_days(1))
    words = [cell.words for cell in tomorrow["cells"]]
    assert words[0] == "full"
    assert words[-1] == "nobody"
    assert "min free" in page
    first = {each["name"]: each["first_free"] for each in answer.context["stations"]}
    assert first["Railing"] > in_days(1)


# People at work.


def crews_typed(**changed):
    typed = {f"{key}-{name}": value for key in route.STATION for name, value in (("people", "2"), ("minutes", "480"))}
    return {**typed, **changed}


def test_the_days_ahead_say_where_not_all_fits_and_the_fewest_that_would_have_to_move(client, sales):
    page = page_of(client, "plan")
    assert "Not all that is promised fits" not in page
    small, large = draft(sales, 1, days=2), draft(sales, 99, days=2)
    for order in (small, large):
        intake.confirm(order=order, by=sales, at=timezone.now())
    page = page_of(client, "plan")
    told = planning.read(at=timezone.now()).overload
    assert told.there_minutes == 2 * 450
    assert f"{told.promised_minutes} minutes are promised and 900 are there" in page
    assert told.moving == (large.number,)


def test_the_crews_are_set_together(client, manager):
    client.post(reverse("people-at-work"), crews_typed(**{"railing-people": "3"}))
    assert (Crew.objects.get(station=RAILING).people, Crew.objects.get(station="packing").minutes) == (3, 480)
    assert 'value="3"' in page_of(client, "people-at-work")


@pytest.mark.parametrize("typed", ["", "many", "-1", "100"])
def test_crews_that_can_t_be_are_refused_together_and_nothing_typed_is_lost(client, manager, typed):
    answer = client.post(reverse("people-at-work"), crews_typed(**{"railing-people": typed, "vanes-people": "5"}))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "People, railing" in page
    assert "Type a whole number from 0 to 99." in page
    assert 'value="5"' in page
    assert Crew.objects.get(station="vanes").people == 1


def test_an_absence_is_noted_and_removed(client, manager):
    maker = factories.person("maker", first_name="Tamsin", last_name="Croyle")
    typed = {"person": maker.pk, "station": RAILING, "first_day": in_days(2), "last_day": in_days(4)}
    page = client.post(reverse("absence-new"), typed, follow=True).content.decode()
    assert "Tamsin Croyle is away until" in page
    client.post(reverse("absence-remove", args=[Absence.objects.get().pk]))
    assert not Absence.objects.exists()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"person": ""}, "Choose who is away."),
        ({"station": ""}, "Choose the station that goes without."),
        ({"first_day": ""}, "Choose the first day away."),
        ({"last_day": in_days(1)}, "That is before the first day away."),
    ],
)
def test_an_absence_that_can_t_be_says_why(client, manager, given, said):
    maker = factories.person("maker")
    typed = {"person": maker.pk, "station": RAILING, "first_day": in_days(2), "last_day": in_days(4), **given}
    answer = client.post(reverse("absence-new"), typed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Absence.objects.exists()


def test_only_people_who_work_at_stations_can_be_missed_there(client, manager):
    clerk = factories.person("sales", first_name="Orla", last_name="Pennick")
    assert "Orla Pennick" not in page_of(client, "people-at-work")
    typed = {"person": clerk.pk, "station": RAILING, "first_day": in_days(2), "last_day": ""}
    assert client.post(reverse("absence-new"), typed).status_code == 422


# Minutes.


def test_the_minutes_say_which_count_and_from_how_many_they_are_learned(client, manager, monkeypatch):
    kind = worktimes.KINDS[0]
    table = worktimes.table({(RAILING, kind): [70] * 9, ("vanes", kind): [70] * 3})
    monkeypatch.setattr(planning, "minutes_table", lambda at: table)
    cells = dict(client.get(reverse("plan-minutes")).context["rows"][0]["cells"])
    page = " ".join(page_of(client, "plan-minutes").split())
    assert (cells["Railing"].counts, cells["Vanes"].counts) == (70, 25)
    assert "learned from 9; began with 35" in page
    assert "to begin with; 3 took 70" in page
    assert "invented figures that have no source" in page


def test_a_day_that_only_takes_days_in_hand_is_not_said_to_break_a_promise(client, sales):
    calendar.set_week(weekdays=list(range(7)), country="", subdivision="", days_in_hand=2)
    order = draft(sales, quantity=1, days=2)
    answer = press(client, order, order.due_on)
    assert answer.status_code == 409
    page = answer.content.decode()
    assert "can only be kept out of the working days in hand" in page
    assert "within the working days in hand" in page
    assert " late" not in page[page.index("by the plan:") : page.index("Earliest day")]


# While lines are entered.


def test_the_grid_says_the_earliest_day_for_the_rows_as_they_are_typed(client, sales):
    order = factories.order(by=sales, due_on=in_days(14))
    booked(sales, 4)

    def told(quantity):
        sent = {"seen": seen(client, order), "form_id": str(uuid.uuid4()), **row(0, quantity=str(quantity))}
        return client.post(reverse("lines-figures", args=[order.number]), sent).content.decode()

    few, many = (promising.quote(order=draft(sales, quantity), at=timezone.now()).day for quantity in (1, 12))
    assert few < many
    assert f"Earliest day the workshop can keep: <b>{said(few)}</b>" in told(1)
    assert f"Earliest day the workshop can keep: <b>{said(many)}</b>" in told(12)
    assert not order.lines.exists()
    assert "Earliest day" not in page_of(client, "lines", order.number)


def test_another_day_is_asked_for_with_the_forecast_in_view(client, sales):
    order = factories.released(by=sales, due_on=in_days(9))[0].order
    finished = planning.read(at=timezone.now()).forecasts[order.number].finished
    assert f"By the plan: packed on <b>{said(finished)}</b>, in time." in page_of(client, "change-head", order.number)
