"""A second, naive computation of a blind, written from the trade's description alone: it imports nothing of ours.

Everything is a Fraction; nothing is shared with `calc`, so that the two agree only where both are right.
`constants` is a plain dict under the names that a hardware system has, every number an int, a Fraction or text.
"""

import math
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

from tests.calc.published import ISO_2768_1

LOOP = ("chain_balls", "chain_loop_mm", "chain_drop_mm", "cord_drop_mm", "cord_cut_mm")


def four_places(number):
    """A Fraction as a Decimal of at most four places, half away from zero."""
    with localcontext() as context:
        context.prec = 80
        return (Decimal(number.numerator) / Decimal(number.denominator)).quantize(Decimal("0.0001"), ROUND_HALF_UP)


def root_to_four_places(number):
    with localcontext() as context:
        context.prec = 80
        root = (Decimal(number.numerator) / Decimal(number.denominator)).sqrt()
        return root.quantize(Decimal("0.0001"), ROUND_HALF_UP)


def number(value):
    return Fraction(str(value))


def finished(given, constants):
    width, drop = number(given["width_mm"]), number(given["drop_mm"])
    if given["size_basis"] == "recess":
        width -= number(constants["recess_width_clearance_mm"])
        drop -= number(constants["recess_drop_clearance_mm"])
    return width, drop


def tolerance(length, letter, constants):
    if length > 4000:
        above = constants[f"above_4000_{letter}_mm"]
        return None if above is None else number(above)
    for (over, up_to), cells in ISO_2768_1.items():
        if (over < length <= up_to) or (length == over == Fraction(1, 2)):
            return None if cells[letter] is None else number(cells[letter])
    return None


def longest_loop(market, loop_control, height, drop):
    """L, or the code of the refusal, or None where no L follows."""
    if market in ("canada", "usa"):
        return "loop_not_allowed"
    if market == "australia":
        if loop_control == "tensioner":
            return None
        return "height_required" if height is None else height - 1601
    if loop_control == "weight":
        return "device_required"
    if loop_control == "tensioner":
        if height is not None:
            return height - 1500
        return Fraction(1000) if drop <= 2500 else drop - 1500
    return height - 600 if height is not None else drop * Fraction(2, 3)


def optional(given, key):
    return None if given.get(key) is None else number(given[key])


