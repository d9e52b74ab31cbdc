"""Which orders are found in the database, by the words that they and their endings are kept with."""

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from orders import finding, intake, worker
from orders.models import Customer, CustomerEnding, Order, OrderEnding, OrderLine, RoomEnding, RoomName
from orders.search import LONGEST_ENDING, endings, units
from tests import factories
from tests.factories import AT
from tests.orders.typed_to_find import NAMES, WAYS

pytestmark = pytest.mark.django_db


@pytest.fixture
def marlow(sales):
    caller = factories.customer(
        "Märlow Court", contact="Pia Öberg", phone="020 7946 0101", email="pia.oberg@marlow.example"
    )
    rooms = [{"room": "Kitchen"}, {"room": "Bay, left"}]
    return factories.order(by=sales, customer=caller, reference="PO-2231/A", lines=rooms)


@pytest.fixture
def others(sales):
    caller = factories.customer("Petrov", contact="Ivo", phone="0121 496 0999", email="ivo@petrov.example")
    return [factories.order(by=sales, customer=caller, reference="X 9", lines=[{"room": "Loft"}]) for _ in range(2)]


def numbers_found(text, **options):
    keys = finding.orders(text, first=0, end=100, **options).keys
    numbers = Order.objects.in_bulk(keys)
    return [numbers[key].number for key in keys]


HANDLES = [
    *("marlow", "MÄRLOW court", "maerlow", "oberg", "Pia Öberg", "+44 20 7946 0101", "7946"),
    *("pia.oberg@marlow.example", "PIA.OBERG@", "@marlow", "po 2231", "PO2231a", "2231/A", "kitchen", "bay left"),
    *("marlow kitchen", "kitchen 2231 pia", "marlow 1", "020 7946 0101 marlow"),
]


@pytest.mark.parametrize("text", HANDLES)
def test_an_order_is_found_by_each_of_its_handles_and_by_several_at_once(marlow, others, text):
    assert numbers_found(text) == [marlow.number]


@pytest.mark.parametrize("text", ["2", "0002", "#2", "Order no. 2", "petrov 2"])
def test_an_order_is_found_by_its_number(others, text):
    assert others[1].number == 2
    assert 2 in numbers_found(text)


@pytest.mark.parametrize("text", ["marlow loft", "", "   ", "%", "_", "'", "\x00", "petrov 2231", "99"])
def test_what_belongs_to_no_order_finds_none(marlow, others, text):
    assert numbers_found(text) == []


def test_open_orders_are_found_before_closed_ones_and_the_newest_first(others):
    intake.cancel(order=others[1], by=others[1].entered_by, at=AT)
    newest = factories.order(customer=others[0].customer)
    assert numbers_found("petrov") == [newest.number, others[0].number, others[1].number]


def test_what_is_changed_is_found_by_what_it_says_now(marlow):
    intake.change_customer(customer=marlow.customer, phone="07700 900123")
    intake.change_order(order=marlow, reference="Zinnia")
    line = marlow.lines.get(position=1)
    line.room = "Scullery"
    intake.save_line(order=marlow, line=line)
    assert [numbers_found(text) for text in ("+44 7700 900123", "zinnia", "scullery")] == [[marlow.number]] * 3
    assert [numbers_found(text) for text in ("7946", "2231", "kitchen")] == [[], [], []]


def test_rows_written_many_at_once_are_found_too(marlow):
    lines = list(marlow.lines.all())
    for line in lines:
        line.room = f"Ward {line.position}"
    OrderLine.objects.bulk_update(lines, ["room"])
    Customer.objects.bulk_create([Customer(name="Šimůnek")])
    assert numbers_found("ward 2") == [marlow.number]
    assert Customer.objects.found_by("simunek").exists()


def test_nothing_is_written_past_what_is_sought(marlow):
    with pytest.raises(TypeError, match="bulk_update"):
        OrderLine.objects.update(room="Attic")
    assert OrderLine.objects.update(special_instruction="Odd bracket") == 2


@pytest.mark.parametrize("text", ["petrov", "petrov loft 0121 496 0999", "nobody", "a b c d e f g h", "2", "lo"])
def test_a_search_asks_the_database_as_often_however_much_is_found(others, text):
    def queries():
        with CaptureQueriesContext(connection) as asked:
            numbers_found(text)
        return len(asked)

    few = queries()
    intake.cancel(order=others[0], by=others[0].entered_by, at=AT)
    for number in range(10):
        another = factories.order(customer=others[0].customer, reference=f"Lot {number}", lines=[{"room": "Loft"}])
        if number % 2:
            intake.cancel(order=another, by=another.entered_by, at=AT)
    assert queries() == few <= 3  # one of them this test's own


