"""Published tables, typed out apart from the code that is checked against them."""

from fractions import Fraction

# ISO 2768-1:1989 table 1, linear dimensions, +- mm, by (over, up to and including) mm. Everything from 6 mm up was seen
# in two agreeing copies. The first two cells of class c differ between copies (0.2 and 0.3 here); below 0.5 mm the
# tolerance stands at the dimension, and 0.5 itself belongs to the first range.
ISO_2768_1 = {
    (Fraction(1, 2), 3): {"f": "0.05", "m": "0.1", "c": "0.2", "v": None},
    (3, 6): {"f": "0.05", "m": "0.1", "c": "0.3", "v": "0.5"},
    (6, 30): {"f": "0.1", "m": "0.2", "c": "0.5", "v": "1"},
    (30, 120): {"f": "0.15", "m": "0.3", "c": "0.8", "v": "1.5"},
    (120, 400): {"f": "0.2", "m": "0.5", "c": "1.2", "v": "2.5"},
    (400, 1000): {"f": "0.3", "m": "0.8", "c": "2", "v": "4"},
    (1000, 2000): {"f": "0.5", "m": "1.2", "c": "3", "v": "6"},
    (2000, 4000): {"f": None, "m": "2", "c": "4", "v": "8"},
}

# Directive 2014/32/EU annex X (MI-008) chapter 1, read in UK SI 2016/1153 schedule 1I: a + b L, L in metres rounded up
# to the next whole metre; c more where a terminal surface such as a hook is used. All in mm.
MID_TAPES = {"I": ("0.1", "0.1", "0.1"), "II": ("0.3", "0.2", "0.2"), "III": ("0.6", "0.4", "0.3")}

# EN 13120:2009+A1:2014, longest hanging loop, as three or more independent secondary summaries agree on it; the
# standard's own text was not seen. (loop control, installation height, drop, longest).
EN_13120_LOOPS = (
    ("tensioner", 2400, 2200, 900),
    ("tensioner", None, 2200, 1000),
    ("tensioner", None, 2500, 1000),
    ("tensioner", None, 2501, 1001),
    ("tensioner", None, 3000, 1500),
    ("tensioner", 1500, 1400, 0),
    ("breakaway", None, 1500, 1000),
    ("breakaway", 2400, 2200, 1800),
)

# The same rule's vectors, worked out from the text above: (class, length mm, from the hook, error mm).
MID_VECTORS = (
    ("II", 2350, False, "0.9"),
    ("II", 2350, True, "1.1"),
    ("II", 5000, False, "1.3"),
    ("II", 8000, False, "1.9"),
    ("I", 5000, False, "0.6"),
    ("III", 5000, False, "2.6"),
)

# Competition and Consumer (Corded Internal Window Coverings) Safety Standard 2014, s 6(1)(a), as the regulator's
# installation guide of November 2014 quotes it: no loop of 220 mm or longer at less than 1600 mm above the floor. The
# regulator's web page says 'at or less than', so 1600 itself is too low. (loop control, height, longest.)
AUSTRALIA_LOOPS = (
    ("breakaway", 2400, 799),
    ("weight", 2400, 799),
    ("breakaway", 2600, 999),
    ("weight", 1601, 0),
    ("tensioner", 2400, None),
    ("tensioner", None, None),
)

# What refuses a loop outright, by (market, loop control, height known): Canada by SOR/2019-97 ss 5 to 8, whose text was
# read; USA by the newest consensus standard, seen in a press release; EN 13120 asks for a device, seen in summaries.
NO_LOOP = {
    **{
        (market, device, known): "loop_not_allowed"
        for market in ("canada", "usa")
        for device in ("tensioner", "breakaway", "weight")
        for known in (True, False)
    },
    ("en13120", "weight", True): "device_required",
    ("en13120", "weight", False): "device_required",
    ("australia", "breakaway", False): "height_required",
    ("australia", "weight", False): "height_required",
}
