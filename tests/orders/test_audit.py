"""Who changed and saw what is on record: in the same transaction, never changed, and kept as long as is said."""

import datetime as dt
from decimal import Decimal

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from config import audited
from orders import api_keys, audit, calendar, catalogue, intake
from orders import entry as entry_of_orders
from orders.asking import asked_by
from orders.audit_words import said
from orders.models import ApiKey, AuditEntry, OrderLine, Person
from orders.models.audit import AppendOnly
from production import crew, faults, tablets
from production.models import FaultKind
from tests import factories
from tests.orders.who_may_open import ALLOWED, BY_KEY, patterns
from tests.tablets import at_the_bench, enrolled

pytestmark = pytest.mark.django_db
PASSWORD = "a-long-passphrase"


def told(what, **fields):
    return list(AuditEntry.objects.filter(what=what, **fields))


def sole(what, **fields):
    (entry,) = told(what, **fields)
    return entry


@pytest.fixture
def ada(client):
    found = factories.person("administrator", "manager", name="ada")
    client.force_login(found)
    return found


# Who did what


def test_a_change_of_a_person_says_who_from_where_and_what_was_before(client, ada):
    nora = factories.person("sales", name="nora")
    typed = {"username": "nora", "roles": ["sales", "manager"], "is_active": "on", "first_name": ""}
    client.post(reverse("person", args=[nora.pk]), typed, REMOTE_ADDR="10.0.0.7")
    entry = sole("person-changed")
    assert (entry.person, entry.address, entry.kind, entry.thing) == (ada, "10.0.0.7", "person", str(nora.pk))
    assert (entry.before, entry.after) == ({"roles": ["sales"]}, {"roles": ["sales", "manager"]})


def test_a_change_of_a_customer_says_what_was_before(client, ada):
    typed = {"name": "Mrs Thackstone", "phone": "01632 960001", "market": "en13120"}
    client.post(reverse("customer-new"), typed)
    entered = sole("customer-added")
    assert (entered.person, entered.kind, entered.words) == (ada, "customer", "Mrs Thackstone")
    client.post(reverse("customer-edit", args=[entered.thing]), typed | {"phone": "01632 960002"})
    changed = sole("customer-changed")
    assert (changed.person, changed.thing) == (ada, entered.thing)
    assert (changed.before, changed.after) == ({"phone": "01632 960001"}, {"phone": "01632 960002"})


def test_what_changes_nothing_is_not_told(client, ada):
    nora = factories.person("sales", name="nora")
    client.post(reverse("person", args=[nora.pk]), {"username": "nora", "roles": ["sales"], "is_active": "on"})
    assert told("person-changed") == []


def test_people_passwords_pins_badges_tablets_and_keys_are_told_without_their_secrets(client, ada):
    mara = factories.person("maker", name="mara")
    new = {"username": "tove", "password1": "kettle-ladder-orchard", "password2": "kettle-ladder-orchard"}
    client.post(reverse("person-new"), new | {"usable_password": "true"})
    password = {"new_password1": "basket-comet-willow", "new_password2": "basket-comet-willow"}
    client.post(reverse("person-password", args=[mara.pk]), password)
    client.post(reverse("bench-person", args=[mara.pk]), {"pin": "4072", "again": "4072"})
    client.post(reverse("bench-unlock", args=[mara.pk]))
    badge = client.post(reverse("badge-new", args=[mara.pk]))
    client.post(reverse("badge-take", args=[mara.pk]))
    made = client.post(reverse("api-keys"), {"name": "shop", "scopes": ["orders:read"], "whose": "every"})
    secret = made.context["secret"]
    client.post(reverse("api-key-revoke", args=[ApiKey.objects.get().pk]))
    wall = enrolled(Client())
    client.post(reverse("tablet-retire", args=[wall.pk]))
    assert badge.status_code == 200
    expected = {
        *("person-added", "password-set", "pin-set", "pin-unlocked", "badge-given", "badge-taken"),
        *("key-made", "key-revoked", "tablet-enrolled", "tablet-retired"),
    }
    entries = {entry.what: entry for entry in AuditEntry.objects.filter(what__in=expected)}
    assert set(entries) == expected
    assert all(entry.person == ada for what, entry in entries.items() if what != "tablet-enrolled")
    # Moments and keys may hold any four digits by chance.
    everything = str(list(AuditEntry.objects.values_list("words", "thing", "before", "after", "once")))
    for each in ("kettle-ladder-orchard", "basket-comet-willow", "4072", secret):
        assert each
        assert each not in everything


