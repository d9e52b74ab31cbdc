"""Where every part of a headrail stands, in millimetres from the blind's left finished end, seen from the room.

Exact: fractions throughout. All views are drawn from this and from nothing else. The constants are read from the
working of the figures, so a drawing shows the very numbers that its figures were computed with.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

LEFT, RIGHT = "left", "right"
OTHER = {LEFT: RIGHT, RIGHT: LEFT}

CLOSED, DRAWN, GAP_CHECK = "closed", "drawn", "gap_check"
STATES = (CLOSED, DRAWN, GAP_CHECK)

END_COVER, CONTROL_SET, IDLE_SET, TUBE = "end_cover", "control_end_set", "idle_end_set", "spacer_tube"
CARRIER, LEAD, LINK, CLEAR = "carrier", "lead_carrier", "link", "clear"


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A length along the rail that one part takes up, or that stands clear."""

    part: str
    left: Fraction
    right: Fraction

    @property
    def length(self):
        return self.right - self.left

    @property
    def middle(self):
        return (self.left + self.right) / 2


@dataclass(frozen=True, kw_only=True)
class Carrier:
    """One carrier by its axis; `place` counts from the anchored carrier of its bunch, which is 0."""

    axis: Fraction
    body: Fraction
    hand: str
    place: int
    lead: bool
    held: bool = False

    @property
    def left(self):
        return self.axis - self.body / 2

    @property
    def right(self):
        return self.axis + self.body / 2

    @property
    def anchored(self):
        return self.place == 0


@dataclass(frozen=True, kw_only=True)
class Layout:
    """A headrail in one state. `pieces` lie end to end over the finished width; `controls` is None on a wand blind."""

    state: str
    hand: str
    controls: str | None
    width: Fraction
    vane_width: Fraction
    rail: Piece
    rod: Piece
    pieces: tuple[Piece, ...]
    carriers: tuple[Carrier, ...]
    stops: tuple[Fraction, ...]
    brackets: tuple[Fraction, ...]

    def bunch(self, hand):
        """The carriers of one hand, from the left."""
        return tuple(carrier for carrier in self.carriers if carrier.hand == hand)

    @property
    def bunch_hands(self):
        return tuple(hand for hand in (LEFT, RIGHT) if self.bunch(hand))

    @property
    def leads(self):
        return tuple(carrier for carrier in self.carriers if carrier.lead)

    @property
    def span(self):
        """From the outermost carrier's axis to the other's."""
        return Piece(part="span", left=self.carriers[0].axis, right=self.carriers[-1].axis)

    def piece(self, part, *, side=LEFT):
        """The piece of that part nearest to `side`, or None."""
        found = [piece for piece in self.pieces if piece.part == part]
        return (found[0] if side == LEFT else found[-1]) if found else None

    @property
    def gap(self):
        """The one clear length: between the lead carriers, or between the lead carrier and the far tube; or None."""
        return self.piece(CLEAR)

    def mirrored(self):
        """The same headrail with left and right exchanged."""
        flip = self.width.__sub__

        def over(piece):
            return replace(piece, left=flip(piece.right), right=flip(piece.left))

        carriers = (replace(c, axis=flip(c.axis), hand=OTHER[c.hand]) for c in reversed(self.carriers))
        return replace(
            self,
            hand=OTHER[self.hand],
            controls=self.controls and OTHER[self.controls],
            rail=over(self.rail),
            rod=over(self.rod),
            pieces=tuple(over(piece) for piece in reversed(self.pieces)),
            carriers=tuple(carriers),
            stops=tuple(sorted(map(flip, self.stops))),
            brackets=tuple(sorted(map(flip, self.brackets))),
        )


def layout(*, spec: Mapping, components: Mapping, state: str = CLOSED) -> Layout:
    """The headrail of this spec and these components, closed, drawn right back, or laid out for the gap check.

    Raises ValueError for another state, and for components with no carriers (a refused size has none).
    """
    if state not in STATES:
        raise ValueError(f"A headrail is drawn {', '.join(STATES)}; not {state!r}.")
    if not components.get("carriers"):
        raise ValueError("There is no headrail to draw: the size was refused, so its figures are missing.")
    built = _left_handed(spec, components, state)
    return built if spec["hand"] == LEFT else built.mirrored()


def exact(value) -> Fraction:
    """A figure as JSON gives it, taken at its word: 76.7727 is 767727/10000."""
    return Fraction(str(value))


def constants(components: Mapping) -> dict[str, Fraction]:
    """The system's constants that the row of parts is laid by, as they stand in the working of the figures.

    `inset_mm.left` and `inset_mm.right` are how far each end set reaches in. Raises ValueError where the working does
    not hold one of them.
    """
    put_in = {entry["name"]: entry["values"] for entry in components["working"]}
    bunched = "left" if components["carriers"]["left"] else "right"
    places = {
        "end_cover_mm": ("rail_cut_mm", "end_cover_mm"),
        "bracket_inset_mm": ("brackets", "bracket_inset_mm"),
        "link_pitch_mm": ("carriers.total", "link_pitch_mm"),
        "carrier_body_mm": (f"stack_mm.{bunched}", "carrier_body_mm"),
        "lead_body_mm": (f"stack_mm.{bunched}", "lead_body_mm"),
        "inset_mm.left": ("outermost_mm.left", "inset_mm"),
        "inset_mm.right": ("outermost_mm.right", "inset_mm"),
    }
    try:
        return {name: exact(put_in[figure][value]) for name, (figure, value) in places.items()}
    except KeyError as missing:
        raise ValueError(
            f"The headrail can't be drawn: its working does not say {missing}. Compute it again."
        ) from None


