"""What stands on a pack label: what is in the pack, and a warning in plain words of our own.

Common practice, no source, but for the signal word: WARNING is the word of ANSI Z535.4 for what could result in death
or serious injury.
"""

from orders.models.choices import WORDS
from production import codes, steps
from production.drawing.pen import figure_text
from production.words import N_, _, ngettext

from .paper import TRIANGLE, identity_of


def pack_of(blind):
    """All that one pack label shows."""
    return {
        **identity_of(blind),
        "code128": codes.code128_svg(blind.label_code, dots=3, height_mm=8.5),
        "contents": contents_of(blind),
        "warning": pack_warning(blind.spec),
        "triangle": TRIANGLE,
    }


def contents_of(blind):
    """What is in the pack, counted."""
    figures, spec = blind.components, blind.spec
    vanes = figures["vanes"]["count"]
    found = [_("headrail"), _("{count} vanes", count=vanes), _("{count} bottom weights", count=vanes)]
    if figures["bottom_chain_mm"]:
        found.append(_("bottom chain {length} mm", length=figure_text(figures["bottom_chain_mm"])))
    fixing = _(WORDS[spec["fixing"]]).lower()
    found.append(_("{count} brackets ({fixing}) with screws", count=figures["brackets"], fixing=fixing))
    if figures["wands"]:
        found.append(
            ngettext(
                "{count} wand {length} mm",
                "{count} wands {length} mm",
                figures["wands"],
                length=figure_text(figures["wand_mm"]),
            )
        )
    return [*found, _("instructions")]


FITTING = {
    "tensioner": N_("Fix the tensioner to the wall, so that cord and chain stay taut, before the blind is used."),
    "breakaway": N_("Close the breakaway joints and see that each opens when pulled."),
    "weight": N_("Keep the weight on the loop."),
}
OUT_OF_REACH = N_("Keep cords and chains out of reach. Never tie or twist them together.")


def pack_warning(spec):
    """The pack's warning in plain words of our own; a market's law or standard may prescribe others, or more."""
    if steps.looped(spec):
        return [
            _("Young children can be strangled by the loops of cord and chain."),
            " ".join((_(FITTING[spec["loop_control"]]), _(OUT_OF_REACH))),
            _("Keep beds, cots, chairs and anything to climb on away from them. Read the instructions first."),
        ]
    if spec["bottom"] == "chain":
        return [
            _("Young children can be strangled by loops of chain."),
            _(
                "The chains at the foot of the vanes hang in loops between them: leave them clipped to every vane, "
                "and take off any that has come loose."
            ),
            _("Keep beds, cots, chairs and anything to climb on away from the blind. Read the instructions first."),
        ]
    return [
        _("Cords and chains on blinds can strangle young children."),
        _("This blind has none to pull. Add none."),
        _("Read the instructions before it is put up."),
    ]