def test_the_calendar_crews_the_catalogue_and_kinds_of_fault_are_told_with_before_and_after(ada):
    calendar.set_week(days_in_hand=5)
    calendar.close(first_day=dt.date(2026, 8, 3), last_day=dt.date(2026, 8, 7), reason="Summer")
    crew.set_crews({"railing": {"people": 3, "minutes": 450}})
    linden = catalogue.add_fabric(code="linden-89", name="Linden", vane_width_mm=89, weight_g_per_m2=240)
    catalogue.change_fabric(fabric=linden, name="Lime")
    catalogue.new_draft(system=factories.system(), by=ada, at=factories.AT)
    faults.reword(kind=FaultKind.objects.order_by("position").first(), words="Rail bent")
    week, closed = AuditEntry.objects.filter(what="calendar").order_by("pk")
    assert (week.before, week.after) == ({"days_in_hand": 3}, {"days_in_hand": 5})
    assert closed.after == {"first_day": "2026-08-03", "last_day": "2026-08-07", "reason": "Summer"}
    assert sole("crew").before == {"people": 2}
    assert sole("crew").after == {"people": 3}
    assert sole("catalogue", before={"name": "Linden"}).after == {"name": "Lime"}
    assert sole("catalogue", words__startswith="drafted").person == ada
    assert sole("faults").after == {"words": "Rail bent"}


def test_nothing_is_told_of_what_was_not_done(ada):
    def broken_off():
        with transaction.atomic():
            calendar.set_week(days_in_hand=5)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        broken_off()
    assert told("calendar") == []
    assert calendar.read().days_in_hand == 3


# Orders before their release


@pytest.fixture
def nora(client):
    found = factories.person("sales", name="nora")
    client.force_login(found)
    return found


def as_asked(person, rf):
    request = rf.get("/", REMOTE_ADDR="10.0.0.7")
    request.user = person
    return asked_by(request)


def test_a_changed_line_says_each_value_before_and_after_and_by_whom(nora, rf):
    order = factories.order(by=nora, lines=[{"width_mm": 1820, "room": "Kitchen"}])
    line = order.lines.in_order().get()
    line.width_mm, line.drop_mm = 1825, Decimal(f"{line.drop_mm:.1f}")
    with as_asked(nora, rf):
        intake.save_line(order=order, line=line)
    entry = sole("line-changed", words__endswith="changed")
    assert (entry.person, entry.address, entry.thing) == (nora, "10.0.0.7", str(order.number))
    assert entry.words == f"{order}, line 1: changed"
    assert (entry.before, entry.after) == ({"width_mm": "1820"}, {"width_mm": "1825"})


def test_a_line_that_is_saved_as_it_was_is_not_told(nora):
    order = factories.order(by=nora, lines=[{}])
    intake.save_line(order=order, line=order.lines.in_order().get())
    assert told("line-changed", words__endswith="changed") == []


def test_a_line_that_is_taken_off_is_told_whole_and_one_that_is_added_by_its_place(nora):
    order = factories.order(by=nora, lines=[{"room": "Kitchen"}])
    intake.save_line(order=order, line=factories.line(room="Hall"))
    intake.remove_line(line=order.lines.get(position=1))
    _, added, gone = AuditEntry.objects.filter(what="line-changed").order_by("pk")
    assert added.words == f"{order}, line 2: added"
    assert (gone.words, gone.before["room"], gone.after) == (f"{order}, line 1: removed", "Kitchen", None)
    assert gone.before["fabric"] == str(factories.fabric())


