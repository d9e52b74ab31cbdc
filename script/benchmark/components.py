"""Blinds through the components command, file in and file out, beside a spreadsheet program with the same formulas.

Ours: `manage.py components` on a JSON list of varied blinds that can all be made, which answers with every figure and
the findings; with the working of each figure, ten times as much text, and without. Floor: LibreOffice without a window,
on a workbook that has for each of them the formulas of the same figures (workbook.py), and writes them as CSV. That
holds figures alone: `without` is the same work, and `with working` does more than the floor. Both start anew each time,
which is in the figure; LibreOffice's own folder is made beforehand. All rows of what both answered are held against
each other. By the clock: ours works on all cores.
"""

import csv
import json
import os
import random
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from script.benchmark.rounds import figure, in_turns, spent

ROOT = Path(__file__).resolve().parent.parent.parent
SIZES = ((10_000, 5, 3), (100_000, 2, 1))
"""How many blinds, how many times faster ours is to be, and in how many rounds that is measured."""
NEAR = 1e-4
"""An answer has four places."""
AS_CSV = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,false"
ALWAYS_COMPUTE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>0</value></prop></item>
</oor:items>
"""


def figures() -> list[dict]:
    if shutil.which("soffice") is None:
        raise SystemExit(
            "LibreOffice is not here. Install it: apt-get install --no-install-recommends libreoffice-calc"
        )
    with tempfile.TemporaryDirectory() as folder:
        bench = _Bench(Path(folder))
        bench.convert_one()
        return [each for count, goal, rounds in SIZES for each in bench.figures(count, goal, rounds)]


class _Bench:
    def __init__(self, folder):
        self.folder, self.profile = folder, folder / "profile"
        (self.profile / "user").mkdir(parents=True)
        (self.profile / "user" / "registrymodifications.xcu").write_text(ALWAYS_COMPUTE)

    def convert_one(self):
        """Start both once, so that LibreOffice has its folder, and say what starting takes."""
        self.lay_out(1)
        self.floor()
        started = {"components": spent(self.bare), "LibreOffice": spent(self.floor)}
        said = ", ".join(f"{name} {each.seconds:.1f} s" for name, each in started.items())
        print(f"Started for one blind: {said}", file=sys.stderr)

    def lay_out(self, count):
        """The files of `count` blinds."""
        from script.benchmark.workbook import write

        blinds = _blinds(count)
        self.given, self.answer = self.folder / "blinds.json", self.folder / "answer.json"
        self.book, self.table = self.folder / "blinds.xlsx", self.folder / "blinds.csv"
        self.given.write_text(json.dumps(blinds))
        write(self.book, blinds)

    def figures(self, count, goal, rounds):
        self.lay_out(count)
        works = {"with working": self.worked, "without": self.bare, "floor": self.floor}
        found = in_turns(works, rounds=rounds)
        for name, took in found.items():
            said = ", ".join(f"{each.seconds:.1f} (processor {each.processor:.1f})" for each in took)
            print(f"{count} blinds, {name}: {said} s", file=sys.stderr)
        self.compare(count)
        return [
            figure(
                work=f"{count} blinds through components, {name}",
                ours=[each.seconds for each in found[name]],
                floor=[each.seconds for each in found["floor"]],
                unit="s",
                goal=goal,
                at_least=True,
            )
            for name in ("with working", "without")
        ]

    def worked(self):
        self.ours()

    def bare(self):
        self.ours("--no-working")

    def ours(self, *options):
        with self.answer.open("wb") as answer:
            command = [sys.executable, "manage.py", "components", *options, str(self.given)]
            subprocess.run(command, cwd=ROOT, stdout=answer, check=True)  # noqa: S603 - our own

    def floor(self):
        self.table.unlink(missing_ok=True)
        self.convert(self.book, AS_CSV)
        if not self.table.exists():
            raise SystemExit("LibreOffice wrote no table.")

    def convert(self, book, kind):
        profile = f"-env:UserInstallation={self.profile.as_uri()}"
        command = ["soffice", "--headless", profile, "--convert-to", kind, "--outdir", str(self.folder), str(book)]
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)  # noqa: S603

    def compare(self, count):
        """Every figure of every row. Raises SystemExit at the first that differs."""
        from script.benchmark.workbook import FIGURES, figures_of

        with self.answer.open() as answer, self.table.open(newline="") as table:
            answers, rows = json.load(answer), list(csv.DictReader(table))
        if not len(answers) == len(rows) == count:
            raise SystemExit(f"{len(answers)} answers and {len(rows)} rows of {count} blinds.")
        for number, (one, row) in enumerate(zip(answers, rows, strict=True), start=1):
            for name, value in zip(FIGURES, figures_of(one), strict=True):
                said = row[name]
                if (value is None) != (said == "") or (value is not None and abs(value - float(said)) > NEAR):
                    raise SystemExit(f"Blind {number}: {name} is {value}, and {said!r} in the workbook.")


def _blinds(count):
    """Varied blinds that can be made, for the market whose rule limits a loop by its lengths."""
    from calc.components import outline

    pick, found = random.Random(38), []  # noqa: S311 - no secret

    def length(low, high):
        """Nine of ten sizes are whole millimetres, the tenth has tenths."""
        return pick.randint(low, high) if pick.random() < 0.9 else pick.randint(low * 10, high * 10) / 10

    while len(found) < count:
        drop, looped = length(500, 3900), pick.random() < 0.8
        blind = {
            "system": "demo-38",
            "width_mm": length(400, 5700),
            "drop_mm": drop,
            "size_basis": pick.choice(["recess", "exact"]),
            "vane_width_mm": pick.choice([89, 127]),
            "draw": pick.choice(["one_way", "reverse", "split"] if looped else ["one_way", "split"]),
            "hand": pick.choice(["left", "right"]),
            "operation": "cord_chain" if looped else "wand",
            "loop_control": pick.choice(["tensioner", "breakaway"]) if looped else None,
            "chain": pick.choice(["plastic", "metal"]) if looped else None,
            "control_drop_mm": None,
            "measured_chain_mm": None,
            "installation_height_mm": pick.choice([None, int(drop) + pick.randint(100, 1500)]),
            "market": "en13120",
            "fixing": pick.choice(["top", "face"]),
            "bottom": pick.choice(["chain", "chainless"]),
            "fabric_g_per_m2": pick.randint(150, 420),
        }
        made = outline(blind)
        # A chain of a few balls is no control, and its class has no tolerance.
        if not any(each["severity"] == "refuse" for each in made["findings"]) and (made["chain_drop_mm"] or 100) >= 100:
            found.append(blind)
    return found


if __name__ == "__main__":
    os.chdir(ROOT)
    print(json.dumps(figures(), indent=1))