@pytest.mark.parametrize("few", [0, 1, 2])
def test_what_many_orders_hold_is_found_like_what_few_do(marlow, others, monkeypatch, few):
    intake.cancel(order=others[1], by=others[1].entered_by, at=AT)
    newest = factories.order(customer=marlow.customer, reference="Petrov", lines=[{"room": "Bay"}])
    typed = [
        *HANDLES,
        "petrov",
        "petrov loft",
        "2",
        "bay",
        "lo",
        "b l",
        "0121 marlow",
        "nobody",
        "interiors loft petrov",
    ]
    found = [numbers_found(text) for text in typed]
    assert numbers_found("petrov") == [newest.number, others[0].number, others[1].number]
    monkeypatch.setattr(finding, "FEW", few)
    assert [numbers_found(text, every=True) for text in typed] == found
    near = [numbers_found(text) for text in typed]
    monkeypatch.setattr(finding, "FEW", newest.number)
    assert [numbers_found(text) for text in typed] == found
    assert [[each for each in all_of_it if each in some] for all_of_it, some in zip(found, near, strict=True)] == near


@pytest.mark.parametrize("text", ["petrov", "petrov loft"])
def test_of_what_many_orders_hold_the_open_and_the_newest_are_found_and_all_where_asked(others, monkeypatch, text):
    monkeypatch.setattr(finding, "FEW", 2)
    petrov, by = others[0].customer, others[0].entered_by
    later = [factories.order(by=by, customer=petrov, lines=[{"room": "Loft"}]) for _ in range(3)]
    stranger = factories.order(by=by, customer=factories.customer("Ivanka"), lines=[{"room": "Bay"}])
    for each in (*others, *later[1:], stranger):
        intake.cancel(order=each, by=by, at=AT)
    near = [later[0].pk, later[2].pk]
    assert finding.orders(text, first=0, end=9) == (near, 2)
    assert finding.orders(text, first=0, end=2) == (near, 0)  # a full page
    assert finding.orders(text, first=1, end=3) == (near[1:], 2)
    every = finding.orders(text, first=0, end=9, every=True)
    assert every == ([*near, later[1].pk, others[1].pk, others[0].pk], 0)
    assert finding.orders("petrov bay", first=0, end=9) == ([], 0)  # few have one word


def test_of_many_orders_few_are_read_on_either_database(marlow, others):
    intake.cancel(order=others[0], by=others[0].entered_by, at=AT)
    states = [Order.COLLECTED, Order.DELIVERED]
    Order.objects.bulk_create(
        Order(
            number=number, customer=marlow.customer, due_on=factories.DUE, state=states[number % 2], state_since=AT,
            entered_by=others[0].entered_by, entered_at=AT,
        )
        for number in range(4, 5000)
    )  # fmt: skip
    intake.confirm(order=marlow, by=marlow.entered_by, at=AT)
    if connection.vendor == "sqlite":
        worker.tidy(at=AT)
    else:
        with connection.cursor() as cursor:
            cursor.execute("ANALYZE")
    found = Order.objects.open_or_newest(50)
    assert found.count() == 52
    plan = found.holding(units("marlow loft")).best_first(number=None).explain()
    assert "SCAN orders_order" not in plan, plan
    assert "Seq Scan on orders_order " not in plan, plan


@pytest.mark.parametrize("few", [0, finding.FEW])
def test_pages_of_what_is_found_follow_each_other(others, monkeypatch, few):
    monkeypatch.setattr(finding, "FEW", few)
    for number in range(7):
        another = factories.order(customer=others[0].customer)
        if number % 3:
            intake.cancel(order=another, by=another.entered_by, at=AT)
    whole = finding.orders("petrov", first=0, end=100, every=True).keys
    assert whole == list(Order.objects.open_first().values_list("pk", flat=True))
    pages = [finding.orders("petrov", first=first, end=first + 2, every=True) for first in range(0, 12, 2)]
    assert [key for page in pages for key in page.keys] == whole
    gone = Order.objects.in_state(Order.CANCELLED).first()
    assert finding.orders("petrov", first=0, end=2, named=gone.number, every=True).keys == [gone.pk, whole[0]]


