"""The demo's days at work: the office enters and releases orders, makers take blinds through their stations.

Everything that happens is told to the real writers (`orders.intake`, `release`, `record`) in the order of time.
"""

import datetime as dt
import heapq
import itertools
import uuid
from dataclasses import dataclass, field

from orders import intake
from orders.entry import answer_all
from production import route, scrap
from production.record import record
from production.release import release

from . import bench_work, book

# Usual minutes at a station for one blind, and how much longer today, so that a queue shows. Invented.
MINUTES = {route.RAILING: 79, route.VANES: 57, route.STRINGING: 63, route.CHECKING: 32, route.PACKING: 30}
TODAY_LONGER = {route.STRINGING: 0.8, route.CHECKING: 1.35, route.PACKING: 1.6}
FAULT_CHANCE = {route.STRINGING: 0.01, route.CHECKING: 0.045, route.PACKING: 0.007}
AT_WORK = 44
"""The office releases the next order while fewer blinds than this are on their way through the workshop."""
OFFICE_HOURS = (0.1, 2, 4, 6)
LAST_START = dt.timedelta(minutes=12)
"""Nobody takes up another blind so short before the end of a shift."""
FAULT_TODAY = dt.timedelta(minutes=100)
"""So long before now, the checker finds the fault that is being put right now."""
STUCK_STATION = route.STRINGING


@dataclass(kw_only=True)
class Piece:
    """A released blind as the demo follows it."""

    code: str
    entry: book.Entry
    serial: int
    spec: dict
    components: dict
    special_instruction: str
    concerns: list
    stages: dict = field(default_factory=route.released)
    measured_chain_mm: float | None = None
    made_by: set = field(default_factory=set)
    sent_back: bool = False

    @property
    def turn(self):
        """Its place in a queue: as the stations order their work, by the minutes that a workshop begins with."""
        return (*self.entry.turn, self.entry.widths.index(self.spec["vane_width_mm"]), self.serial)


@dataclass(frozen=True)
class Worker:
    """Somebody at work; `stations` are where, first choice first, and 1 is the usual `pace`, 1.2 a slower one."""

    person: object
    stations: tuple
    pace: float


