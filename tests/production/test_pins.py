"""PINs and badges: which are refused, and how wrong ones are slowed and locked, many at once too."""

import datetime as dt
import re

import pytest
from django.utils import timezone

from orders.models import Person
from production import codes, tablets
from production.models import Tablet
from production.route import CHECKING, RAILING
from tests import factories
from tests.factories import AT
from tests.production.at_once import at_once
from tests.tablets import PIN

pytestmark = pytest.mark.django_db

SECOND = dt.timedelta(seconds=1)
RIGHT, WRONG = PIN, "1357"


def tablet(station=RAILING, name="Railing 1"):
    return tablets.enrol(name=name, station=station, by=factories.person("manager"), at=AT)[0]


@pytest.fixture
def wall():
    return tablet()


def attempt(wall, person, pin, at=AT):
    """Who is signed in, or why not."""
    try:
        return tablets.sign_in_by_pin(tablet=wall, person_pk=person.pk, pin=pin, at=at)
    except tablets.Refused as refused:
        return str(refused)


def scan(wall, code, at=AT):
    try:
        return tablets.sign_in_by_badge(tablet=wall, code=code, at=at)
    except tablets.Refused as refused:
        return str(refused)


def wrong_until(wall, person, count, at=AT):
    """So many wrong PINs, each as soon as it may be; when the last was, and what was said to it."""
    for _ in range(count):
        person.refresh_from_db()
        # Beside the person, the tablet's own tries come back one a minute.
        at = max(at + tablets.TRY_BACK_AFTER, person.pin_waits_until or at)
        said = attempt(wall, person, WRONG, at)
    return at, said


@pytest.mark.parametrize("pin", ["0000", "77777777", "1234", "87654321", "7890", "2109", "1212", "123123", "48484848"])
def test_an_obvious_pin_is_refused(maker, pin):
    with pytest.raises(tablets.Refused, match="without a repeat or a run"):
        tablets.set_pin(person=maker, pin=pin)
    assert not Person.objects.get(pk=maker.pk).pin


@pytest.mark.parametrize("pin", ["", "582", "582058205", "58a0", "58 20", "５８２０", "-582"])
def test_a_pin_of_anything_but_four_to_eight_digits_is_refused(maker, pin):
    with pytest.raises(tablets.Refused, match="4 to 8 digits"):
        tablets.set_pin(person=maker, pin=pin)


@pytest.mark.parametrize("pin", ["5820", "1357", "0912", "12341", "90210417"])
def test_any_other_pin_is_taken_and_kept_hashed(maker, pin):
    tablets.set_pin(person=maker, pin=pin)
    assert pin not in Person.objects.get(pk=maker.pk).pin


@pytest.mark.parametrize("role", ["sales", "manager", "administrator"])
def test_only_makers_and_checkers_may_have_a_pin_or_a_badge(role):
    person = factories.person(role)
    with pytest.raises(tablets.Refused, match="neither maker nor checker"):
        tablets.set_pin(person=person, pin=RIGHT)
    with pytest.raises(tablets.Refused, match="neither maker nor checker"):
        tablets.new_badge(person=person)


def test_the_right_pin_signs_in_and_forgets_the_wrong_ones(wall, mara):
    attempt(wall, mara, WRONG)
    attempt(wall, mara, WRONG)
    assert attempt(wall, mara, RIGHT) == mara
    assert Person.objects.get(pk=mara.pk).wrong_pins == 0


def test_a_pin_is_taken_only_from_who_works_at_the_tablets_station_and_has_one(mara, other_maker):
    checking = tablet(CHECKING, "Checking 1")
    for person in (mara, other_maker):
        assert "Touch your name" in attempt(checking, person, RIGHT)
    assert tablets.people_at(checking) == []
    assert tablets.people_at(tablet()) == [mara]


def test_after_three_wrong_pins_each_wait_is_twice_the_one_before(wall, mara):
    waits, at = [], AT
    for count in range(1, 10):
        at, _ = wrong_until(wall, mara, 1, at)
        mara.refresh_from_db()
        assert mara.wrong_pins == count
        waits.append((mara.pin_waits_until - at).total_seconds())
    assert waits == [0, 0, 10, 20, 40, 80, 160, 320, 640]


def test_while_it_waits_even_the_right_pin_is_refused_with_how_long(wall, mara):
    at, said = wrong_until(wall, mara, 3)
    assert said == "That is not the PIN of Mara Lind. Wait 10 seconds, then try again, or scan the badge."
    early = attempt(wall, mara, RIGHT, at + 4 * SECOND)
    assert early == "Too many wrong PINs for Mara Lind. Wait 6 seconds, then try again, or scan the badge."
    assert Person.objects.get(pk=mara.pk).wrong_pins == 3
    assert attempt(wall, mara, RIGHT, at + 10 * SECOND) == mara


def test_the_tenth_wrong_pin_locks_until_a_manager_lifts_it(wall, mara):
    at, said = wrong_until(wall, mara, 10)
    assert said == "That is not the PIN of Mara Lind. Scan the badge, or ask a manager to lift the lock."
    later = at + dt.timedelta(days=30)
    assert "The PIN of Mara Lind is locked" in attempt(wall, mara, RIGHT, later)
    tablets.lift_lock(person=mara)
    assert attempt(wall, mara, RIGHT, later) == mara


def test_a_new_pin_lifts_the_lock_and_the_old_one_is_worth_nothing(wall, mara):
    at, _ = wrong_until(wall, mara, 10)
    tablets.set_pin(person=mara, pin="9036")
    at += dt.timedelta(hours=1)
    assert "not the PIN" in attempt(wall, mara, RIGHT, at)
    assert attempt(wall, mara, "9036", at) == mara