def _left_handed(spec, components, state):
    """The layout as if the hand were left; a right-hand blind is its mirror image."""
    known = constants(components)
    width, cover = exact(components["finished_width_mm"]), known["end_cover_mm"]
    looped = spec["operation"] == "cord_chain"
    ends = _ends(spec, components, known)
    carriers = tuple(_carriers(spec, components, known, state, ends=ends, width=width))
    rod = exact(components["tilt_rod_cut_mm"])
    stops = tuple(c.right if c.hand == LEFT else c.left for c in carriers if c.anchored)
    return Layout(
        state=state,
        hand=LEFT,
        controls=LEFT if looped else None,
        width=width,
        vane_width=exact(spec["vane_width_mm"]),
        rail=Piece(part="rail", left=cover, right=cover + exact(components["rail_cut_mm"])),
        # Only the rod's length is given; it is drawn with its shortfall shared between the ends.
        rod=Piece(part="tilt_rod", left=(width - rod) / 2, right=(width + rod) / 2),
        pieces=tuple(_pieces(ends, carriers, cover=cover, width=width, looped=looped)),
        carriers=carriers,
        stops=stops,
        brackets=_brackets(
            components["brackets"], rail=width - 2 * cover, cover=cover, inset=known["bracket_inset_mm"]
        ),
    )


def _ends(spec, components, known):
    """For each end, as if the hand were left, how far its end set reaches in and its tube's length."""
    tubes = components["spacer_tubes_mm"]
    near, far = spec["hand"], OTHER[spec["hand"]]
    return {side: (known[f"inset_mm.{end}"], exact(tubes[end])) for side, end in ((LEFT, near), (RIGHT, far))}


def _carriers(spec, components, known, state, *, ends, width):
    near, far = spec["hand"], OTHER[spec["hand"]]
    sizes = {LEFT: components["carriers"][near], RIGHT: components["carriers"][far]}
    for hand in (LEFT, RIGHT):
        count = sizes[hand]
        if not count:
            continue
        offsets = _offsets(spec, components, known, state, count=count, ends=ends, width=width)
        start = sum(ends[hand]) + known["carrier_body_mm"] / 2
        held = components["gap_check_held"] if state == GAP_CHECK else 0
        bunch = [
            Carrier(
                axis=start + offset if hand == LEFT else width - start - offset,
                body=known["lead_body_mm"] if place == count - 1 else known["carrier_body_mm"],
                hand=hand,
                place=place,
                lead=place == count - 1,
                held=place < held,
            )
            for place, offset in enumerate(offsets)
        ]
        yield from bunch if hand == LEFT else reversed(bunch)


def _offsets(spec, components, known, state, *, count, ends, width):
    """How far each carrier of a bunch stands from its anchored carrier."""
    body, lead, pitch = known["carrier_body_mm"], known["lead_body_mm"], known["link_pitch_mm"]
    close = [body] * (count - 2) + [(body + lead) / 2] * (count > 1)
    if state == DRAWN:
        steps = close
    elif state == GAP_CHECK:
        held = components["gap_check_held"]
        steps = close[: held - 1] + [pitch] * (count - held)
    elif spec["draw"] == "split":
        span = width - sum(ends[LEFT]) - sum(ends[RIGHT]) - body
        middle = exact(components["centre_spacing_mm"])
        steps = [(span - middle) / (2 * (count - 1))] * (count - 1) if count > 1 else []
    else:
        span = width - sum(ends[LEFT]) - sum(ends[RIGHT]) - (body + lead) / 2
        steps = [span / (count - 1)] * (count - 1) if count > 1 else []
    offsets = [Fraction(0)]
    for step in steps:
        offsets.append(offsets[-1] + step)
    return offsets


def _pieces(ends, carriers, *, cover, width, looped):
    """Everything along the blind, end to end, from one finished end to the other."""
    yield Piece(part=END_COVER, left=Fraction(0), right=cover)
    yield Piece(part=CONTROL_SET if looped else IDLE_SET, left=cover, right=ends[LEFT][0])
    edge = sum(ends[LEFT])
    yield Piece(part=TUBE, left=ends[LEFT][0], right=edge)
    before = None
    for carrier in carriers:
        if carrier.left > edge:
            linked = before is not None and before.hand == carrier.hand
            yield Piece(part=LINK if linked else CLEAR, left=edge, right=carrier.left)
        yield Piece(part=LEAD if carrier.lead else CARRIER, left=carrier.left, right=carrier.right)
        edge, before = carrier.right, carrier
    far_tube = width - sum(ends[RIGHT])
    if far_tube > edge:
        yield Piece(part=CLEAR, left=edge, right=far_tube)
    yield Piece(part=TUBE, left=far_tube, right=width - ends[RIGHT][0])
    yield Piece(part=IDLE_SET, left=width - ends[RIGHT][0], right=width - cover)
    yield Piece(part=END_COVER, left=width - cover, right=width)


def _brackets(count, *, rail, cover, inset):
    step = (rail - 2 * inset) / (count - 1)
    return tuple(cover + inset + place * step for place in range(count))
