"""Taking orders in from a customer's file: looked at first, all of it or nothing, and once."""

import datetime as dt
import threading
from dataclasses import replace

import pytest
from django.db import connection
from django.urls import reverse
from django.utils import timezone

from calc.system import DEMO_38
from orders import calendar, intake
from orders.importing import taking
from orders.models import Customer, CustomersColumns, CustomersFile, Order, OrderLine, SystemRevision
from orders.questions import unanswered
from tests import factories
from tests.orders.files_page import chosen, pressed, uploaded
from tests.orders.looked_at import catalogue
from tests.orders.made_files import BAY, HEADS, STUDY, TWO, row, separated
from tests.orders.pages import in_days, page_of, queries_of

pytestmark = pytest.mark.django_db


def test_a_file_is_shown_with_its_figures_and_nothing_is_ordered_before_it_is_taken_in(client, customer):
    page = chosen(client, customer, separated()).content.decode()
    # Recess clearances 10 and 12 mm, invented for the demo system.
    assert "1820 × 1588" in page
    assert "1210.5 × 1400" in page
    assert "rail 1814, " in page
    assert not Order.objects.exists()


def test_taken_in_it_is_one_draft_order_with_the_customers_reference(client, customer, sales):
    answer = pressed(client, chosen(client, customer, separated()), due_on=in_days(30).isoformat())
    order = Order.objects.get()
    assert (order.state, order.customer, order.reference) == (Order.DRAFT, customer, "Flat 2")
    assert (order.due_on, order.entered_by) == (in_days(30), sales)
    assert list(order.lines.in_order().values_list("position", "room", "quantity")) == [(1, "Bay", 2), (2, "Study", 1)]
    assert answer.redirect_chain == [(order.get_absolute_url(), 302)]
    assert "march.csv is taken in: Order 0001" in answer.content.decode()


def test_each_reference_makes_an_order_and_a_day_in_the_file_is_promised(client, customer):
    day = in_days(40)
    rows = [[*HEADS, "Wanted by"], [*BAY, day.isoformat()], [*row(STUDY, Ref="Flat 7"), ""], [*BAY, ""]]
    pressed(client, chosen(client, customer, separated(rows)), due_on=in_days(30).isoformat())
    found = [(order.reference, order.lines.count(), order.due_on) for order in Order.objects.order_by("number")]
    assert found == [("Flat 2", 2, day), ("Flat 7", 1, in_days(30))]


def test_two_days_wanted_for_one_order_are_refused_with_both_rows(client, customer):
    days = [in_days(number).isoformat() for number in (40, 41)]
    page = chosen(client, customer, separated([[*HEADS, "Due"], *([*BAY, day] for day in days)])).content.decode()
    assert f"Row 3, column N, Wanted by</a></b> “{days[1]}”: Row 2 of the same order says otherwise" in page


def test_one_wrong_row_keeps_all_of_them_out(client, customer):
    answer = chosen(client, customer, separated([*TWO, row(Width="wide")]))
    page = answer.content.decode()
    assert "1 thing to put right before anything is taken in" in page
    assert 'value="take"' not in page
    refused = pressed(client, answer)
    assert refused.status_code == 409
    assert "Row 4, column E, Width “wide”: “wide” is not a length" in refused.content.decode()
    assert not Order.objects.exists()


def test_rows_are_judged_by_the_constants_in_force_when_they_are_taken_in(client, customer):
    answer = chosen(client, customer, separated())
    assert answer.context["preview"].ready
    narrower = replace(DEMO_38, max_width_mm=1500)
    SystemRevision.objects.update(constants=narrower.to_dict())
    refused = pressed(client, answer)
    assert refused.status_code == 409
    assert "Row 2, column E, Width “1830”: " in refused.content.decode()
    assert not Order.objects.exists()


def test_a_row_left_out_no_longer_stands_in_the_way(client, customer):
    answer = chosen(client, customer, separated([*TWO, row([""] * 13, Room="Total", Qty="3")]))
    again = pressed(client, answer, then="look", left_out="4")
    assert again.context["preview"].ready
    pressed(client, again)
    assert OrderLine.objects.count() == 2


def test_what_was_changed_is_looked_at_before_it_is_taken_in(client, customer):
    answer = pressed(client, chosen(client, customer, separated()), unit_4="cm")
    assert not Order.objects.exists()
    page = answer.content.decode()
    assert "Nothing is taken in yet: look at the rows as they are read now." in page
    assert "no width is over 10000 mm" in page


def test_a_heading_that_is_not_known_is_chosen_once_and_remembered(client, customer):
    rows = [row(HEADS, Width="X1", Drop="X2"), row(Width="183", Drop="160")]
    answer = chosen(client, customer, separated(rows))
    assert "It gives no width and no drop" in answer.content.decode()
    answer = pressed(client, answer, then="look", column_4="width", unit_4="cm", column_5="drop", unit_5="cm")
    assert answer.context["preview"].ready
    pressed(client, answer)
    later = chosen(client, customer, separated([*rows, row(Room="Hall", Width="120", Drop="140")]), name="april.csv")
    assert later.context["preview"].ready
    assert [each.line.width_mm for each in later.context["preview"].rows] == [1830, 1200]