def test_a_grid_tells_of_each_line_that_it_changed(nora):
    order = factories.order(by=nora, lines=[{"room": "Kitchen"}, {"room": "Hall"}, {"room": "Study"}])
    lines = list(order.lines.in_order())
    seen = entry_of_orders.seen_of(lines)
    lines[1].quantity, lines[2].hand = 4, "right"
    new = factories.line(room="Attic")
    given = {"lines": [lines[1], lines[2], new], "gone": [1], "seen": seen, "by": nora, "at": factories.AT}
    assert entry_of_orders.save_lines(order=order, **given)
    entries = AuditEntry.objects.filter(what="line-changed").order_by("pk")[3:]
    assert [entry.words.partition(", ")[2] for entry in entries] == [
        "line 1: removed",
        "line 2: changed",
        "line 3: changed",
        "line 4: added",
    ]
    assert (entries[1].before, entries[1].after) == ({"quantity": 1}, {"quantity": 4})
    assert (entries[2].before, entries[2].after) == ({"hand": "left"}, {"hand": "right"})
    assert said(entries[2].after) == [("hand", OrderLine(hand="right").get_hand_display())]


def test_a_changed_head_says_each_value_before_and_after(nora):
    order = factories.order(by=nora, note="Ring first")
    due = order.due_on + dt.timedelta(days=1)
    intake.change_order(order=order, note="Ring the side door", due_on=due)
    entry = sole("order-changed")
    assert entry.thing == str(order.number)
    assert entry.before == {"note": "Ring first", "due_on": str(order.due_on - dt.timedelta(days=1))}
    assert entry.after == {"note": "Ring the side door", "due_on": str(due)}


def test_what_is_refused_is_not_told(nora):
    order = factories.order(by=nora, lines=[{}])
    line = order.lines.in_order().get()
    line.width_mm = 9999
    with pytest.raises(intake.Refused):
        intake.save_line(order=order, line=line)
    assert told("line-changed", words__endswith="changed") == []


# Signing in and being refused


def test_signing_in_and_out_and_what_was_not_let_in_are_told(client):
    nora = factories.person("sales", name="nora")
    client.post(reverse("sign-in"), {"username": "nora", "password": "wrong"})
    client.post(reverse("sign-in"), {"username": "my secret passphrase", "password": "wrong"})
    client.post(reverse("sign-in"), {"username": "nora", "password": PASSWORD})
    client.post(reverse("sign-out"))
    wrong, unknown = AuditEntry.objects.filter(what="not-let-in").order_by("pk")
    assert (wrong.words, wrong.thing, wrong.person) == ("nora: wrong password", str(nora.pk), None)
    assert unknown.words == "somebody unknown here: wrong password"
    assert sole("signed-in").person == sole("signed-out").person == nora
    assert "secret" not in str(list(AuditEntry.objects.values()))


def test_at_a_tablet_too_with_its_name(client):
    mara = factories.person("maker", name="mara")
    at_the_bench(client, mara)
    client.post(reverse("badge"), {"code": "rubbish"})
    assert (sole("signed-in").words, sole("signed-in").tablet) == ("mara, by badge", "Railing 1")
    assert sole("not-let-in").tablet == "Railing 1"


def test_a_refused_page_is_told_once_an_hour(client):
    tove = factories.person("maker", name="tove")
    client.force_login(tove)
    for _ in range(3):
        assert client.get(reverse("orders")).status_code == 403
    entry = sole("refused")
    assert (entry.person, entry.thing, entry.words) == (tove, "orders", "the page /orders/")


# Who saw what


