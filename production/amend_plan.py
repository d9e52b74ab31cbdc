"""What a change that is asked for would come to: both versions, what is made already, what of it is lost."""

import datetime as dt
import hashlib
import json
from collections import defaultdict
from dataclasses import dataclass, field

from calc.components import components
from orders.models import Fabric, HardwareSystem, Order, OrderLine, SystemRevision
from orders.spec import spec_of

from . import refit, route, scrap
from .models import Amendment, Blind, Stage, StationEvent
from .words import listed

NOT_ASKED = ("id", "order", "position", "taken_off")
LINE_FIELDS = tuple(each for each in OrderLine._meta.concrete_fields if each.name not in NOT_ASKED)


@dataclass(frozen=True, kw_only=True)
class BlindPlan:
    """One blind of a change: how it stands, what there is of it, and what a change would undo."""

    blind: Blind
    stages: dict[str, Stage]
    made: dict[str, int]
    scrapped: list
    again: list[str]
    after: dict | None = None

    @property
    def made_words(self):
        return scrap.words([{"part": part, "count": count} for part, count in self.made.items()])

    @property
    def scrapped_words(self):
        return scrap.words(self.scrapped)

    @property
    def again_words(self):
        return listed(route.STATION[key].english.lower() for key in self.again)

    @property
    def begun(self):
        """The stages at which somebody has begun, in the order of work."""
        return [self.stages[key] for key in route.STATION if self.stages[key].state in route.BEGUN]

    @property
    def problem(self):
        """Why it can't be changed any more, or nothing."""
        state = self.stages[route.PACKING].state
        if state == route.DONE:
            return f"{self.blind.number} is packed, and a packed blind isn't changed. Enter a new order for it."
        if state == route.OFF:
            return f"{self.blind.number} was taken off its order before."
        return ""


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A change that is asked for, as it would come to now; `problems` are why it can't be accepted."""

    amendment: Amendment
    blinds: list[BlindPlan]
    line: OrderLine | None = None
    version: dict | None = None
    problems: list = field(default_factory=list)

    @property
    def before(self):
        return self.blinds[0].blind.frozen if self.blinds and self.version else None

    @property
    def mark(self):
        """Differs whenever a decision would come to something else, so that nobody decides by an old page."""
        seen = [(each.blind.code, each.again, each.scrapped, list(each.made.items())) for each in self.blinds]
        return hashlib.blake2b(repr((seen, self.version, self.problems)).encode(), digest_size=8).hexdigest()


def plans(amendments):
    """The Plan of each of `amendments`, read `with_people`, in their order; a constant number of queries."""
    blinds = {blind.pk: blind for amendment in amendments for blind in amendment.blinds.all()}
    events, stages = defaultdict(list), defaultdict(dict)
    for event in StationEvent.objects.filter(blind__in=blinds).order_by("sequence"):
        events[event.blind_id].append(event)
    for stage in Stage.objects.filter(blind__in=blinds).select_related("person"):
        stages[stage.blind_id][stage.station] = stage
    catalogue = Catalogue()
    return [_plan(amendment, events=events, stages=stages, catalogue=catalogue) for amendment in amendments]


def plan_of(amendment):
    return plans([Amendment.objects.with_people().get(pk=amendment.pk)])[0]


class Catalogue:
    """Fabrics, systems and revisions in force, each read once and only where a change asks for one."""

    def __init__(self):
        self._found = {}

    def fabric(self, key):
        return self._keyed(Fabric, key)

    def system(self, key):
        return self._keyed(HardwareSystem, key)

    def revision(self, system):
        return self._once(("revision", system.pk), lambda: SystemRevision.objects.current(system=system))

    def _keyed(self, model, key):
        return self._once((model, key), lambda: model.objects.get(pk=key))

    def _once(self, key, read):
        if key not in self._found:
            self._found[key] = read()
        return self._found[key]


