"""What each market asks for beside the length of a loop: what is fitted, labelled and packed, and what stays undecided.

Reminders with their source and how well it was verified; nothing here is computed, and nothing certifies.
"""

from typing import NamedTuple

from calc.safety import AUSTRALIA, PRESS, QUOTED, READ, SUMMARISED, USA

EN_GUIDANCE = "EN 13120:2009+A1:2014, EN 16434 and decision 2011/477/EU, seen in secondary summaries"
AUSTRALIA_SUPPLY = (
    "Trade Practices (Consumer Product Safety Standard: Corded Internal Window Coverings) Regulations 2010, seen in "
    "trade news"
)
CANADA_LABELS = "Corded Window Coverings Regulations, SOR/2019-97, ss 9 to 15"
TRADE_NEWS = "Verified only against trade news, not against the regulations' own text."


class Reminder(NamedTuple):
    """One thing that a market asks for; `when` is fitted, labelled or packed."""

    market: str
    when: str
    says: str
    source: str
    verified: str


def _en(when: str, says: str) -> Reminder:
    return Reminder("en13120", when, says, EN_GUIDANCE, SUMMARISED)


def _canada(when: str, says: str) -> Reminder:
    return Reminder("canada", when, says, CANADA_LABELS, READ)


REMINDERS = (
    _en("fitted", "The safety device is on cord and chain, in its working position, before the blind leaves."),
    _en("labelled", "A warning on the safety device itself, and one on the front of the blind."),
    _en("labelled", "The name or trade mark of the maker, importer or professional installer."),
    _en("packed", "The warning on the packaging, the safety instructions and every part of the device in the pack."),
    Reminder(
        "australia",
        "labelled",
        "A warning label or tag stays on the cord; the name and contact details of who installed it are attached.",
        AUSTRALIA_SUPPLY,
        TRADE_NEWS,
    ),
    Reminder(
        "australia",
        "packed",
        "A warning on the retail packaging, instructions on avoiding strangulation, and all parts that they name.",
        AUSTRALIA_SUPPLY,
        TRADE_NEWS,
    ),
    Reminder(
        "australia",
        "fitted",
        "A cleat at least 1600 mm above the floor; a cord guide may be lower only if it holds 70 N for 10 s.",
        AUSTRALIA,
        QUOTED,
    ),
    _canada("labelled", "Model name or number, and date of manufacture: year, then month or week (s 13)."),
    _canada("labelled", "Made in Canada: name and principal place of business. Imported: maker and importer (s 13)."),
    _canada(
        "labelled",
        "On product, packaging, instructions and advertisements: 'WARNING • STRANGULATION HAZARD — Young children can "
        "be strangled by cords. Immediately remove this product if a cord longer than 22 cm or a loop exceeding 44 cm "
        "around becomes accessible.' (s 15)",
    ),
    _canada("labelled", "English and French, contrasting, on a permanent label or in indelible print (s 10)."),
    _canada(
        "labelled",
        "Signal words Warning and Mise en garde in bold upper case of at least 5 mm, the rest at least 2.5 mm, in a "
        "standard sans-serif (ss 11, 12).",
    ),
    _canada("labelled", "No word of the Act or the Regulations on product or advertising (s 9)."),
    _canada("packed", "Instructions for assembly, with a counted parts list, for installation and for use (s 14)."),
    Reminder(
        "usa",
        "labelled",
        "A permanent manufacturer's label within or on the headrail.",
        USA,
        PRESS,
    ),
)

# Market: what this tool can't decide, and who must.
UNDECIDED = {
    "en13120": (
        "whether the installation height is right, whether children may come there, whether device, fixing and warning "
        "meet EN 13120, EN 16433 and EN 16434",
        "whoever places the blind on the market, with the standards' own text, and the installer at the wall",
    ),
    "australia": (
        "whether the fixing holds 70 N for 10 s, whether a cord can come loose, whether a later instrument applies",
        "the installer at the wall, and the supplier with the law as it stands",
    ),
    "canada": (
        "whether a bottom chain or any other reachable cord passes ss 5 to 8, and whether small parts and lead pass",
        "the maker or importer, by tests under the regulations",
    ),
    "usa": (
        "what the consensus standard asks of this blind, since its text was not read",
        "the maker, with the standard's newest edition, and a test laboratory",
    ),
}


def reminders(*, market: str) -> list[Reminder]:
    """What `market` asks to be fitted, then labelled, then packed. Raises KeyError for a market that is not listed."""
    UNDECIDED[market]
    order = ("fitted", "labelled", "packed")
    return sorted((each for each in REMINDERS if each.market == market), key=lambda each: order.index(each.when))