def test_an_order_and_a_customer_that_were_seen_are_told_once_an_hour(client, monkeypatch):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    order = factories.order(by=nora)
    for _ in range(3):
        client.get(reverse("order", args=[order.number]))
        client.get(reverse("lines", args=[order.number]), follow=True)
        client.get(reverse("customer", args=[order.customer_id]))
    assert sole("saw", kind="order").thing == str(order.number)
    assert sole("saw", kind="customer").thing == str(order.customer_id)
    # Another process has told it already: the second one finds out by the unique column.
    audit.told.clear()
    client.get(reverse("order", args=[order.number]))
    assert len(told("saw", kind="order")) == 1
    at = timezone.now() + dt.timedelta(hours=1)
    monkeypatch.setattr("django.utils.timezone.now", lambda: at)
    client.get(reverse("order", args=[order.number]))
    assert len(told("saw", kind="order")) == 2


def test_of_a_search_it_is_told_how_much_was_seen_and_not_what_was_sought(client):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    for _ in range(3):
        factories.order(by=nora, reference="Seaview Terrace")
    for _ in range(2):
        client.get(reverse("find"), {"q": "seaview"})
    entry = sole("saw", kind="list")
    assert entry.words == "what a search found: 3 orders and 0 customers"
    client.get(reverse("find"), {"q": "terrace"})
    assert len(told("saw", kind="list")) == 2
    assert "eaview" not in str(list(AuditEntry.objects.values("words", "thing", "once")))


def test_each_page_of_a_list_is_told(client):
    client.force_login(factories.person("sales", name="nora"))
    for page in ("1", "2", "2", "x", "-3"):
        client.get(reverse("customers"), {"page": page})
    assert [entry.words for entry in AuditEntry.objects.filter(what="saw").order_by("pk")] == [
        "the list of customers",
        "the list of customers, page 2",
    ]


def test_what_was_not_there_or_not_shown_was_not_seen(client):
    client.force_login(factories.person("sales"))
    client.get(reverse("order", args=[4711]))
    client.get(reverse("customer", args=[4711]))
    assert told("saw") == []


def test_each_file_that_is_taken_out_is_told(client):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    order = factories.order(by=nora, lines=[{}])
    for _ in range(2):
        client.get(reverse("order-text", args=[order.number]))
    client.get(reverse("customer-sheet", args=[order.customer_id]))
    assert [(entry.kind, entry.thing) for entry in AuditEntry.objects.filter(what="exported").order_by("pk")] == [
        ("order", str(order.number)),
        ("order", str(order.number)),
        ("customer", str(order.customer_id)),
    ]


def test_what_a_program_read_with_a_key_is_told_of_the_key(client):
    boss = factories.person("administrator")
    given = {"every_customer": True, "customers": (), "by": boss, "at": timezone.now()}
    key, secret = api_keys.make(name="shop", scopes=["orders:read"], **given)
    order = factories.order()
    answer = client.get(reverse("api-order", args=[order.number]), HTTP_AUTHORIZATION=f"Bearer {secret}")
    assert answer.status_code == 200
    entry = sole("saw", kind="order")
    assert (entry.key, entry.person, entry.thing) == (key, None, str(order.number))


def test_where_it_can_t_be_written_down_the_page_is_shown_and_the_log_says_so(client, monkeypatch, caplog):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    order = factories.order(by=nora)

    def full(*args, **kwargs):
        raise DatabaseError("disk is full")

    monkeypatch.setattr("orders.models.audit.AuditQuerySet.bulk_create", full)
    assert client.get(reverse("order", args=[order.number])).status_code == 200
    assert "the audit could not be written" in caplog.text


def test_no_file_is_taken_out_that_can_t_be_told_of(client, monkeypatch):
    nora = factories.person("sales", name="nora")
    client.force_login(nora)
    client.raise_request_exception = False
    order = factories.order(by=nora, lines=[{}])

    def full(*args, **kwargs):
        raise DatabaseError("disk is full")

    monkeypatch.setattr("orders.models.AuditEntry.save", full)
    answer = client.get(reverse("order-text", args=[order.number]))
    assert answer.status_code >= 500
    assert b"Kitchen" not in answer.content


