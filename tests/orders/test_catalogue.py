"""Systems and their dated revisions: what the only writer allows, and what a released blind never notices."""

import datetime as dt
from dataclasses import replace

import pytest
from django.db import IntegrityError, transaction

from calc.book import with_values
from calc.system import DEMO_38
from orders import catalogue, intake
from orders.models import Fabric, HardwareSystem, OrderLine, SystemRevision
from tests import factories

pytestmark = pytest.mark.django_db

LATER = factories.AT + dt.timedelta(days=1)


@pytest.fixture
def manager():
    return factories.person("manager", name="rhea")


@pytest.fixture
def system():
    return factories.system()


def drafted(system, by, **values):
    """A draft of `system` with some constants changed; dots stand as two underscores."""
    draft = catalogue.new_draft(system=system, by=by, at=factories.AT)
    changed = {key.replace("__", "."): value for key, value in values.items()}
    constants = with_values(draft.as_system(), changed)
    return catalogue.change_draft(revision=draft, seen=draft.as_system(), constants=constants)


def revisions(system):
    return dict(system.revisions.order_by("number").values_list("number", "state"))


def test_a_draft_starts_as_a_copy_of_the_newest_revision_under_its_own_number(system, manager):
    draft = catalogue.new_draft(system=system, by=manager, at=LATER)
    assert (draft.number, draft.state, draft.drafted_by, draft.drafted_at) == (2, "draft", manager, LATER)
    assert draft.as_system() == replace(DEMO_38, revision=2)
    assert SystemRevision.objects.current(system=system).number == 1


def test_a_system_has_one_draft_at_a_time_and_says_whose(system, manager):
    catalogue.new_draft(system=system, by=manager, at=LATER)
    with pytest.raises(catalogue.Refused, match="has a draft already: revision 2, drafted by rhea. Edit that one"):
        catalogue.new_draft(system=system, by=manager, at=LATER)
    with pytest.raises(catalogue.Refused, match="has a draft already"):
        catalogue.import_draft(system=system, constants=DEMO_38, by=manager, at=LATER)
    assert revisions(system) == {1: "published", 2: "draft"}


@pytest.mark.parametrize("state", ["draft", "published"])
def test_the_database_itself_refuses_a_second_draft_and_a_second_revision_in_force(system, state):
    values = {"system": system, "state": state, "constants": {}, "published_at": factories.AT}
    if state == "draft":
        SystemRevision.objects.create(number=2, **values)
    with pytest.raises(IntegrityError), transaction.atomic():
        SystemRevision.objects.create(number=3, **values)


def test_publishing_dates_the_draft_and_retires_the_one_before(system, manager):
    draft = drafted(system, manager, end_cover_mm=4)
    catalogue.publish(revision=draft, by=manager, at=LATER)
    assert revisions(system) == {1: "retired", 2: "published"}
    before, now = system.revisions.order_by("number")
    assert (before.retired_by, before.retired_at, before.published_at) == (manager, LATER, factories.AT)
    assert (now.published_by, now.published_at) == (manager, LATER)
    assert SystemRevision.objects.current(system=system).as_system().end_cover_mm == 4


@pytest.mark.parametrize("number", [1, 2])
def test_a_published_or_retired_revision_is_never_changed(system, manager, number):
    catalogue.publish(revision=drafted(system, manager, end_cover_mm=4), by=manager, at=LATER)
    revision = system.revisions.get(number=number)
    kept = revision.constants
    for refused in (
        lambda: catalogue.change_draft(
            revision=revision, seen=revision.as_system(), constants=with_values(DEMO_38, {"end_cover_mm": 5})
        ),
        lambda: catalogue.publish(revision=revision, by=manager, at=LATER),
        lambda: catalogue.discard_draft(revision=revision),
    ):
        with pytest.raises(catalogue.Refused, match="is never changed: released blinds were worked out with it"):
            refused()
    revision.refresh_from_db()
    assert (revision.constants, revisions(system)) == (kept, {1: "retired", 2: "published"})


def test_a_change_made_from_an_older_look_overwrites_nothing(system, manager):
    draft = catalogue.new_draft(system=system, by=manager, at=LATER)
    opened = draft.as_system()
    catalogue.change_draft(revision=draft, seen=opened, constants=with_values(opened, {"end_cover_mm": 4}))
    with pytest.raises(catalogue.Refused, match="was changed by somebody else while you had it open"):
        catalogue.change_draft(revision=draft, seen=opened, constants=with_values(opened, {"end_cover_mm": 5}))
    draft.refresh_from_db()
    assert draft.as_system().end_cover_mm == 4


def test_a_draft_keeps_its_systems_code_and_its_own_number_whatever_is_put_in(system, manager):
    stranger = replace(DEMO_38, code="bay-45", revision=9)
    draft = catalogue.import_draft(system=system, constants=stranger, by=manager, at=LATER)
    assert (draft.as_system().code, draft.as_system().revision) == ("demo-38", 2)


