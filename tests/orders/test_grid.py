"""All lines of an order in one grid: what is read, what follows, everything written or nothing."""

import uuid

import pytest
from django.urls import reverse

from orders.models import OrderLine
from tests import factories
from tests.orders.grid_rows import BLANK, figures, row, seen, send, sizes
from tests.orders.pages import page_of, queries_of

pytestmark = pytest.mark.django_db


def test_an_empty_order_offers_rows_with_neither_basis_nor_hand_chosen(client, order):
    grid = client.get(reverse("lines", args=[order.number])).context["grid"]
    assert [row.number for row in grid.rows] == list(range(1, 11))
    assert {row.text(name) for row in grid.rows for name in ("size_basis", "hand", "width_mm")} == {""}
    assert not grid.counting


def test_all_rows_are_saved_in_one_go_and_empty_ones_are_no_lines(client, order):
    answer = send(client, order, row(0), row(1, **BLANK), row(2, room="Bedroom", width_mm="1.2 m", hand="right"))
    assert answer.url == reverse("order", args=[order.number])
    assert sizes(order) == [(1, "Kitchen", "1830.0"), (2, "Bedroom", "1200.0")]
    assert "2 lines added" in client.get(answer.url).content.decode()


def test_one_row_that_cannot_be_made_keeps_every_row_from_being_written_and_loses_nothing(client, order):
    rows = [row(0, room="Bay & <side>"), row(1, width_mm="9000"), row(2, drop_mm="1,5"), row(3, hand="", fabric="")]
    answer = send(client, order, *rows)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert not order.lines.exists()
    assert "Nothing that you typed is lost" in page
    assert "Bay &amp; &lt;side&gt;" in page
    for place, said in (
        ("id_r1-width_mm", "The finished width is 8990 mm"),
        ("id_r2-drop_mm", "no drop is under 100 mm"),
        ("id_r3-hand", "Choose the side of the controls"),
        ("id_r3-fabric", "Choose the fabric"),
    ):
        problem = page[page.index(f'<a href="#{place}">') :]
        assert said in problem[: problem.index("</li>")]
    assert 'value="1,5"' in page
    assert page.count("autofocus") == 1


def test_saving_the_same_page_twice_writes_once(client, order):
    key, print_ = str(uuid.uuid4()), seen(client, order)
    for _ in range(2):
        answer = client.post(reverse("lines", args=[order.number]), {"seen": print_, "form_id": key, **row(0)})
        assert answer.url == reverse("order", args=[order.number])
    assert sizes(order) == [(1, "Kitchen", "1830.0")]


def test_lines_are_changed_added_and_taken_off_together(client, order):
    for room in ("Kitchen", "Bedroom", "Hall"):
        send(client, order, *_stored(order), row(9, room=room))
    rows = [
        row(0, room="Kitchen", width_mm="1900") | {"r0-position": "1"},
        row(1, room="Bedroom") | {"r1-position": "2", "r1-gone": "on"},
        row(2, room="Hall") | {"r2-position": "3"},
        row(3, room="Loft"),
    ]
    answer = send(client, order, *rows)
    assert sizes(order) == [(1, "Kitchen", "1900.0"), (3, "Hall", "1830.0"), (4, "Loft", "1830.0")]
    assert "1 line added, 1 line changed, 1 line taken off" in client.get(answer.url).content.decode()


def _stored(order):
    return [
        row(index, room=line.room) | {f"r{index}-position": str(line.position)}
        for index, line in enumerate(order.lines.in_order())
    ]


def test_what_only_the_form_of_a_line_asks_for_stays(client, order):
    line = factories.line(special_instruction="Odd bracket", concerns=["railing"], control_drop_mm=700)
    factories.intake.save_line(order=order, line=line)
    send(client, order, row(0, width_mm="1900") | {"r0-position": "1"})
    line.refresh_from_db()
    assert (line.special_instruction, line.concerns, line.control_drop_mm) == ("Odd bracket", ["railing"], 700)
    assert line.width_mm == 1900


def test_a_row_made_a_wand_blind_forgets_its_loop(client, order):
    factories.intake.save_line(order=order, line=factories.line(control_drop_mm=700))
    send(client, order, row(0, operation="wand", draw="one_way") | {"r0-position": "1"})
    line = order.lines.get()
    assert (line.loop_control, line.chain, line.control_drop_mm) == ("", "", None)


def test_another_desk_that_changed_the_lines_meanwhile_is_not_overwritten_unseen(client, order):
    print_ = seen(client, order)
    factories.intake.save_line(order=order, line=factories.line(room="Study"))
    answer = client.post(
        reverse("lines", args=[order.number]), {"seen": print_, "form_id": str(uuid.uuid4()), **row(0)}
    )
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "changed at another desk meanwhile" in page
    assert 'value="Study"' in page
    assert 'value="Kitchen"' in page
    assert [line.room for line in order.lines.in_order()] == ["Study"]


@pytest.mark.parametrize("then", [{"more": "yes"}, {"r0-width_mm": "wide"}])
def test_more_rows_or_a_mistake_makes_nobody_forget_what_was_seen(client, order, then):
    print_ = seen(client, order)
    factories.intake.save_line(order=order, line=factories.line(room="Study"))
    address = reverse("lines", args=[order.number])
    shown = client.post(address, {"seen": print_, **row(0), **then}).context["seen"]
    assert client.post(address, {"seen": shown, **row(0)}).status_code == 409


@pytest.mark.parametrize(
    ("column", "typed", "kept"),
    [
        ("hand", "L", "left"),
        ("hand", "rechts", "right"),
        ("size_basis", "Exact", "exact"),
        ("size_basis", "opening", "recess"),
        ("draw", "centre", "split"),
        ("vane_width_mm", "89 mm", 89),
        ("chain", "steel", "metal"),
    ],
)
def test_a_choice_is_read_by_any_word_for_it(client, order, column, typed, kept):
    send(client, order, row(0, **{column: typed}))
    assert getattr(order.lines.get(), column) == kept


