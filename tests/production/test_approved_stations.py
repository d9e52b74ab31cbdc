"""Every station's sheet for every draw, hand, operation and market, against text that a person has read and approved.

The text stands in fixtures/approved/stations, one file a draw. After a change that is meant, `script/approve` writes it
anew; read the difference before you commit it.
"""

import difflib
import os
from itertools import groupby
from pathlib import Path

import pytest
from django.urls import reverse

from calc import spec
from orders.lines import figured_line
from production import route
from production.models import Stage
from production.route import CHECKING, PACKING, RAILING, STRINGING, VANES
from tests import factories
from tests.production import sheet_text
from tests.tablets import sheet_of

pytestmark = [pytest.mark.django_db, pytest.mark.once]

APPROVED = Path(__file__).parents[2] / "fixtures" / "approved" / "stations"
HEAD = """{draw} draw: what each station shows. 1830 x 1600 recess, 89 mm vanes, metal chain, bottom chain, top fix.
The installation height is not known, and 2600 in Australia, whose rule needs it. Each block says for which blinds it
is. [ ] is what a count or a measure must come to, and a measure outside it holds the blind; ! is a caution.
"""
STATIONS = (RAILING, VANES, STRINGING, CHECKING, PACKING)
CONTROLS = (*spec.LOOP_CONTROLS, "wand")
KINDS = [(control, market) for control in CONTROLS for market in spec.MARKETS]


def line_of(*, draw, hand, control, market):
    wand = control == "wand"
    height = {"installation_height_mm": 2600} if market == "australia" else {}
    operation = {"operation": "wand"} if wand else {"loop_control": control}
    return {"draw": draw, "hand": hand, **operation, **height}


class Desk:
    """Somebody who is let in everywhere, and what the pages show them."""

    def __init__(self, client):
        self.client, self.person = client, factories.person("sales", "maker", "checker")
        self.maker = factories.person("maker")
        client.force_login(self.person)

    def refusals(self, line, market):
        """Why the order desk refuses the line; nothing where it does not."""
        order_line = factories.line(**line)
        system = factories.system().revisions.get().as_system()
        if not figured_line(line=order_line, market=market, system=system).refusals:
            return ()
        fields = {name: value for name, value in line.items() if value is not None}
        typed = {
            "quantity": 1,
            "width_mm": 1830,
            "drop_mm": 1600,
            "size_basis": "recess",
            "vane_width_mm": 89,
            "fabric": factories.fabric(89).pk,
            "operation": "cord_chain",
            "chain": "metal",
            "fixing": "top",
            "bottom": "chain",
            "system": factories.system().pk,
            "market": market,
            **fields,
        }
        page = self.client.post(reverse("figures"), typed).content.decode()
        found = tuple(sheet_text.refusals_on(sheet_text.root_of(page)))
        assert found, line
        return found

    def sheets(self, line, market):
        """What each station shows of the blind in hand, by the block's title; the market's rule by itself."""
        (blind,) = factories.released(by=self.person, lines=[line], market=market)
        Stage.objects.filter(blind=blind).update(state=route.IN_HAND, person=self.person)
        for station in STATIONS:
            shown = self._sheet(blind, station, title=route.STATION[station].name)
            yield from shown
            if station == STRINGING and blind.looped:
                chain_mm = blind.components["chain_drop_mm"]
                factories.tell(blind, STRINGING, route.STEP, by=self.maker, key="chain", value=chain_mm)
                after = self._sheet(blind, station, title=route.STATION[station].name)
                for (title, before), (_, now) in zip(shown, after, strict=True):
                    changed = tuple(each for each in now if each not in before)
                    yield f"{title}, where the measured chain changes it", changed

    def _sheet(self, blind, station, *, title):
        root = sheet_text.root_of(sheet_of(self.client, blind, station).content.decode())
        shown = [*sheet_text.figures_on(root), "", *sheet_text.steps_on(root)]
        rule = sheet_text.rule_on(root)
        return [(title, tuple(shown)), *([(f"{title}: the market's rule", tuple(rule))] if rule else [])]


def for_which(kinds, *, of):
    """The loop controls and markets of a block in a few words; `of` are all that there are."""
    if set(kinds) == set(of):
        return "every blind"
    if set(kinds) == {kind for kind in of if kind[0] != "wand"}:
        return "every looped blind"
    if set(kinds) == {kind for kind in of if kind[0] == "wand"}:
        return "every wand blind"
    by_control = groupby(kinds, key=lambda kind: kind[0])
    return "; ".join(f"{control}: {', '.join(market for _, market in each)}" for control, each in by_control)


def text_for(desk, *, draw, hand):
    """All that is shown for one draw and hand, each thing once."""
    refused, shown, made = {}, {}, []
    for control, market in KINDS:
        line = line_of(draw=draw, hand=hand, control=control, market=market)
        if found := desk.refusals(line, market):
            refused.setdefault(found, []).append((control, market))
            continue
        made.append((control, market))
        for title, lines in desk.sheets(line, market):
            shown.setdefault(title, {}).setdefault(lines, []).append((control, market))
    yield f"\n{'=' * 20} {hand.upper()} HAND {'=' * 20}"
    for found, kinds in refused.items():
        yield f"\nREFUSED for {for_which(kinds, of=[*made, *kinds])}"
        yield from found
    for title in shown:
        for lines, kinds in shown[title].items():
            yield f"\n{title.upper()} for {for_which(kinds, of=made)}"
            yield from (f"  {each}".rstrip() for each in lines)


@pytest.mark.parametrize("draw", spec.DRAWS)
def test_every_sheet_is_the_one_that_was_approved(client, draw):
    desk = Desk(client)
    lines = [HEAD.format(draw=draw.replace("_", " ").capitalize())]
    for hand in spec.HANDS:
        lines += text_for(desk, draw=draw, hand=hand)
    text, file = "\n".join(lines) + "\n", APPROVED / f"{draw}.txt"
    if os.environ.get("APPROVE"):
        file.write_text(text, encoding="utf-8")
    approved = file.read_text(encoding="utf-8")
    if approved != text:
        differ = difflib.unified_diff(approved.splitlines(), text.splitlines(), "approved", "shown", lineterm="", n=1)
        pytest.fail(
            "\n".join([*differ, f"If {file.name} is meant to change, run script/approve and read what it changed."])
        )