def test_a_value_outside_its_sane_range_is_refused_with_the_values(system, manager):
    with pytest.raises(catalogue.Refused, match="end_cover_mm: 300 mm is outside the sane range, 0 to 20 mm"):
        drafted(system, manager, end_cover_mm=300)
    with pytest.raises(catalogue.Refused, match="end_cover_mm: 300 mm"):
        catalogue.add_system(
            code="bay-45", name="Bay 45", constants=replace(DEMO_38, end_cover_mm=300), by=manager, at=LATER
        )
    assert list(HardwareSystem.objects.all()) == [system]


def test_a_draft_that_breaks_a_rule_of_geometry_is_not_published_and_says_every_reason(system, manager):
    draft = drafted(system, manager, vane_89__lead_tube_one_way_mm=10, vane_127__link_pitch_mm=127)
    with pytest.raises(catalogue.Refused) as refused:
        catalogue.publish(revision=draft, by=manager, at=LATER)
    assert any("7 mm less than the 47.5 mm" in problem for problem in refused.value.problems)
    assert any("127 mm vanes: link_pitch_mm is 127 mm" in problem for problem in refused.value.problems)
    assert revisions(system) == {1: "published", 2: "draft"}


def test_a_retired_system_has_nothing_in_force_and_its_lines_cant_be_released(system, manager):
    order = factories.order(by=manager, lines=[{}])
    catalogue.retire(system=system, by=manager, at=LATER)
    assert revisions(system) == {1: "retired"}
    (problem,) = intake.line_problems(line=order.lines.get(), market=order.market)
    assert "has no published revision" in problem
    with pytest.raises(catalogue.Refused, match="nothing to retire"):
        catalogue.retire(system=system, by=manager, at=LATER)


def test_a_retired_system_comes_back_with_a_new_revision(system, manager):
    catalogue.retire(system=system, by=manager, at=LATER)
    catalogue.publish(revision=catalogue.new_draft(system=system, by=manager, at=LATER), by=manager, at=LATER)
    assert revisions(system) == {1: "retired", 2: "published"}


def test_publishing_changes_nothing_for_a_blind_that_is_released(system, manager):
    (blind,) = factories.released(by=manager)
    kept = blind.components, blind.revision_id
    catalogue.publish(revision=drafted(system, manager, vane_89__link_pitch_mm=70), by=manager, at=LATER)
    blind.refresh_from_db()
    assert (blind.components, blind.revision_id) == kept
    assert blind.revision.state == "retired"


def test_discarding_leaves_the_rest_and_a_system_that_is_only_a_draft_goes_with_it(system, manager):
    catalogue.discard_draft(revision=catalogue.new_draft(system=system, by=manager, at=LATER))
    assert revisions(system) == {1: "published"}
    made = catalogue.add_system(code="bay-45", name="Bay 45", constants=DEMO_38, by=manager, at=LATER)
    catalogue.discard_draft(revision=made.revisions.get())
    assert list(HardwareSystem.objects.all()) == [system]


def test_a_code_is_taken_once(system, manager):
    with pytest.raises(catalogue.Refused, match="There is a system demo-38 already"):
        catalogue.add_system(code="demo-38", name="Another", constants=DEMO_38, by=manager, at=LATER)


# Fabrics


def test_a_fabric_that_lines_use_is_not_taken_off_the_list_only_no_longer_offered(manager):
    factories.order(by=manager, lines=[{}, {}])
    fabric = Fabric.objects.get()
    with pytest.raises(
        catalogue.Refused, match="used by 2 order lines, so it can't be taken off the list. Stop offering"
    ):
        catalogue.remove_fabric(fabric=fabric)
    catalogue.offer_fabric(fabric=fabric, offered=False)
    assert not Fabric.objects.offered().exists()
    assert OrderLine.objects.counted_by_fabric() == {fabric.pk: 2}


def test_a_fabric_that_lines_use_keeps_its_vane_width(manager):
    factories.order(by=manager, lines=[{}])
    fabric = Fabric.objects.get()
    with pytest.raises(catalogue.Refused, match="used by 1 order line and stays 89 mm. Add the 127 mm roll"):
        catalogue.change_fabric(fabric=fabric, vane_width_mm=127)
    catalogue.change_fabric(fabric=fabric, stiffness="rigid", vane_width_mm=89)
    fabric.refresh_from_db()
    assert (fabric.stiffness, fabric.vane_width_mm) == ("rigid", 89)


def test_a_fabric_that_no_line_uses_is_taken_off_the_list():
    catalogue.remove_fabric(fabric=factories.fabric())
    assert not Fabric.objects.exists()
