"""A compiled question is answered as Django's own is, whatever it looks for, and as things stand at each call."""

import pytest
from django.utils import timezone

from orders.compiled import Compiled
from orders.models import Person
from production.models import StationEvent
from production.route import RAILING
from tests.factories import person, released, work

pytestmark = pytest.mark.django_db


@pytest.fixture
def named():
    return Compiled(lambda name: Person.objects.filter(username=name))


def test_each_value_is_looked_for_as_things_stand_at_the_time(named):
    first, second = person("maker"), person("sales")
    assert named(first.username) == [first]
    assert named(second.username) == [second]
    assert named("nobody' OR '1'='1") == []
    Person.objects.filter(pk=first.pk).update(first_name="Renamed Since")
    assert [each.first_name for each in named(first.username)] == ["Renamed Since"]


def test_every_field_is_as_django_reads_it(named):
    blind = released()[0]
    work(blind, RAILING, by=person("maker"))
    ask = StationEvent.objects.select_related("person", "blind__order").filter
    events = Compiled(lambda pk: ask(blind=pk).order_by("-sequence"))
    anew = list(ask(blind=blind).order_by("-sequence"))
    for _ in range(2):
        found = events(blind.pk)
        assert [vars_of(event) for event in found] == [vars_of(event) for event in anew]
        assert [vars_of(event.blind) for event in found] == [vars_of(event.blind) for event in anew]
        assert found[0].blind.order == anew[0].blind.order


def vars_of(row):
    return {name: value for name, value in vars(row).items() if name != "_state"}


def test_it_puts_one_question_each_time(named, django_assert_num_queries):
    for _ in range(3):
        with django_assert_num_queries(1):
            named("anybody")


def test_what_its_sql_would_not_hold_as_it_is_given_is_refused(named):
    with pytest.raises(TypeError, match="whole numbers and texts"):
        named(None)
    with pytest.raises(TypeError, match="whole numbers and texts"):
        Compiled(lambda at: Person.objects.filter(last_login__gt=at))(timezone.now())
    with pytest.raises(TypeError, match="alone"):
        Compiled(lambda name: Person.objects.filter(username=name, is_active=True, first_name="Fixed"))("anybody")
    with pytest.raises(TypeError, match="alone"):
        Compiled(lambda name, other: Person.objects.filter(username=name, first_name=other))("the same", "the same")
