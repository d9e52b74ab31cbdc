"""What a line may be made of, and where: the words that people read for each value."""

from django.utils.translation import gettext_noop as N_

MARKET_NAMES = {
    "en13120": N_("EU and UK (EN 13120)"),
    "australia": N_("Australia"),
    "canada": N_("Canada"),
    "usa": N_("USA"),
}
WORDS = {
    "recess": N_("Recess"),
    "exact": N_("Exact"),
    "one_way": N_("One way"),
    "reverse": N_("Reverse"),
    "split": N_("Split"),
    "left": N_("Left"),
    "right": N_("Right"),
    "cord_chain": N_("Cord and chain"),
    "wand": N_("Wand"),
    "tensioner": N_("Tensioner"),
    "breakaway": N_("Breakaway"),
    "weight": N_("Weight"),
    "plastic": N_("Plastic"),
    "metal": N_("Metal"),
    "top": N_("Top fix"),
    "face": N_("Face fix"),
    "chain": N_("Bottom chain"),
    "chainless": N_("Chainless"),
}


def choices(values):
    return [(value, WORDS.get(value, MARKET_NAMES.get(value, str(value)))) for value in values]
