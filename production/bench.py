"""A blind as it stands at the bench: what has been entered, the figures that follow from it, and what is still open."""

from dataclasses import dataclass

from calc.components import components
from calc.tolerance import verdict
from orders.compiled import Compiled
from orders.models import Person

from . import route, steps
from .from_calc import said
from .kept import digest
from .models import Blind, Stage, StationEvent
from .words import N_, _

OUTSIDE = "outside"
NOT_YET = {
    steps.COUNT: N_("Not counted yet: {step}"),
    steps.MEASURE: N_("Not measured yet: {step}"),
    steps.NOTE: N_("Not written down yet: {step}"),
    steps.ACKNOWLEDGE: N_("Not acknowledged yet: {step}"),
    steps.TICK: N_("Not confirmed yet: {step}"),
    steps.SAFETY: N_("Not confirmed yet: {step}"),
}


@dataclass(frozen=True, kw_only=True)
class BenchStep:
    """A step with what was last entered for it; `verdict` is within, doubtful or outside for a measure."""

    step: steps.Step
    entry: StationEvent | None
    verdict: str | None = None

    @property
    def value(self):
        return self.entry.data.get("value") if self.entry else None

    @property
    def problem(self):
        """Why this step still holds the station up, or None."""
        step = self.step
        if not step.must:
            return None
        if self.entry is None:
            return _(NOT_YET[step.kind], step=step)
        if step.kind == steps.COUNT and self.value != step.expected:
            return _(
                "Counted {value} where the ticket says {expected}. Count again: {step}",
                value=self.value,
                expected=step.expected,
                step=step,
            )
        if self.verdict == OUTSIDE and step.binding:
            return _(
                "Measured {value} mm where the ticket says {expected} mm ±{tolerance} mm. "
                "Put it right and measure again: {step}",
                value=self.value,
                expected=step.expected,
                tolerance=step.tolerance_mm,
                step=step,
            )
        return None


@dataclass(frozen=True, kw_only=True)
class Bench:
    """One blind at one station, read once: its stages, events, figures, steps and the findings of what was measured."""

    blind: Blind
    station: str
    stages: dict[str, Stage]
    events: tuple[StationEvent, ...]
    chain: StationEvent | None
    components: dict
    steps: tuple[BenchStep, ...]

    @property
    def mark(self):
        """A key of all that its figures and its steps follow from, save what was entered for them."""
        blind, measured_mm = self.blind, self.chain.data["value"] if self.chain else None
        told = (blind.fabric, blind.special_instruction, blind.concerns, blind.revision_id)
        return digest(self.station, blind.code, blind.spec, blind.components, told, measured_mm)

    @property
    def stage(self):
        return self.stages[self.station]

    @property
    def refusals(self):
        """Findings that stop the blind, such as a cord that would hang too low by the measured chain."""
        return [
            {**found, "message": said(found["message"]), "source": said(found["source"])}
            for found in self.components["findings"]
            if found["severity"] == "refuse"
        ]

    @property
    def problems(self):
        """Everything that still keeps the station from being finished."""
        return [found["message"] for found in self.refusals] + [bench.problem for bench in self.steps if bench.problem]


def stages_of(blind):
    return {stage.station: stage for stage in blind.stages.select_related("person")}


@Compiled
def events_of(blind):
    """All that happened to the blind with this key, in order."""
    return StationEvent.objects.of_blind(blind)


def entries_of(events, *, stages):
    """The newest entry of each step, by station and key; what was entered before a station began anew is void."""
    return {
        (event.station, event.data["key"]): event
        for event in events
        if event.kind == route.STEP and event.attempt == stages[event.station].attempt
    }


def read(*, blind, station, stages=None):
    """The blind as it stands at `station`."""
    stages = stages or stages_of(blind)
    events = tuple(events_of(blind.pk))
    entries = entries_of(events, stages=stages)
    chain = entries.get((route.STRINGING, "chain"))
    figures = figures_at_bench(blind=blind, measured_chain=chain)
    wanted = steps.steps_for(
        station=station,
        spec=blind.spec,
        components=figures,
        nominal=blind.components,
        special_instruction=blind.special_instruction,
        concerns=blind.concerns,
        tape_class=blind.revision.tape_class,
    )
    return Bench(
        blind=blind,
        station=station,
        stages=stages,
        events=events,
        chain=chain,
        components=figures,
        steps=tuple(_with_entry(step, entries.get((station, step.key))) for step in wanted),
    )


def name_people(here, *, known=()):
    """Let each event say who it was by, with one query at most; `known` are people read already."""
    people = {stage.person_id: stage.person for stage in here.stages.values()} | {each.pk: each for each in known}
    if unknown := {event.person_id for event in here.events} - set(people):
        people |= Person.objects.in_bulk(unknown)
    for event in here.events:
        event.person = people[event.person_id]


def names():
    """What everybody's name is made of, in order of their keys."""
    return list(Person.objects.order_by("pk").values_list("pk", "first_name", "last_name", "username"))


def figures_at_bench(*, blind, measured_chain):
    """The frozen figures, with cord and chain worked out anew once the chain has been measured."""
    if measured_chain is None:
        return blind.components
    spec = {**blind.spec, "measured_chain_mm": measured_chain.data["value"]}
    return components(spec, systems={blind.spec["system"]: blind.revision.as_system()})


def figures_now(*, blind):
    """The figures as they stand: the frozen ones, with cord and chain by the chain as it was measured, once it was."""
    return read(blind=blind, station=route.STRINGING).components


def _with_entry(step, entry):
    found = None
    # A chain of one ball is shorter than the tolerance table goes: there is nothing to judge it by.
    if entry is not None and step.kind == steps.MEASURE and step.tolerance_mm is not None:
        found = verdict(
            measured_mm=entry.data["value"],
            nominal_mm=step.expected,
            tolerance_mm=step.tolerance_mm,
            tape=step.tape_class,
        )
    return BenchStep(step=step, entry=entry, verdict=found)