def blind(given, constants):
    """The parts of a well-formed blind, and the codes of its findings, sorted."""
    c = {
        name: number(value)
        for name, value in constants.items()
        if name not in ("code", "source", "tape_class", "wands_mm", "vane_89", "vane_127", "revision")
        and not name.endswith("_class")
        and value is not None
    }
    v = {name: number(value) for name, value in constants[f"vane_{given['vane_width_mm']}"].items()}
    width, drop = finished(given, constants)
    out = {"finished_width_mm": width, "finished_drop_mm": drop}
    codes = ["market_rule"]
    height = optional(given, "installation_height_mm")
    wand = given["operation"] == "wand"
    asked, measured = optional(given, "control_drop_mm"), optional(given, "measured_chain_mm")
    if given.get("bottom", "chain") == "chain" and given["market"] in ("australia", "canada"):
        codes.append("bottom_chain_loop")
    if wand:
        codes += ["ignored_with_wand" for given_in_vain in (asked, measured) if given_in_vain is not None]

    refused = []
    if wand and given["draw"] == "reverse":
        refused.append("wand_reverse")
    if not c["min_width_mm"] <= width <= c["max_width_mm"]:
        refused.append("out_of_range")
    if not c["min_drop_mm"] <= drop <= c["max_drop_mm"]:
        refused.append("out_of_range")
    if height is not None and height < drop:
        refused.append("height_below_drop")
    if refused:
        if not wand:
            limit = longest_loop(given["market"], given["loop_control"], height, drop)
            refused += [limit] if isinstance(limit, str) else []
        return out, sorted(codes + refused)

    # Headrail
    rail = width - 2 * c["end_cover_mm"]
    rod = rail - c["rod_shortfall_mm"]
    out |= {"rail_cut_mm": rail, "tilt_rod_cut_mm": rod}
    spaces = math.ceil((rail - 2 * c["bracket_inset_mm"]) / c["bracket_span_mm"])
    out["brackets"] = 2 if spaces < 1 else spaces + 1

    # Which end is what
    left_is_control = given["hand"] == "left" and not wand
    right_is_control = given["hand"] == "right" and not wand
    draw = given["draw"]
    if draw == "split":
        left_bunch = right_bunch = True
    elif draw == "one_way":
        left_bunch, right_bunch = given["hand"] == "left", given["hand"] == "right"
    else:
        left_bunch, right_bunch = given["hand"] == "right", given["hand"] == "left"
    left_tube = v[f"anchored_tube_{draw}_mm"] if left_bunch else v[f"lead_tube_{draw}_mm"]
    right_tube = v[f"anchored_tube_{draw}_mm"] if right_bunch else v[f"lead_tube_{draw}_mm"]
    carrier, lead = c["carrier_body_mm"], c["lead_body_mm"]
    left = c["control_inset_mm"] if left_is_control else c["idle_inset_mm"]
    left += left_tube + (carrier if left_bunch else lead) / 2
    right = c["control_inset_mm"] if right_is_control else c["idle_inset_mm"]
    right += right_tube + (carrier if right_bunch else lead) / 2
    out["spacer_tubes_mm"] = {"left": left_tube, "right": right_tube}

    # Carriers
    span, pitch, vane = width - left - right, v["link_pitch_mm"], Fraction(given["vane_width_mm"])
    n = math.ceil(span / pitch) + 1
    if draw == "split" and n % 2:
        n += 1
    k = n // 2 if draw == "split" else n
    out["carriers"] = {
        "total": n,
        "left": k if left_bunch else 0,
        "right": k if right_bunch else 0,
        "lead": left_bunch + right_bunch,
    }
    out["rail_stops"] = left_bunch + right_bunch
    out["centre_spacing_mm"] = out["centre_overlap_mm"] = None
    held = 2
    if draw == "split":
        middle = max(span - 2 * (k - 1) * pitch, lead)
        closed = (span - middle) / (2 * (k - 1))
        out |= {"centre_spacing_mm": middle, "centre_overlap_mm": vane - middle}
        close = (carrier + lead) / 2 if k == 2 else carrier
        gap = span - 2 * ((k - 2) * pitch + close) - lead
        links = 2 * (k - 2)
    else:
        closed = span / (n - 1)
        # The bench counts from the anchored carrier: held ones close up, then full links to the lead carrier.
        bodies = [carrier] * (n - 1) + [lead]

        def gap_with(h):
            close_up = sum(((bodies[i] + bodies[i + 1]) / 2 for i in range(h - 1)), Fraction(0))
            return span - close_up - (n - h) * pitch

        if gap_with(2) < 15 and n > 2:
            held = 3
        gap = gap_with(held)
        links = n - held
    out |= {"closed_pitch_mm": closed, "overlap_mm": vane - closed, "gap_check_held": held, "gap_check_mm": gap}
    beyond = (k - 2) * carrier + (carrier + lead) / 2 + lead / 2
    out["stack_mm"] = {
        "left": left + beyond if left_bunch else None,
        "right": right + beyond if right_bunch else None,
    }

    # Vanes
    vane_length = drop - c["drop_loss_mm"]
    cut = vane_length + c["top_hem_mm"] + c["bottom_hem_mm"]
    out["vanes"] = {"count": n, "finished_mm": vane_length, "cut_mm": cut, "fabric_m": n * cut / 1000}
    runs = 2 if given.get("bottom", "chain") == "chain" else 0
    out["bottom_chain_mm"] = sum(runs * (k - 1) * pitch for bunch in (left_bunch, right_bunch) if bunch)

    # Controls
    nominal = None
    out |= {"longest_chain_mm": None, **dict.fromkeys(LOOP)}
    if wand:
        stocked = [number(length) for length in constants["wands_mm"]]
        short_enough = [length for length in stocked if length <= c["wand_share"] * drop]
        length = max(short_enough) if short_enough else min(stocked)
        out |= {"tensioners": 0, "warning_tags": 0, "wand_mm": length, "wands": left_bunch + right_bunch}
        if min(stocked) > drop:
            codes.append("wand_longer_than_blind")
    else:
        nominal = loop(given, c, constants, out, codes, height, drop, asked, measured, rail)

    # Mass, in kg
    mass = c["rail_kg_per_m"] * rail / 1000 + c["rod_kg_per_m"] * rod / 1000
    mass += n * (c["carrier_g"] + v["bottom_weight_g"]) / 1000
    mass += n * (cut / 1000) * (vane / 1000) * number(given["fabric_g_per_m2"]) / 1000
    out["mass_kg"] = mass
    if mass > c["rail_rating_kg"]:
        codes.append("mass_over_rating")

    # Tolerances
    rail_off = tolerance(rail, constants["rail_class"], constants)
    tubes_off = {
        side: tolerance(tube, constants["spacer_tube_class"], constants)
        for side, tube in (("left", left_tube), ("right", right_tube))
    }
    gap_off = {"worst_case": None, "root_sum_square": None}
    if None not in (rail_off, tubes_off["left"], tubes_off["right"]):
        pieces = [rail_off, tubes_off["left"], tubes_off["right"]] + [c["link_tolerance_mm"]] * links
        gap_off = {"worst_case": sum(pieces), "root_sum_square": root_to_four_places(sum(p * p for p in pieces))}
    out["tolerances_mm"] = {
        "rail_cut_mm": rail_off,
        "tilt_rod_cut_mm": tolerance(rod, constants["tilt_rod_class"], constants),
        "spacer_tubes_mm": tubes_off,
        "vane_cut_mm": tolerance(cut, constants["vane_class"], constants),
        "chain_drop_mm": None if nominal is None else tolerance(nominal, constants["chain_class"], constants),
        "cord_cut_mm": None
        if out["cord_cut_mm"] is None
        else tolerance(out["cord_cut_mm"], constants["cord_class"], constants),
        "gap_check_mm": gap_off,
    }
    return out, sorted(codes)


