"""The demo system's figures as formulas of a workbook: a row a blind, for blinds of the EN 13120 market.

They are the program's own, written out with the demo system's constants, so that both do the same work. Whether they
are right is for the tests of calc.
"""

import re

import xlsxwriter
from xlsxwriter.utility import xl_col_to_name

UP_TO_MM = (3, 6, 30, 120, 400, 1000, 2000, 4000)
TOLERANCES_MM = {
    "m": (0.1, 0.1, 0.2, 0.3, 0.5, 0.8, 1.2, 2, 3),
    "c": (0.2, 0.3, 0.5, 0.8, 1.2, 2, 3, 4, 6),
    "v": (0.5, 0.5, 1, 1.5, 2.5, 4, 6, 8, 12),
}
"""By ISO 2768-1, and above 4000 mm the demo system's own. Class v has none up to 3 mm, and no part here is so short."""


def _tolerance(length, letter):
    *within, formula = TOLERANCES_MM[letter]
    for up_to_mm, tolerance_mm in zip(reversed(UP_TO_MM), reversed(within), strict=True):
        formula = f"IF({length}<={up_to_mm},{tolerance_mm},{formula})"
    return formula


GIVEN = (
    ("width_mm", "w"),
    ("drop_mm", "d"),
    ("size_basis", "basis"),
    ("vane_width_mm", "vane"),
    ("draw", "draw"),
    ("hand", "hand"),
    ("operation", "operation"),
    ("loop_control", "device"),
    ("installation_height_mm", "height"),
    ("bottom", "bottom"),
    ("fabric_g_per_m2", "fabric"),
)
# Each in the names of those before it, which stand for the cells of its row. A float's dust is rounded off before a
# count is rounded up or down.
FORMULAS = {
    "finished_width_mm": 'w-IF(basis="recess",10,0)',
    "finished_drop_mm": 'd-IF(basis="recess",12,0)',
    "rail_cut_mm": "finished_width_mm-2*3",
    "tilt_rod_cut_mm": "rail_cut_mm-9",
    "brackets": "MAX(2,ROUNDUP(ROUND((rail_cut_mm-2*150)/900,9),0)+1)",
    "looped": 'operation="cord_chain"',
    "left_anchored": 'OR(draw="split",AND(draw="one_way",hand="left"),AND(draw="reverse",hand="right"))',
    "right_anchored": 'OR(draw="split",AND(draw="one_way",hand="right"),AND(draw="reverse",hand="left"))',
    "link": "IF(vane=89,80,117)",
    "anchored_tube": 'IF(vane=89,25,45)+IF(draw="reverse",5,0)',
    "lead_tube": "IF(vane=89,20,40)",
    "left_tube_mm": "IF(left_anchored,anchored_tube,lead_tube)",
    "right_tube_mm": "IF(right_anchored,anchored_tube,lead_tube)",
    "left_out": 'IF(AND(looped,hand="left"),27,20)+left_tube_mm+IF(left_anchored,13,21)/2',
    "right_out": 'IF(AND(looped,hand="right"),27,20)+right_tube_mm+IF(right_anchored,13,21)/2',
    "span": "finished_width_mm-left_out-right_out",
    "bunches": 'IF(draw="split",2,1)',
    "carriers": "bunches*ROUNDUP((ROUNDUP(ROUND(span/link,9),0)+1)/bunches,0)",
    "each": "carriers/bunches",
    "centre_spacing_mm": 'IF(bunches=2,MAX(span-2*(each-1)*link,21),"")',
    "closed_pitch_mm": "IF(bunches=2,(span-N(centre_spacing_mm))/(2*(each-1)),span/(carriers-1))",
    "overlap_mm": "vane-closed_pitch_mm",
    "centre_overlap_mm": 'IF(bunches=2,vane-centre_spacing_mm,"")',
    "gap_two": "span-((carriers-2)*link+IF(carriers=2,17,13))",
    "held": "IF(bunches=2,2,IF(ROUND(gap_two,6)<15,MIN(3,carriers),2))",
    "close": "IF(each=held,17,13)",
    "gap_check_mm": "IF(bunches=2,span-2*((each-2)*link+close)-21,span-((carriers-held)*link+(held-2)*13+close))",
    "left_stack_mm": 'IF(left_anchored,left_out+(each-2)*13+17+21/2,"")',
    "right_stack_mm": 'IF(right_anchored,right_out+(each-2)*13+17+21/2,"")',
    "vane_finished_mm": "finished_drop_mm-42",
    "vane_cut_mm": "vane_finished_mm+25+45",
    "fabric_m": "carriers*vane_cut_mm/1000",
    "bottom_chain_mm": 'IF(bottom="chain",2,0)*(each-1)*link*bunches',
    "known": 'height<>""',
    "longest_loop": 'IF(device="tensioner",IF(known,N(height)-1500,MAX(1000,finished_drop_mm-1500)),'
    "IF(known,N(height)-600,2*finished_drop_mm/3))",
    "over": 'IF(device="tensioner",20,0)',
    "longest_chain_mm": 'IF(looped,longest_loop-over,"")',
    "chain_balls": 'IF(looped,ROUNDDOWN(ROUND(2*MIN(0.75*finished_drop_mm,N(longest_chain_mm))/6,9),0),"")',
    "chain_loop_mm": 'IF(looped,chain_balls*6,"")',
    "chain_drop_mm": 'IF(looped,chain_loop_mm/2,"")',
    "cord_drop_mm": 'IF(looped,chain_drop_mm+over,"")',
    "cord_cut_mm": 'IF(looped,2*(rail_cut_mm+cord_drop_mm),"")',
    "tensioners": 'IF(device="tensioner",1,0)',
    "most_wand": "ROUND(0.75*finished_drop_mm,6)",
    "wand_mm": 'IF(looped,"",IF(most_wand>=1500,1500,IF(most_wand>=1250,1250,IF(most_wand>=1000,1000,'
    "IF(most_wand>=750,750,500)))))",
    "wands": "IF(looped,0,bunches)",
    "tolerance_rail_mm": _tolerance("rail_cut_mm", "m"),
    "tolerance_rod_mm": _tolerance("tilt_rod_cut_mm", "m"),
    "tolerance_left_tube_mm": _tolerance("left_tube_mm", "c"),
    "tolerance_right_tube_mm": _tolerance("right_tube_mm", "c"),
    "tolerance_vane_mm": _tolerance("vane_cut_mm", "c"),
    "tolerance_chain_mm": f'IF(looped,{_tolerance("N(chain_drop_mm)", "v")},"")',
    "tolerance_cord_mm": f'IF(looped,{_tolerance("N(cord_cut_mm)", "v")},"")',
    "links": "bunches*(each-held)",
    "worst_gap_mm": "tolerance_rail_mm+tolerance_left_tube_mm+tolerance_right_tube_mm+links*0.15",
    "likely_gap_mm": "SQRT(tolerance_rail_mm^2+tolerance_left_tube_mm^2+tolerance_right_tube_mm^2+links*0.15^2)",
    "mass_kg": "(0.52*rail_cut_mm+0.11*tilt_rod_cut_mm"
    "+carriers*(9+IF(vane=89,32,44)+vane_cut_mm*vane*fabric/1000000))/1000",
}
FIGURES = (
    "finished_width_mm",
    "finished_drop_mm",
    "rail_cut_mm",
    "tilt_rod_cut_mm",
    "brackets",
    "carriers",
    "left_tube_mm",
    "right_tube_mm",
    "centre_spacing_mm",
    "closed_pitch_mm",
    "overlap_mm",
    "centre_overlap_mm",
    "held",
    "gap_check_mm",
    "left_stack_mm",
    "right_stack_mm",
    "vane_finished_mm",
    "vane_cut_mm",
    "fabric_m",
    "bottom_chain_mm",
    "longest_chain_mm",
    "chain_balls",
    "chain_loop_mm",
    "chain_drop_mm",
    "cord_drop_mm",
    "cord_cut_mm",
    "tensioners",
    "wand_mm",
    "wands",
    "tolerance_rail_mm",
    "tolerance_rod_mm",
    "tolerance_left_tube_mm",
    "tolerance_right_tube_mm",
    "tolerance_vane_mm",
    "tolerance_chain_mm",
    "tolerance_cord_mm",
    "worst_gap_mm",
    "likely_gap_mm",
    "mass_kg",
)
_NAME_OR_TEXT = re.compile(r'"[^"]*"|[a-z_]+')