def endings_kept():
    """Whether each owner has just the endings that what it is found by comes to."""
    kept = [
        (each.sought, {ending.text for ending in each.endings.all()})
        for owners in (Customer, Order, RoomName)
        for each in owners.objects.prefetch_related("endings")
    ]
    return all(endings(sought) == texts for sought, texts in kept)


def test_endings_are_those_of_what_each_row_says_now(marlow, others):
    assert endings_kept()
    assert OrderEnding.objects.count() > 10
    intake.change_order(order=marlow, reference="Zinnia 7")
    marlow.customer.name = "Zebedee"
    Customer.objects.bulk_update([marlow.customer], ["name"])
    assert endings_kept()
    assert numbers_found("zebed zinn") == [marlow.number]
    intake.change_order(order=marlow, reference="")
    assert endings_kept()


def test_what_has_the_same_words_as_before_is_written_by_one_query_more(marlow):
    marlow.customer.address = "1 Mill Lane"
    with CaptureQueriesContext(connection) as asked:
        marlow.customer.save()
    # In a test's transaction: the row itself, and a look at its endings.
    assert len(asked) == 2


def test_what_a_program_of_before_wrote_is_made_good(marlow, others):
    others[0].sought = " po 2231 po2231"
    Order.objects.bulk_update(others[:1], ["sought"])  # past what it is made from
    Customer.objects.filter(pk=marlow.customer.pk).update(sought=" marlow lane")
    RoomEnding.objects.all().delete()
    assert not endings_kept()
    before = set(CustomerEnding.objects.filter(owner=others[0].customer).values_list("pk", flat=True))
    worker.tidy(at=timezone.now())
    assert endings_kept()
    assert set(CustomerEnding.objects.filter(owner=others[0].customer).values_list("pk", flat=True)) == before
    assert numbers_found("loft 2231") == [others[0].number]
    assert numbers_found("oberg") == []


def test_a_deleted_order_leaves_no_endings(others):
    made = Order.objects.create(
        number=9, customer=others[0].customer, reference="Gone", due_on=factories.DUE, state_since=AT,
        entered_by=others[0].entered_by, entered_at=AT,
    )  # fmt: skip
    assert OrderEnding.objects.filter(owner=made).exists()
    key = made.pk
    made.delete()
    assert not OrderEnding.objects.filter(owner=key).exists()


@pytest.mark.parametrize("kind", [CustomerEnding, OrderEnding, RoomEnding])
def test_a_word_is_looked_up_by_an_index_on_either_database(kind):
    # Enough that no database would rather read them through.
    kind.objects.bulk_create(kind(owner_id=number, text=f" word{number}") for number in range(3000))
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
    for text in ("marlow", "b", "020 7946 0101", "a" * (LONGEST_ENDING + 1)):
        (unit,) = units(text)
        plan = kind.objects.owners_holding(unit).explain()
        assert f"{kind.__name__.lower()}_by_text" in plan, plan


@given(given=st.fixed_dictionaries(dict.fromkeys(("name", "contact", "reference", "room"), NAMES)))
@settings(
    max_examples=8,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    # Each example is some forty searches: what is missed is told as it was found.
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
def test_whatever_order_exists_is_found_by_each_of_its_handles_typed_in_every_way(others, given):
    with transaction.atomic():
        caller = Customer.objects.create(name=given["name"], contact=given["contact"], phone="+31 42 123 4567")
        made = Order.objects.create(
            number=7341, customer=caller, reference=given["reference"], due_on=factories.DUE, state_since=AT,
            entered_by=others[0].entered_by, entered_at=AT,
        )  # fmt: skip
        line = factories.line(room=given["room"])
        line.order, line.position = made, 1
        line.save()
        handles = [*given.values(), "7341", "07341", "(042) 123 4567", "0031 42 1234567"]
        tried = [(way, typed(handle)) for handle in handles for way, typed in WAYS.items()]
        missed = [each for each in tried if 7341 not in numbers_found(each[1])]
        transaction.set_rollback(True)
    assert missed == []


def test_a_rooms_name_is_kept_once(marlow):
    factories.order(customer=marlow.customer, lines=[{"room": "Kitchen"}])
    assert list(RoomName.objects.order_by("sought").values_list("sought", flat=True)) == [
        " bay left bayleft",
        " kitchen",
    ]
    assert numbers_found("kitchen") == [2, 1]
