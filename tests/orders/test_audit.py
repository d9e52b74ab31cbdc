"""Who did what is on record, told in the same transaction and without secrets."""

import datetime as dt

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from orders import calendar, catalogue
from orders.models import ApiKey, AuditEntry
from production import crew, faults, tablets
from production.models import FaultKind
from tests import factories
from tests.orders.on_record import sole, told
from tests.tablets import at_the_bench, enrolled

pytestmark = pytest.mark.django_db

PASSWORD = "a-long-passphrase"


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


def test_a_lock_that_is_lifted_by_the_right_pin_is_not_a_manager_s_doing():
    mara = factories.person("maker")
    tablets.set_pin(person=mara, pin="4072")
    wall = enrolled(Client())
    tablets.sign_in_by_pin(tablet=wall, person_pk=mara.pk, pin="4072", at=factories.AT)
    assert told("pin-unlocked") == []