def figures_of(answer):
    """The program's answer under FIGURES, None for what the blind has not."""
    tubes, stack, vanes = answer["spacer_tubes_mm"], answer["stack_mm"], answer["vanes"]
    within = answer["tolerances_mm"]
    parted = {
        "carriers": answer["carriers"]["total"],
        "left_tube_mm": tubes["left"],
        "right_tube_mm": tubes["right"],
        "held": answer["gap_check_held"],
        "left_stack_mm": stack["left"],
        "right_stack_mm": stack["right"],
        "vane_finished_mm": vanes["finished_mm"],
        "vane_cut_mm": vanes["cut_mm"],
        "fabric_m": vanes["fabric_m"],
        "tolerance_rail_mm": within["rail_cut_mm"],
        "tolerance_rod_mm": within["tilt_rod_cut_mm"],
        "tolerance_left_tube_mm": within["spacer_tubes_mm"]["left"],
        "tolerance_right_tube_mm": within["spacer_tubes_mm"]["right"],
        "tolerance_vane_mm": within["vane_cut_mm"],
        "tolerance_chain_mm": within["chain_drop_mm"],
        "tolerance_cord_mm": within["cord_cut_mm"],
        "worst_gap_mm": within["gap_check_mm"]["worst_case"],
        "likely_gap_mm": within["gap_check_mm"]["root_sum_square"],
    }
    return [parted[name] if name in parted else answer[name] for name in FIGURES]


def write(path, blinds):
    """The workbook of `blinds`: what is given, then each formula."""
    columns = [short for _, short in GIVEN] + list(FORMULAS)
    formulas = [_pieces(formula, columns) for formula in FORMULAS.values()]
    with xlsxwriter.Workbook(str(path), {"constant_memory": True}) as book:
        sheet = book.add_worksheet()
        sheet.write_row(0, 0, columns)
        for number, blind in enumerate(blinds, start=1):
            for column, (key, _) in enumerate(GIVEN):
                if blind[key] is not None:
                    sheet.write(number, column, blind[key])
            row = str(number + 1)
            for column, pieces in enumerate(formulas, start=len(GIVEN)):
                sheet.write_formula(number, column, row.join(pieces))


def _pieces(formula, columns):
    """The formula parted where the number of its row belongs."""
    letters = {name: xl_col_to_name(number) for number, name in enumerate(columns)}

    def cell(found):
        return f"{letters[found[0]]}\0" if found[0] in letters else found[0]

    return ("=" + _NAME_OR_TEXT.sub(cell, formula)).split("\0")