class Workshop:
    def __init__(self, *, entries, shifts, people, workers, tablets, furniture, faults, rng, tell):
        self.entries, self.shifts, self.people, self.workers = entries, shifts, people, workers
        self.tablets, self.furniture, self.faults, self.rng, self.tell = tablets, furniture, faults, rng, tell
        self.systems = {furniture["system"].code: furniture["system"].revisions.get().as_system()}
        self.pieces, self.ready = [], []
        self.leave = itertools.cycle([intake.mark_collected, intake.mark_delivered])
        self.fault_due_at = shifts[-1].closes - FAULT_TODAY
        self.events = 0
        self._plan, self._ties = [], itertools.count()

    def run(self):
        """Live through every shift; what would happen after the last one's end has not happened yet."""
        for entry in self.entries:
            self._at(entry.entered_at, self._enter, entry)
        for number, shift in enumerate(self.shifts, start=1):
            self._at(shift.opens, self.tell, number, self)
            for hours in OFFICE_HOURS:
                self._at(shift.opens + dt.timedelta(hours=hours), self._office)
        for worker in self.workers:
            self._at(self.shifts[0].opens + dt.timedelta(minutes=12), self._look_for_work, worker)
        while self._plan and self._plan[0][0] <= self.shifts[-1].closes:
            at, _, do, given = heapq.heappop(self._plan)
            do(*given, at=at)

    def _at(self, at, do, *given):
        heapq.heappush(self._plan, (at, next(self._ties), do, given))

    # The office

    def _enter(self, entry, *, at):
        desk = self.rng.choice([self.people["sales"], self.people["desk2"]])
        book.enter(entry, desk=desk, rng=self.rng, **self.furniture)

    def _office(self, *, at):
        entered = [entry for entry in self.entries if entry.order]
        for entry in entered:
            self._settle(entry, at=at)
        waiting = [entry for entry in entered if entry.order.state == "confirmed" and entry.story != book.CONFIRMED]
        for entry in sorted(waiting, key=lambda entry: (entry.story != book.STUCK, entry.due_on, entry.order.number)):
            if sum(piece.stages[route.PACKING].state != route.DONE for piece in self.pieces) < AT_WORK:
                self._release(entry, at=at)
        self._hand_over(at=at)

    def _settle(self, entry, *, at):
        """A draft is confirmed once the customer has agreed, or cancelled."""
        if entry.order.state != "draft" or entry.story == book.DRAFT:
            return
        if entry.story == book.CANCELLED:
            intake.cancel(order=entry.order, by=entry.order.entered_by, at=at)
        elif at - entry.entered_at > dt.timedelta(minutes=45) or entry.story:
            answer_all(order=entry.order, by=entry.order.entered_by, at=at)
            intake.confirm(order=entry.order, by=entry.order.entered_by, at=at)

    def _release(self, entry, *, at):
        blinds = release(order=entry.order, by=self.people["sales"], at=at)
        entry.settle_turn([blind.spec for blind in blinds])
        for blind in blinds:
            self.pieces.append(
                Piece(
                    code=blind.code,
                    entry=entry,
                    serial=blind.serial,
                    spec=blind.spec,
                    components=blind.components,
                    special_instruction=blind.special_instruction,
                    concerns=blind.concerns,
                )
            )

    def _hand_over(self, *, at):
        """Ready orders leave a while later, in turn collected and delivered; the newest always waits still."""
        while len(self.ready) > 1 and at - self.ready[0].order.state_since > dt.timedelta(hours=1):
            next(self.leave)(order=self.ready.pop(0).order, by=self.people["sales"], at=at)

    # The stations

    def _queue(self, station):
        found = [piece for piece in self.pieces if piece.stages[station].state in (route.WAITING, route.SENT_BACK)]
        return sorted(found, key=lambda piece: piece.turn)

    def _look_for_work(self, worker, *, at):
        shift = next(shift for shift in self.shifts if shift.closes >= at)
        if at < shift.opens:
            return self._at(self._settled_in(shift), self._look_for_work, worker)
        last = shift is self.shifts[-1]
        if last or at < shift.closes - LAST_START:
            for station in worker.stations:
                for piece in self._queue(station):
                    if station != route.CHECKING or worker.person.username not in piece.made_by:
                        return self._take(piece, station, worker, at=at)
        return self._at(at + self._minutes(6), self._look_for_work, worker)

    def _take(self, piece, station, worker, *, at):
        """Plan all that this worker will do to the piece here, and do the first of it."""
        shift = next(index for index, shift in enumerate(self.shifts) if shift.opens <= at <= shift.closes)
        if station == route.STRINGING:
            piece.measured_chain_mm = None  # strung again, its chain is measured again
        todo = [(route.STEP, {"key": key, "value": value}) for key, value in self._entries(piece, station)]
        todo, end = self._outcome(piece, station, todo, at=at)
        todo.append(end)
        lasts = self._lasts(piece, station, worker, at=at) * (0.4 if end[0] == route.SEND_BACK else 1)
        offsets = sorted(lasts * self.rng.uniform(0.1, 0.95) for _ in todo[:-1])
        self._happen(piece, station, worker, route.START, {}, at=at)
        now, done = at, dt.timedelta()
        for offset, (kind, data) in zip([*offsets, lasts], todo, strict=True):
            while now + offset - done > self.shifts[shift].closes:
                if shift == len(self.shifts) - 1:
                    return  # still in hand now
                done += self.shifts[shift].closes - now
                self._at(self.shifts[shift].closes, self._happen, piece, station, worker, route.PAUSE, {"reason": ""})
                shift += 1
                now = self._settled_in(self.shifts[shift])
                self._at(now, self._happen, piece, station, worker, route.RESUME, {})
            self._at(now + offset - done, self._happen, piece, station, worker, kind, data)
        self._at(now + lasts - done + self._minutes(2), self._look_for_work, worker)

    def _entries(self, piece, station):
        return bench_work.entries(blind=piece, station=station, systems=self.systems, rng=self.rng)

    def _outcome(self, piece, station, todo, *, at):
        """The steps that will be entered, and how it ends: finished, sent back, or put aside."""
        if piece.entry.story == book.STUCK and station == STUCK_STATION and piece.serial == 1:
            return todo[:1], (route.PAUSE, {"reason": "Waits for the customer's own chain"})
        fault = self._fault(piece, station, at=at)
        if fault is None:
            return todo, (route.FINISH, {})
        piece.sent_back = True
        return todo[: len(todo) // 2], (route.SEND_BACK, fault)

    def _fault(self, piece, station, *, at):
        """A fault for this piece, or None. The one that must be seen today is found as soon as its time has come."""
        now_due = self.fault_due_at and at >= self.fault_due_at and station == route.CHECKING
        if (not now_due and self.rng.random() >= FAULT_CHANCE.get(station, 0)) or piece.sent_back:
            return None
        fitting = [
            fault
            for fault in self.faults
            if fault["found_at"] == station
            and (piece.spec["operation"] == "cord_chain" or fault["back_to"] != route.STRINGING)
            and not (now_due and fault["back_to"] != route.RAILING)
        ]
        if now_due:
            self.fault_due_at = None
        fault = self.rng.choice(fitting)
        return {
            **{key: fault[key] for key in ("back_to", "fault", "note")},
            "scrapped": self._scrapped(piece, station, fault.get("scrapped", {})),
        }

    def _scrapped(self, piece, station, parts):
        """The parts of a fault as a tablet sends them; "all" stands for as many as the blind has."""
        limits = scrap.parts_at(station=station, spec=piece.spec, components=piece.components)
        return [
            {"part": part.key, "count": limit if parts[part.key] == "all" else parts[part.key]}
            for part, limit in limits
            if part.key in parts
        ]

    def _happen(self, piece, station, worker, kind, data, *, at):
        record(
            event_id=uuid.UUID(int=self.rng.getrandbits(128), version=4),
            code=piece.code,
            station=station,
            kind=kind,
            by=worker.person,
            at=at,
            tablet=self.tablets[station],
            data=data,
        )
        self.events += 1
        piece.stages = route.after(piece.stages, kind=kind, station=station, back_to=data.get("back_to"))
        if station in route.MADE_AT:
            piece.made_by.add(worker.person.username)
        if kind == route.STEP and (station, data["key"]) == (route.STRINGING, "chain"):
            piece.measured_chain_mm = data["value"]
        if kind == route.FINISH and station == route.PACKING:
            self._packed(piece.entry)

    def _packed(self, entry):
        own = [piece for piece in self.pieces if piece.entry is entry]
        if all(piece.stages[route.PACKING].state == route.DONE for piece in own):
            entry.order.refresh_from_db()
            self.ready.append(entry)

    def _lasts(self, piece, station, worker, *, at):
        size = 0.75 + 0.25 * piece.spec["width_mm"] / 1900
        today = TODAY_LONGER.get(station, 1) if at >= self.shifts[-1].opens else 1
        chance = self.rng.triangular(0.7, 1.5, 0.9)
        return dt.timedelta(minutes=MINUTES[station] * worker.pace * size * today * chance)

    def _minutes(self, upto):
        return dt.timedelta(seconds=self.rng.randrange(30, 60 * upto))

    def _settled_in(self, shift):
        return min(shift.opens + self._minutes(9), shift.closes)