def asked_of(line):
    """All that `line` says, as an amendment keeps it."""
    return {each.attname: getattr(line, each.attname) for each in LINE_FIELDS}


def line_of(asked, *, order, catalogue=None):
    """The line that an amendment asks for, not saved."""
    catalogue = catalogue or Catalogue()
    known = {each.attname: each.to_python(asked[each.attname]) for each in LINE_FIELDS if each.attname in asked}
    line = OrderLine(order=order, **known)
    line.fabric, line.system = catalogue.fabric(line.fabric_id), catalogue.system(line.system_id)
    return line


def head_of(amendment):
    """The promised day and the note that an amendment of the head asks for; what it leaves alone stays as it is now."""
    asked, was, order = amendment.asked, amendment.asked["was"], amendment.order
    return {
        "due_on": order.due_on if asked["due_on"] == was["due_on"] else dt.date.fromisoformat(asked["due_on"]),
        "note": order.note if asked["note"] == was["note"] else asked["note"],
    }


def version_of(line, *, market, revision):
    """The blind that `line` asks for, frozen under `revision`, and every reason why it can't be made."""
    spec = spec_of(line, market=market)
    figures = components(spec, systems={line.system.code: revision.as_system()})
    version = {
        "spec": spec,
        "components": figures,
        "revision": revision.pk,
        "room": line.room,
        "fabric": str(line.fabric),
        "special_instruction": line.special_instruction,
        "concerns": line.concerns or list(route.STATION),
    }
    # As the database gives it back, so that versions can be compared.
    version = json.loads(json.dumps(version))
    return version, [found["message"] for found in figures["findings"] if found["severity"] == "refuse"]


def revision_for(blind, line, *, catalogue=None):
    """A blind keeps the revision that it was released with, so that no figure moves which nobody asked for; another
    system comes with its revision in force, None where it has none."""
    same = blind is not None and blind.revision.system_id == line.system_id
    return blind.revision if same else (catalogue or Catalogue()).revision(line.system)


def _plan(amendment, *, events, stages, catalogue):
    order, line, version, problems, revision = amendment.order, None, None, [], None
    blinds = list(amendment.blinds.all())
    if order.state != Order.RELEASED:
        problems.append(f"{order} is {order.get_state_display().lower()}. Enter a new order for the change.")
    if amendment.kind in (Amendment.CHANGE, Amendment.ADD):
        line = line_of(amendment.asked, order=order, catalogue=catalogue)
        revision = revision_for(blinds[0] if blinds else None, line, catalogue=catalogue)
        if revision is None:
            problems.append(f"{line.system} has no published revision. Ask a manager to publish one.")
        else:
            version, refusals = version_of(line, market=order.market, revision=revision)
            problems += refusals
    found = [
        _blind_plan(blind, events=events[blind.pk], stages=stages[blind.pk], after=version, revision=revision)
        for blind in blinds
    ]
    problems += [each.problem for each in found if each.problem]
    return Plan(amendment=amendment, blinds=found, line=line, version=version, problems=problems)


def _blind_plan(blind, *, events, stages, after, revision):
    made = refit.made(events=[(each.kind, each.station, each.data) for each in events], version=_first(blind, events))
    before = blind.frozen
    common = {"blind": blind, "stages": stages, "made": made}
    if after is None:
        return BlindPlan(**common, scrapped=refit.lost_with_the_blind(made=made), again=[])
    if after["components"]["rail_cut_mm"] is None:
        return BlindPlan(**common, scrapped=[], again=[])
    return BlindPlan(
        **common,
        scrapped=refit.useless(made=made, before=before, after=after),
        again=refit.again(
            states=stages,
            before=before,
            after=after,
            tape_classes=(blind.revision.tape_class, revision.tape_class),
        ),
        after=after,
    )


def _first(blind, events):
    """The version that the blind was released with."""
    return next((event.data["before"] for event in events if event.kind == route.AMEND), blind.frozen)