def loop(given, c, constants, out, codes, height, drop, asked, measured, rail):
    """Fills in chain and cord; gives the nominal chain drop, None where the loop is refused."""
    control = given["loop_control"]
    out |= {"tensioners": 1 if control == "tensioner" else 0, "warning_tags": 2, "wand_mm": None, "wands": 0}
    over, pitch = c[f"cord_over_chain_{control}_mm"], c["ball_pitch_mm"]
    limit = longest_loop(given["market"], control, height, drop)
    if isinstance(limit, str):
        codes.append(limit)
        return None
    longest, refused = None, []
    if limit is not None:
        longest = limit - over
        out["longest_chain_mm"] = longest
        if 2 * longest < pitch:
            codes.append("loop_not_allowed")  # and no length of chain is then spoken of
            return None
        if asked is not None and asked > longest:
            refused.append("control_drop_too_long")
        if measured is not None and measured + over > limit:
            refused.append("cord_too_long")
    if asked is not None:
        wanted = asked
    elif longest is None:
        wanted = c["control_share"] * drop
    else:
        wanted = min(c["control_share"] * drop, longest)
    balls = math.floor(2 * wanted / pitch)
    if not refused and balls < 1:
        refused.append("loop_not_allowed")
    if refused:
        codes += refused
        return None
    way_round = balls * pitch
    nominal = way_round / 2
    hangs = nominal if measured is None else measured
    out |= {"chain_balls": balls, "chain_loop_mm": way_round, "chain_drop_mm": hangs}
    out |= {"cord_drop_mm": hangs + over, "cord_cut_mm": 2 * (rail + hangs + over)}
    if nominal < wanted:
        codes.append("chain_rounded")
    if hangs > drop:
        codes.append("chain_below_blind")
    if measured is not None:
        allowed = tolerance(nominal, constants["chain_class"], constants)
        if allowed is not None and abs(measured - nominal) > allowed:
            codes.append("chain_off_nominal")
    return nominal