def test_each_customers_heads_are_remembered_apart(client, customer):
    rows = [row(HEADS, Width="X1", Drop="X2"), BAY]
    pressed(client, chosen(client, customer, separated(rows)), then="look", column_4="width", column_5="drop")
    other = factories.customer(name="Fennel Yard Homes")
    assert not chosen(client, other, separated(rows)).context["preview"].ready


def test_what_is_usual_stands_in_and_is_remembered_save_size_basis_hand_and_reference(client, customer):
    rows = [[cell for place, cell in enumerate(line) if place not in (0, 3, 8, 9)] for line in (HEADS, BAY)]
    usual = {"usual_size_basis": "recess", "usual_hand": "left", "usual_draw": "split", "usual_reference": "Mews"}
    answer = pressed(client, chosen(client, customer, separated(rows)), then="look", **usual)
    assert answer.context["preview"].ready
    pressed(client, answer)
    line = OrderLine.objects.select_related("order").get()
    assert (line.size_basis, line.hand, line.draw, line.order.reference) == ("recess", "left", "split", "Mews")
    assert CustomersColumns.objects.get(customer=customer).usual == {"draw": "split"}
    later = chosen(client, customer, separated([*rows, rows[1]])).context["preview"]
    assert {problem.title for problem in later.problems} == {"Size basis", "Hand"}


def test_a_row_of_heads_further_down_is_chosen_and_its_columns_are_found_anew(client, customer):
    rows = [["Width", "Drop", "Room"], ["of what we sell"], HEADS, BAY]
    answer = chosen(client, customer, separated(rows))
    assert answer.context["preview"].layout.head == 3
    answer = pressed(client, answer, then="look", head="1")
    assert answer.context["preview"].layout.columns[0].field == "width"
    answer = pressed(client, answer, then="look", head="3")
    assert answer.context["preview"].ready


def test_the_same_file_again_says_which_order_it_made_and_is_taken_only_on_purpose(client, customer):
    pressed(client, chosen(client, customer, separated()))
    answer = chosen(client, customer, separated(), name="march copy.csv")
    said = f"This very file was taken in on {calendar.said(timezone.localdate())} by nora as order 0001."
    assert said in answer.content.decode()
    refused = pressed(client, answer)
    assert refused.status_code == 409
    assert f"{said} Tick that it is meant to be taken in again, or leave it." in refused.content.decode()
    assert Order.objects.count() == 1
    pressed(client, answer, again="on")
    assert Order.objects.count() == 2


@pytest.mark.parametrize(("zone", "day"), [("Pacific/Auckland", "Thursday 5"), ("Europe/London", "Wednesday 4")])
def test_the_day_on_which_a_file_was_taken_in_is_the_workshops_own(customer, sales, zone, day):
    at = dt.datetime(2026, 3, 4, 20, 0, tzinfo=dt.UTC)
    kept = taking.keep(customer=customer, name="march.csv", content=separated(), by=sales, at=at)
    taking.take_in(file=kept, due_on=factories.DUE, by=sales, at=at, today=factories.AT.date())
    with timezone.override(zone):
        assert f"was taken in on {day} March 2026 by nora" in taking.said_taken(CustomersFile.objects.get())


def test_the_same_file_from_another_customer_is_another_file(client, customer):
    pressed(client, chosen(client, customer, separated()))
    other = factories.customer(name="Fennel Yard Homes")
    pressed(client, chosen(client, other, separated()))
    assert Order.objects.filter(customer=other).count() == 1


def test_pressed_twice_it_is_taken_in_once(client, customer):
    answer = chosen(client, customer, separated())
    first, second = (pressed(client, answer) for _ in range(2))
    assert Order.objects.count() == 1
    assert first.redirect_chain == second.redirect_chain


@pytest.mark.django_db(transaction=True)
def test_two_desks_that_take_the_same_file_in_at_once_make_one_order(sales):
    catalogue()
    kept = [
        taking.keep(customer=factories.customer(), name=name, content=separated(), by=sales, at=timezone.now())
        for name in ("march.csv", "march copy.csv")
    ]
    told, together = [], threading.Barrier(2)

    def press(file):
        together.wait()
        try:
            given = {"due_on": in_days(30), "at": timezone.now(), "today": timezone.localdate()}
            told.append(taking.take_in(file=file, by=sales, **given))
        except intake.Refused as refused:
            told.append(refused)
        finally:
            connection.close()

    pressing = [threading.Thread(target=press, args=[file]) for file in kept]
    for each in pressing:
        each.start()
    for each in pressing:
        each.join()
    assert Order.objects.count() == 1
    (refused,) = [each for each in told if isinstance(each, intake.Refused)]
    assert "This very file was taken in on" in str(refused)


