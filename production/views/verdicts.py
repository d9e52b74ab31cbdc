"""What is said of a value that was entered, or may be: the band it falls in, in words, and what the maker does next."""

from dataclasses import dataclass

from calc.bands import bands
from orders.templatetags.trade import figure
from production import steps
from production.words import N_, _

WITHIN, DOUBTFUL, OUTSIDE, RIGHT, WRONG, WRITTEN = "within", "doubtful", "outside", "right", "wrong", "written"


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """What is said of each value from `from_mm` to `to_mm`, both included; None: however short, or long.

    For a count the two are numbers of pieces. `holds`: the station can't be finished with such a value.
    """

    name: str
    words: str = ""
    advice: str = ""
    from_mm: int | float | None = None
    to_mm: int | float | None = None
    holds: bool = False


PATTERNS = {
    steps.COUNT: r"\s*[0-9]{1,3}\s*",
    steps.MEASURE: r"\s*(?!0*[.,]?0*\s*$)(0*[0-9]{1,4}([.,][0-9]0*)?|0*10000([.,]0+)?)\s*",
    steps.NOTE: r"\s*\S.{0,59}\s*",
}
"""What may be typed for a kind of step, as a browser reads patterns; record has the last word."""
SHAPES = {
    steps.COUNT: N_("Type a whole number from 0 to 999."),
    steps.MEASURE: N_("Type millimetres from 0.1 to 10000, such as 63 or 63.5."),
    steps.NOTE: N_("Write 1 to 60 characters."),
}


def verdict_on(found):
    """The verdict on what was entered for a step at the bench, or None where nothing was."""
    if found.entry is None or found.step.kind not in (steps.COUNT, steps.MEASURE, steps.NOTE):
        return None
    if found.verdict:
        return _measured(found.step, found.verdict, smaller=found.value < found.step.expected)
    if found.step.kind == steps.COUNT:
        return _counted(found.step, found.value - found.step.expected)
    return Verdict(name=WRITTEN)


def verdicts_of(step):
    """Every verdict that a value entered for `step` may get: the first that holds the value is its own."""
    if step.kind == steps.COUNT:
        return [
            _counted(step, 0, from_mm=step.expected, to_mm=step.expected),
            _counted(step, -1, to_mm=step.expected - 1),
            _counted(step, 1, from_mm=step.expected + 1),
        ]
    if step.kind == steps.NOTE or (step.kind == steps.MEASURE and step.tolerance_mm is None):
        return [Verdict(name=WRITTEN)]
    if step.kind != steps.MEASURE:
        return []
    judged = bands(nominal_mm=step.expected, tolerance_mm=step.tolerance_mm, tape=step.tape_class)
    return [
        *(_measured(step, band.verdict, from_mm=band.from_mm, to_mm=band.to_mm) for band in judged),
        _measured(step, OUTSIDE, smaller=True, to_mm=step.expected),
        _measured(step, OUTSIDE, smaller=False, from_mm=step.expected),
    ]


def _measured(step, name, *, smaller=False, **band):
    return Verdict(
        name=name,
        words=_words(step, name),
        advice=_advice(step, name, smaller=smaller),
        holds=name == OUTSIDE and step.binding,
        **band,
    )


def _counted(step, off, **band):
    """The verdict on a count off by `off`, and what a wrong one likely means; common practice, no source."""
    if not off:
        return Verdict(name=RIGHT, **band)
    if step.key == "vane_count":
        few = _("One is missing, or two were counted as one.")
        many = _("One was counted twice, or belongs to another blind.")
    else:
        few = _("The lead carrier counts too; or one is still to go on, or went to the other hand.")
        many = _("One was counted twice, is of the other hand, or is too many: then the gap would come out too small.")
    return Verdict(name=WRONG, advice=few if off < 0 else many, holds=True, **band)


VERDICTS = {
    WITHIN: N_("Within: {allowed}, and inside it by the tape's own {tape} mm."),
    DOUBTFUL: N_("Doubtful: within the tape's own {tape} mm of the edge of {allowed}."),
    OUTSIDE: N_("Outside {allowed}, by more than the tape's own {tape} mm."),
}


def _words(step, name):
    """The verdict on a measure with the band that it follows from."""
    allowed = f"{figure(step.expected)} ±{figure(step.tolerance_mm)} mm"
    tape = figure(step.tape_error_mm)
    return _(VERDICTS[name], allowed=allowed, tape=tape)


def _advice(step, name, *, smaller):
    """What the verdict on a measure tells the maker to do; nothing for what is within. Common practice, no source."""
    if name == DOUBTFUL:
        return _("Too near the limit for a tape to tell. Measure again with a better instrument, such as a caliper.")
    if name != OUTSIDE:
        return ""
    likely = {
        "gap": _("A carrier too many, too long a tube, or a link caught.")
        if smaller
        else _("A carrier too few, too short a tube, or a link not drawn right out."),
        "chain": _("The chain is of another length than ordered: count its balls, and see that it hangs free."),
        "vane_length": _("The cut or a hem is off: measure a second vane, then the stop of the cutter."),
        "width": _("The rail was cut wrong, or an end cover is not home."),
        "drop": _("The wrong vanes, or a hem is off."),
        "loop": _("The chain is off, or the tensioner isn't pulled home."),
    }
    return likely.get(step.key, _("Measure once more before you change anything."))