def test_fabric_is_read_by_its_code_or_its_name_with_the_vane_width(client, order):
    send(client, order, row(0, fabric="linden-89"), row(1, fabric="Linden chalk, 89 mm"))
    assert [line.fabric.code for line in order.lines.in_order()] == ["linden-89", "linden-89"]


def test_a_word_that_is_no_choice_is_refused_with_the_choices_and_stays(client, order):
    answer = send(client, order, row(0, hand="upside", fabric="Linden chalk"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Hand: “upside” is none of Left, Right. Choose one." in page
    assert '<option value="upside" selected>“upside”</option>' in page
    assert "“Linden chalk” could be Linden chalk, 89 mm or Linden chalk, 127 mm. Choose one from the list." in page


def test_the_figures_follow_each_row_and_add_up(client, order):
    page = figures(client, order, row(0, quantity="3"), row(1, room="Bedroom", width_mm="1010"), row(2, **BLANK))
    # Rail and fabric as in the order's page: 3 x 1814 + 994, and 24 vanes and 14 of 1616 mm.
    assert "<b>4</b> blinds, <b>6.44</b>" in page
    assert "<b>138.98</b>" in page
    assert "Finished <b>1820 × 1588</b> mm; rail 1814 mm; 24 vanes of 1616 mm, Linden chalk." in page
    assert page.count("hx-swap-oob") == 4


def test_an_unfinished_row_says_what_it_needs_and_is_left_out_of_the_totals(client, order):
    page = figures(client, order, row(0), row(1, width_mm="", hand="", drop_mm="abc"))
    assert "Still needed: width, hand." in page
    assert "“abc” is not a length" in page
    assert "<b>1</b> blind," in page
    assert "without line 2, which can't be made as it stands" in page


def test_a_refusal_and_a_warning_stand_beneath_their_row(client, order):
    page = figures(client, order, row(0), row(1, width_mm="6000", room="Hall"))
    said = page[page.index('id="said-1"') :]
    assert "Can't be made:</strong> The finished width is 5990 mm" in said


def test_what_a_length_was_read_as_is_said(client, order):
    assert "Width: <b>72 in = 1828.8 mm</b>" in figures(client, order, row(0, width_mm="72 in"))


def test_the_page_says_of_each_row_what_the_figures_say(client, order):
    send(client, order, row(0), row(1, room="Bedroom", drop_mm="600"))
    page = page_of(client, "lines", order.number)
    answer = figures(client, order, *_stored(order)).replace(' hx-swap-oob="true"', "")
    first = answer[answer.index('<div id="said-0"') : answer.index('<div id="said-1"')]
    assert first.strip() in page


@pytest.mark.parametrize("position", ["9" * 5000, "-1", "١", "\0", "7"])
def test_a_row_at_a_place_that_is_none_is_a_new_line(client, order, position):
    send(client, order, row(0), {"r0-position": position})
    assert order.lines.get().position == 1


def test_a_large_grid_asks_the_database_no_more_than_a_small_one(client, sales):
    small = factories.order(by=sales, lines=[{}, {}])
    large = factories.order(by=sales, lines=[{"width_mm": 1000 + 7 * number} for number in range(40)])
    # The first page of a session may keep that it was opened.
    page_of(client, "orders")
    assert queries_of(client, reverse("lines", args=[large.number])) <= queries_of(
        client, reverse("lines", args=[small.number])
    )


def test_a_grid_of_two_hundred_rows_is_saved(client, order):
    rows = [row(number, room=f"Flat {number}", width_mm=str(1000 + number)) for number in range(200)]
    assert send(client, order, *rows).status_code == 302
    assert order.lines.count() == 200


def test_an_order_of_more_lines_than_a_grid_holds_is_said_so(client, sales):
    order = factories.order(by=sales)
    factories.OrderLine.objects.bulk_create(
        factories.line(order=order, position=position) for position in range(1, 202)
    )
    answer = client.get(reverse("lines", args=[order.number]), follow=True)
    assert "has more lines than a grid holds, 200. Change them one by one." in answer.content.decode()


def test_the_grid_says_how_many_lines_it_holds_and_where_more_are_taken_in(client, order):
    page = page_of(client, "lines", order.number)
    assert f'Up to 200 lines. Take a longer list in <a href="/customers/{order.customer_id}/files/">' in page


def test_more_rows_come_without_script_and_nothing_is_judged_yet(client, order):
    answer = send(client, order, row(0, width_mm="abc"), more="yes")
    assert answer.status_code == 200
    assert len(answer.context["grid"].rows) == 11
    assert 'value="abc"' in answer.content.decode()
    assert "Not saved yet" not in answer.content.decode()


def test_the_lines_of_a_released_order_are_no_grid(client, sales):
    blind = factories.released(by=sales)[0]
    address = reverse("lines", args=[blind.order.number])
    assert client.get(address).url == reverse("order", args=[blind.order.number])
    assert client.post(address, row(0)).status_code == 302
    assert OrderLine.objects.count() == 1


def test_rooms_of_the_customer_are_suggested_first(client, sales):
    factories.order(by=sales, lines=[{"room": "Orangery"}], customer=factories.customer("Petrov"))
    factories.order(by=sales, lines=[{"room": "Conservatory"}])
    order = factories.order(by=sales)
    page = page_of(client, "lines", order.number)
    rooms = page[page.index('<datalist id="rooms">') : page.index("</datalist>")]
    assert rooms.index("Conservatory") < rooms.index("Orangery")
