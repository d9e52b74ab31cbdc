"""What an order's lines make the grid ask, and the answers that are kept."""

import pytest
from django.urls import reverse

from orders.models import SlipAnswer
from tests import factories
from tests.orders.grid_rows import figures, row, send
from tests.orders.pages import page_of

pytestmark = pytest.mark.django_db


SWAPPED_ROWS = [
    {"width_mm": "1200", "drop_mm": "2400"},
    {"width_mm": "1800", "drop_mm": "2400"},
    {"width_mm": "2400", "drop_mm": "1500"},
]


def test_a_slip_is_asked_about_beneath_its_row_and_saving_is_not_refused(client, order):
    rows = [row(number, **given) for number, given in enumerate(SWAPPED_ROWS)]
    page = figures(client, order, *rows)
    said = page[page.index('id="said-2"') :]
    assert "Width 2400 and drop 1500 look swapped: 2400 is the drop of line 2 (Kitchen)" in said
    assert 'name="r2-right"' in said
    assert send(client, order, *rows).status_code == 302
    assert order.lines.count() == 3


def _ticked(client, order, rows):
    """`rows` with every question of theirs answered, as the browser sends the ticks."""
    answer = send(client, order, *rows, to="lines-figures")
    ticks = {}
    for each in answer.context["grid"].rows:
        for said in each.questions:
            ticks.setdefault(said["name"], []).append(said["key"])
    return [*rows, ticks]


def test_an_answer_given_in_the_grid_is_kept_with_who_and_when_and_the_question_does_not_come_again(
    client, order, sales
):
    rows = [row(number, **given) for number, given in enumerate(SWAPPED_ROWS)]
    send(client, order, *_ticked(client, order, rows))
    answer = SlipAnswer.objects.get()
    assert (answer.line.position, answer.code, answer.by) == (3, "swapped", sales)
    assert "It is right, said nora" in page_of(client, "lines", order.number)
    assert client.post(reverse("order-confirm", args=[order.number]), follow=True).status_code == 200
    order.refresh_from_db()
    assert order.state == "confirmed"


def test_the_question_comes_again_once_the_figures_change(client, order):
    rows = [row(number, **given) for number, given in enumerate(SWAPPED_ROWS)]
    send(client, order, *_ticked(client, order, rows))
    line = order.lines.get(position=3)
    line.drop_mm = 1400
    factories.intake.save_line(order=order, line=line)
    page = page_of(client, "order", order.number)
    assert "Width 2400 and drop 1400 look swapped" in page
    assert "<button>It is right</button>" in page


def test_an_answer_for_other_figures_is_no_answer(client, order):
    rows = [row(number, **given) for number, given in enumerate(SWAPPED_ROWS)]
    *_, ticks = _ticked(client, order, rows)
    rows[2]["r2-drop_mm"] = "1400"
    send(client, order, *rows, ticks)
    assert not SlipAnswer.objects.exists()


def test_an_order_with_unanswered_questions_is_not_confirmed_and_lists_them(client, order):
    send(client, order, row(0), row(1, room="Bedroom", size_basis="exact"))
    answer = client.post(reverse("order-confirm", args=[order.number]))
    page = answer.content.decode()
    assert answer.status_code == 409
    assert "is exact, and line 1 (Kitchen) 1830 × 1600 is recess" in page
    assert "Correct it, or answer that it is right." in page


def test_a_question_about_the_order_is_answered_on_its_page(client, order, sales):
    send(client, order, row(0), row(1, room="Bedroom", size_basis="exact"))
    (asked,) = client.get(reverse("order", args=[order.number])).context["questions"]
    given = {"code": asked.question.code, "figures": asked.question.figures}
    for _ in range(2):
        client.post(reverse("order-right", args=[order.number]), given)
    answer = SlipAnswer.objects.get()
    assert (answer.order, answer.line, answer.by) == (order, None, sales)
    assert client.post(reverse("order-confirm", args=[order.number])).status_code == 302


def test_a_question_with_long_room_names_is_kept_whole(client, order):
    bases = ["recess", "exact", "recess", "exact", "recess"]
    rows = [row(number, room=f"{number} " + 58 * "w", size_basis=basis) for number, basis in enumerate(bases)]
    send(client, order, *rows)
    (asked,) = client.get(reverse("order", args=[order.number])).context["questions"]
    given = {"code": asked.question.code, "figures": asked.question.figures}
    client.post(reverse("order-right", args=[order.number]), given)
    assert len(asked.question.message) > 400
    assert SlipAnswer.objects.get().question == asked.question.message


def test_an_answer_to_a_question_that_is_gone_is_refused_with_the_reason(client, order):
    send(client, order, row(0))
    answer = client.post(
        reverse("order-right", args=[order.number]), {"code": "swapped", "figures": "recess 9 × 9", "position": "1"}
    )
    assert answer.status_code == 409
    assert "Line 1 (Kitchen) was changed meanwhile, so that question is gone" in answer.content.decode()


def test_an_order_entered_twice_is_asked_about(client, sales):
    first = factories.order(by=sales, lines=[{}, {"width_mm": 1000, "room": "Hall"}])
    again = factories.order(by=sales)
    lines = [factories.line(width_mm=1000, room="Bath"), factories.line()]
    for each in lines:
        factories.intake.save_line(order=again, line=each)
    page = page_of(client, "order", again.number)
    assert f"Order {first.number:04d} of the same customer, entered less than a minute before" in page
    assert "It is right" in page
    assert "It is right" not in page_of(client, "order", first.number)


def test_a_cancelled_order_may_be_entered_again(client, sales):
    first = factories.order(by=sales, lines=[{}])
    factories.intake.cancel(order=first, by=sales, at=factories.AT)
    again = factories.order(by=sales)
    factories.intake.save_line(order=again, line=factories.line())
    assert "of the same customer" not in page_of(client, "order", again.number)