def test_a_locked_persons_badge_still_works(wall, mara):
    code = tablets.new_badge(person=mara)
    at, _ = wrong_until(wall, mara, 10)
    assert scan(wall, code, at + dt.timedelta(hours=1)) == mara
    assert Person.objects.get(pk=mara.pk).pin_is_locked


def test_a_tablet_takes_ten_wrong_tries_whoevers_and_then_one_a_minute(wall):
    people = [factories.person("maker") for _ in range(6)]
    for person in people:
        tablets.set_pin(person=person, pin=RIGHT)
    for person in people[:5] * 2:
        assert "not the PIN" in attempt(wall, person, WRONG)
    refused = attempt(wall, people[5], RIGHT, AT + 20 * SECOND)
    assert refused == "Too many wrong tries on this tablet. Wait 40 seconds, then try again."
    # What was never looked at isn't counted against the person.
    assert Person.objects.get(pk=people[5].pk).wrong_pins == 0
    assert "not the PIN" in attempt(wall, people[5], WRONG, AT + 60 * SECOND)
    assert "Wait 60 seconds" in attempt(wall, people[5], RIGHT, AT + 60 * SECOND)
    assert attempt(tablet(name="Railing 2"), people[5], RIGHT, AT + 60 * SECOND) == people[5]
    assert attempt(wall, people[5], RIGHT, AT + 120 * SECOND) == people[5]


def test_right_pins_use_up_none_of_a_tablets_tries(wall, mara):
    for _ in range(25):
        assert attempt(wall, mara, RIGHT) == mara
    assert Tablet.objects.get(pk=wall.pk).tries_until == AT


def test_a_pin_that_must_wait_uses_up_none_of_a_tablets_tries(wall, mara):
    for _ in range(30):
        attempt(wall, mara, WRONG)
    assert Tablet.objects.get(pk=wall.pk).tries_until == AT + 3 * tablets.TRY_BACK_AFTER


def test_unknown_badges_use_up_a_tablets_tries_too(wall, mara):
    for guess in range(10):
        assert "isn't known here" in scan(wall, codes.badge_code(guess))
    code = tablets.new_badge(person=mara)
    assert "Wait 60 seconds" in scan(wall, code)
    assert "Wait 60 seconds" in attempt(wall, mara, RIGHT)
    assert scan(wall, code, AT + 60 * SECOND) == mara


def test_a_badge_is_28_digits_that_no_blinds_code_can_be(mara):
    code = tablets.new_badge(person=mara)
    assert re.fullmatch("98[0-9]{26}", code)
    assert codes.BADGES > 2**80
    assert codes.badge_on(f"]C0{code}\r\n") == code
    with pytest.raises(codes.CodeError, match="That is a badge, not a blind") as refused:
        codes.read_code(code)
    assert code[2:10] not in str(refused.value)
    assert codes.badge_on(codes.ticket_code(order_number=980_000, serial=1)) is None


def test_of_a_badge_only_its_hash_is_kept(mara):
    code = tablets.new_badge(person=mara)
    kept = Person.objects.get(pk=mara.pk).badge
    assert re.fullmatch("[0-9a-f]{64}", kept)
    assert code not in kept


def test_a_new_badge_makes_the_old_one_worthless_and_a_lost_one_is_taken(wall, mara):
    old, new = tablets.new_badge(person=mara), tablets.new_badge(person=mara)
    assert "isn't known here" in scan(wall, old)
    assert scan(wall, new) == mara
    tablets.take_badge(person=mara)
    assert "isn't known here" in scan(wall, new)


@pytest.mark.parametrize("change", [{"is_active": False}, {"roles": ["sales"]}])
def test_who_left_the_workshop_signs_in_neither_way(wall, mara, change):
    code = tablets.new_badge(person=mara)
    Person.objects.filter(pk=mara.pk).update(**change)
    assert isinstance(scan(wall, code), str)
    assert isinstance(attempt(wall, mara, RIGHT), str)


def test_waits_are_said_in_whole_seconds_and_minutes_never_too_short():
    said = [tablets.in_words(dt.timedelta(seconds=seconds)) for seconds in (0.2, 10, 90, 91, 640)]
    assert said == ["1 second", "10 seconds", "90 seconds", "2 minutes", "11 minutes"]


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("round_", range(3))
def test_of_many_wrong_pins_at_once_three_are_looked_at(round_, maker):
    tablets.set_pin(person=maker, pin=RIGHT)
    wall, now = tablet(), timezone.now()
    answers = at_once(*[lambda: attempt(wall, maker, WRONG, now) for _ in range(8)])
    assert sorted(said.split(".")[0] for said in answers) == sorted(
        ["That is not the PIN of Mara Lind"] * 3 + ["Too many wrong PINs for Mara Lind"] * 5
    )
    maker.refresh_from_db()
    assert (maker.wrong_pins, maker.pin_waits_until) == (3, now + 10 * SECOND)
    assert Tablet.objects.get(pk=wall.pk).tries_until == now + 3 * tablets.TRY_BACK_AFTER


@pytest.mark.django_db(transaction=True)
def test_of_many_unknown_badges_at_once_ten_are_looked_at():
    wall, now = tablet(), timezone.now()
    answers = at_once(*[lambda guess=guess: scan(wall, codes.badge_code(guess), now) for guess in range(14)])
    assert sum("isn't known" in said for said in answers) == 10
    assert sum("Too many wrong tries" in said for said in answers) == 4
