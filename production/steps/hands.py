"""How a blind is worked and drawn, by its spec: hands, draws, and the words for them."""

from ..words import N_

DRAWS = {"one_way": N_("one way"), "reverse": N_("reverse"), "split": N_("split")}
SIDES = {"left": N_("left"), "right": N_("right")}


def looped(spec):
    """Whether cord and chain hang from this blind."""
    return spec["operation"] == "cord_chain"


def bunch_hands(spec):
    """The hand of each bunch's carriers: where it gathers."""
    other = {"left": "right", "right": "left"}
    return {
        "split": (spec["hand"], other[spec["hand"]]),
        "one_way": (spec["hand"],),
        "reverse": (other[spec["hand"]],),
    }[spec["draw"]]