def test_a_file_that_another_desk_put_away_is_refused_with_the_reason(customer, sales):
    kept = taking.keep(customer=customer, name="march.csv", content=separated(), by=sales, at=timezone.now())
    CustomersFile.objects.all().delete()
    given = {"due_on": in_days(30), "at": timezone.now(), "today": timezone.localdate()}
    with pytest.raises(intake.Refused, match="march.csv was put away at another desk meanwhile. Choose it again."):
        taking.take_in(file=kept, by=sales, **given)


def test_flats_with_the_same_windows_in_one_file_are_not_taken_for_one_order_entered_twice(client, customer, sales):
    pressed(client, chosen(client, customer, separated([HEADS, row(Ref="Flat 2"), row(Ref="Flat 3")])))
    first, second = Order.objects.order_by("number")
    assert [unanswered(order=order) for order in (first, second)] == [[], []]
    # Typed once more after the file, it is asked about.
    again = factories.order(by=sales, customer=customer, at=second.entered_at)
    (line,) = second.lines.in_order()
    line.pk = line.position = None
    line._state.adding = True
    intake.save_line(order=again, line=line)
    assert "has the same line" in unanswered(order=again)[0].message


def test_the_bytes_are_forgotten_once_it_is_taken_in_and_a_file_nobody_takes_after_a_week(client, customer, sales):
    pressed(client, chosen(client, customer, separated()))
    assert bytes(CustomersFile.objects.get().content) == b""
    week_ago = timezone.now() - dt.timedelta(days=7, minutes=1)
    old = taking.keep(customer=customer, name="old.csv", content=separated(by=";"), by=sales, at=week_ago)
    chosen(client, customer, separated(by="\t"))
    assert not CustomersFile.objects.filter(pk=old.pk).exists()
    assert CustomersFile.objects.count() == 2


def test_a_file_is_put_away(client, customer):
    answer = chosen(client, customer, separated())
    page = pressed(client, answer, then="forget").content.decode()
    assert "march.csv is put away. Nothing was taken in." in page
    assert not CustomersFile.objects.exists()


def test_a_file_that_cannot_be_read_is_refused_beside_its_field(client, customer):
    answer = client.post(reverse("files", args=[customer.pk]), uploaded("order.pdf", b"%PDF-1.7"))
    assert answer.status_code == 422
    assert "order.pdf: The file is a PDF, no table." in answer.content.decode()
    assert not CustomersFile.objects.exists()


def test_no_file_and_an_empty_one_are_refused_too(client, customer):
    answer = client.post(reverse("files", args=[customer.pk]), {})
    assert "Choose the file that the customer sent." in answer.content.decode()
    answer = client.post(reverse("files", args=[customer.pk]), uploaded("order.csv", b""))
    assert "order.csv: The file is empty." in answer.content.decode()


def test_of_a_file_that_is_far_too_large_no_more_than_6_mb_is_taken_from_the_network(client, customer, monkeypatch):
    seen = []
    keep = taking.keep
    monkeypatch.setattr(taking, "keep", lambda **given: seen.append(len(given["content"])) or keep(**given))
    answer = client.post(reverse("files", args=[customer.pk]), uploaded("huge.csv", b"1,2\n" * 4_000_000))
    assert "huge.csv: The file is larger than 5 MB" in answer.content.decode()
    assert 5_000_000 < seen[0] < 6_100_000


def test_a_day_that_has_gone_is_not_promised(client, customer):
    answer = pressed(client, chosen(client, customer, separated()), due_on=in_days(-1).isoformat())
    assert answer.status_code == 422
    assert "has gone. Promise today or a later day." in answer.content.decode()
    assert not Order.objects.exists()


def test_what_a_file_says_is_shown_as_text_alone(client, customer):
    page = chosen(client, customer, separated([HEADS, row(Room="<script>x</script>", Hand="<b>")])).content.decode()
    assert "<script>x" not in page
    assert "“&lt;b&gt;”" in page


def test_a_file_of_two_hundred_rows_asks_the_database_no_more_than_one_of_two(client, customer):
    small = chosen(client, customer, separated()).context["file"]
    large = chosen(client, customer, separated([HEADS, *[BAY] * 200])).context["file"]
    assert queries_of(client, small.get_absolute_url()) == queries_of(client, large.get_absolute_url())


def test_the_customers_files_are_listed_with_what_they_made(client, customer):
    pressed(client, chosen(client, customer, separated()))
    chosen(client, customer, separated(by=";"), name="april.csv")
    page = page_of(client, "files", customer.pk)
    assert "april.csv" in page
    assert f'<a href="{Order.objects.get().get_absolute_url()}">0001</a>' in page
    assert Customer.objects.count() == 1