NOTHING_PERSONAL = {
    *(
        "health",
        "ready",
        "metrics",
        "well",
        "start",
        "sign-in",
        "sign-out",
        "language",
        "own-sign-in",
        "own-first-password",
        "sign-in-code",
        "own-second-step",
        "own-spare-codes",
        "own-second-step-remove",
        "person-second-step-remove",
        "own-others-end",
        "confirm",
        "signed-in-end",
    ),
    *("order-new", "customer-new", "template-sheet", "template-text", "figures", "lines-figures", "rules"),
    *("catalogue", "system", "revision", "difference", "system-new", "system-import", "system-retire", "draft-new"),
    *("revision-edit", "revision-publish", "revision-discard"),
    *("fabric-new", "fabric", "fabric-offer", "fabric-remove", "faults", "fault", "fault-move", "fault-use"),
    *("calendar", "calendar-close", "calendar-open", "calendar-add-day", "calendar-take-day-off", "working-week"),
    *("tablets", "tablet-sign-in", "badge", "own-pin", "outbox", "away", "service-worker"),
    *("stations", "station", "station-queue", "scan", "station-record", "blind-figure", "blind-cords"),
    *("api", "api-openapi", "api-keys", "api-key-revoke", "api-catalogue", "api-figures", "api-nothing"),
    *("person-new", "plan-late", "plan-minutes", "work", "works", "work-cancel"),
    # What only takes a press, and writes what it does where that belongs.
    *("order-confirm", "order-back-to-draft", "order-promise", "order-collected", "order-delivered", "letter-again"),
    *("change-accept", "change-refuse", "change-withdraw", "absence-new", "absence-remove", "badge-new", "badge-take"),
    *("bench-unlock", "tablet-retire"),
}


def test_of_every_page_it_is_said_whom_it_shows():
    """A new page must be named in config/audited.py, or here as one that shows nothing of anybody."""
    values = {"number": 1, "pk": 1, "code": "1-1", "system": "demo-38", "revision": 1}
    told = {pattern.name for pattern in patterns() if list(audited.seen(pattern.name, values))}
    assert told & NOTHING_PERSONAL == set()
    assert set(ALLOWED) - told - NOTHING_PERSONAL - set(BY_KEY) == set()


# Neither changed nor removed


def entry():
    audit.did("calendar", kind="closure", thing=1, words="Summer")
    return AuditEntry.objects.get()


@pytest.mark.parametrize(
    "break_it",
    [
        lambda found: found.save(),
        lambda found: found.delete(),
        lambda found: AuditEntry.objects.update(words="nothing"),
        lambda found: AuditEntry.objects.all().delete(),
        lambda found: AuditEntry.objects.filter(pk=found.pk).bulk_update([found], ["words"]),
    ],
    ids=["save", "delete", "update", "delete all", "bulk update"],
)
def test_no_entry_is_changed_or_removed(break_it):
    with pytest.raises(AppendOnly):
        break_it(entry())


