"""What a line of an order says on a customer's paper, in whole English sentences.

Common practice, no source. A `line` is an `office_papers.PaperLine`.
"""

from orders.customer_papers import COLLECTION, CONFIRMATION, DELIVERY, MEASUREMENTS
from production import pack_label, paper
from production.drawing.pen import figure_text
from production.steps import looped


def line_of(line):
    """What every paper says of a line."""
    spec = line.spec
    return {
        "position": line.position,
        "quantity": line.quantity,
        "room": line.room or "no room named",
        "measured": paper.size(spec["width_mm"], spec["drop_mm"]),
        "basis": BASIS[spec["size_basis"]],
        "made": paper.size(line.components["finished_width_mm"], line.components["finished_drop_mm"]),
        "draw": draw_words(spec),
        "fabric": line.fabric,
        "special": line.special,
    }


BASIS = {"recess": "recess opening", "exact": "exact, finished blind"}
OTHER = {"left": "right", "right": "left"}


def draw_words(spec):
    """Where controls are and where the vanes gather, in a sentence that needs no knowledge of the trade."""
    hand = spec["hand"]
    if spec["draw"] == "split":
        where = "the vanes part in the middle and gather at both sides"
    else:
        side = hand if spec["draw"] == "one_way" else OTHER[hand]
        where = f"the vanes gather on the {side}"
    if looped(spec):
        return f"Controls on the {hand}; {where}, seen from the room."
    return f"{where[0].upper()}{where[1:]}, seen from the room."


def confirmed_line(line):
    return {**line_of(line), "control": control_words(line), "fixing": fixing_words(line)}


def control_words(line):
    """How the blind is worked, with the lengths that hang."""
    spec, figures = line.spec, line.components
    if not looped(spec):
        wands = figures["wands"]
        each = (
            f"Wand of {figure_text(figures['wand_mm'])} mm"
            if wands == 1
            else (f"{wands} wands of {figure_text(figures['wand_mm'])} mm")
        )
        return f"{each}, no cord and no chain to pull."
    chain, below = figure_text(figures["chain_drop_mm"]), figures["chain_drop_mm"] > figures["finished_drop_mm"]
    lower = ", lower than the blind itself" if below else ""
    return f"Cord and {spec['chain']} chain; the chain hangs {chain} mm{lower}. {DEVICE[spec['loop_control']]}."


DEVICE = {
    "tensioner": "A tensioner holds both taut: it must be fixed to the wall",
    "breakaway": "Breakaway joints open when they are pulled",
    "weight": "A weight hangs in the loop",
}
FIXINGS = {"top": "fixed from above", "face": "fixed to the face of the wall"}
BOTTOMS = {"chain": "chained at the bottom", "chainless": "no chain at the bottom"}


def fixing_words(line):
    spec = line.spec
    return f"{line.components['vanes']['count']} vanes of {spec['vane_width_mm']} mm, {BOTTOMS[spec['bottom']]}; " + (
        f"{FIXINGS[spec['fixing']]}."
    )


def measured_line(line):
    return {**confirmed_line(line), "difference": difference_words(line)}


def difference_words(line):
    """Why what is made is not what was measured."""
    spec, figures = line.spec, line.components
    if spec["size_basis"] == "exact":
        return "Made to this size; nothing is taken off."
    width = figure_text(spec["width_mm"] - figures["finished_width_mm"])
    drop = figure_text(spec["drop_mm"] - figures["finished_drop_mm"])
    return f"We take {width} mm off the width and {drop} mm off the drop, so that the blind moves freely in the recess."


def packed_line(line):
    return {
        **line_of(line),
        "numbers": spans(line.numbers),
        "contents": pack_label.contents_of(line),
        "safety": handed_over(line),
    }


def handed_over(line):
    """The safety items that leave the workshop with each of these blinds."""
    if not looped(line.spec):
        return ["nothing to pull: wand", "instructions"]
    return [
        FITTED_HERE[line.spec["loop_control"]],
        f"{line.components['warning_tags']} warning tags",
        "warning on the blind",
        "warning on the pack",
        "instructions",
    ]


FITTED_HERE = {
    "tensioner": "tensioner, on cord and chain",
    "breakaway": "breakaway joint, on cord and chain",
    "weight": "loop weight, on cord and chain",
}
SAYS = {
    MEASUREMENTS.key: measured_line,
    CONFIRMATION.key: confirmed_line,
    COLLECTION.key: packed_line,
    DELIVERY.key: packed_line,
}


def spans(numbers):
    """Blinds' numbers in few words: those that follow each other as the first and the last of them."""
    runs = []
    for number in numbers:
        serial = int(number.rpartition("-")[2])
        if runs and serial == runs[-1][-1][1] + 1:
            runs[-1].append((number, serial))
        else:
            runs.append([(number, serial)])
    return ", ".join(run[0][0] if len(run) == 1 else f"{run[0][0]} to {run[-1][0]}" for run in runs)