def test_the_database_itself_lets_none_be_changed():
    entry()
    with pytest.raises(DatabaseError, match="never changed"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE orders_auditentry SET words = 'nothing'")


@pytest.mark.skipif("connection.vendor != 'postgresql'", reason="SQLite's own file is open to whoever may write it")
def test_nor_removed_on_postgresql():
    entry()
    with pytest.raises(DatabaseError, match="is kept"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("DELETE FROM orders_auditentry")


def test_what_is_old_enough_goes_and_nothing_else(settings, monkeypatch, capsys):
    now = timezone.now()
    for days in (401, 399):
        monkeypatch.setattr("django.utils.timezone.now", lambda days=days: now - dt.timedelta(days=days))
        audit.did("calendar", kind="closure", thing=days)
    monkeypatch.setattr("django.utils.timezone.now", lambda: now)
    call_command("tidy")
    assert [entry.thing for entry in AuditEntry.objects.all()] == ["399"]
    assert "1 entries of the audit were old enough to go" in capsys.readouterr().out


def test_a_clock_far_ahead_takes_a_month_of_it_at_once_and_no_more(monkeypatch):
    now = timezone.now()
    for days in range(0, 300, 10):
        monkeypatch.setattr("django.utils.timezone.now", lambda days=days: now - dt.timedelta(days=days))
        audit.did("calendar", kind="closure", thing=days)
    ten_years = now + dt.timedelta(days=3650)
    # An entry of the wrong day, as signing in then would leave one, changes nothing.
    monkeypatch.setattr("django.utils.timezone.now", lambda: ten_years)
    audit.did("calendar", kind="closure", thing="ahead")
    assert audit.forget(at=ten_years) == 4
    left = [entry.thing for entry in AuditEntry.objects.order_by("at")]
    assert left == [str(days) for days in range(250, -1, -10)] + ["ahead"]
    assert audit.forget(at=now) == 0
    assert audit.forget(at=ten_years) == 4


def test_the_audit_refuses_a_word_that_it_doesn_t_know():
    with pytest.raises(ValueError, match="knows no 'danced'"):
        audit.did("danced")


# The page


def test_values_are_said_in_words_and_not_as_the_machine_keeps_them():
    kept = {
        "vane_width_mm": 89,
        "weight_g_per_m2": 410,
        "scopes": ["orders:read", "orders:write"],
        "first_day": "2026-12-04",
        "opens_at": "07:00:00",
        "weekdays": [0, 4],
        "roles": ["manager"],
        "is_active": False,
        "reason": "",
        "name": "2026-12-04",
    }
    assert said(kept) == [
        ("vane width, mm", 89),
        ("weight, g/m²", 410),
        ("may", "read orders with their lines, post orders"),
        ("from", "Fri 4 Dec 2026"),
        ("shift begins", "07:00"),
        ("days worked", "Monday, Friday"),
        ("roles", "manager"),
        ("may sign in", "no"),
        ("reason", "none"),
        ("name", "2026-12-04"),
    ]
    assert said(None) == []


@pytest.fixture
def history(ada, rf):
    nora = factories.person("sales", name="nora")
    with asked_by(rf.get("/", REMOTE_ADDR="10.0.0.9")):
        audit.did("saw", kind="order", thing=1042, words="order 1042", by=nora)
        audit.did("saw", kind="order", thing=1043, words="order 1043", by=ada)
        audit.did("password-set", of=nora, by=ada)
    return nora


def shown(client, **query):
    answer = client.get(reverse("audit"), query)
    assert answer.status_code == 200
    return [entry.words for entry in answer.context["page"]]


def test_the_page_finds_by_person_order_and_day(client, history):
    assert shown(client, order=1042) == ["order 1042"]
    assert set(shown(client, person=history.pk)) == {"order 1042", "nora"}
    assert "order 1043" in shown(client, day=f"{timezone.localdate():%Y-%m-%d}")
    assert shown(client, day="2020-01-01") == []
    assert shown(client, order=1042, person=history.pk, day="2020-01-01") == []


def test_the_page_says_from_where_and_refuses_what_is_no_number(client, history):
    page = client.get(reverse("audit")).content.decode()
    assert "10.0.0.9" in page
    assert "set the password of nora" in page
    answer = client.get(reverse("audit"), {"order": "abc"})
    assert answer.status_code == 422
    assert "digits only" in answer.content.decode()


def test_a_person_with_entries_can_t_be_removed(history):
    with pytest.raises(DatabaseError):
        Person.objects.filter(pk=history.pk).delete()


def test_a_lock_that_is_lifted_by_the_right_pin_is_not_a_manager_s_doing():
    mara = factories.person("maker")
    tablets.set_pin(person=mara, pin="4072")
    wall = enrolled(Client())
    tablets.sign_in_by_pin(tablet=wall, person_pk=mara.pk, pin="4072", at=factories.AT)
    assert told("pin-unlocked") == []
