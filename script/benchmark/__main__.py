"""Runs the parts one after the other, each in a process of its own, prints their figures and saves them."""

import json
import multiprocessing
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

from script.benchmark import figures_of

PARTS = ("tablets", "finish", "past", "live", "labels", "imports", "components")
SAVED = Path("bench.json")


def measured(parts):
    """The figures of all `parts`, each printed once it is known."""
    fresh = multiprocessing.get_context("spawn")
    for part in parts:
        with ProcessPoolExecutor(max_workers=1, mp_context=fresh) as one:
            for each in one.submit(figures_of, part).result():
                print(row(each), flush=True)
                yield each


def row(each):
    ratio = "" if each["ratio"] is None else f"{each['ratio']:.2f}"
    floor = "" if each["floor"] is None else f"{each['floor']:.4g}"
    reached = "reached" if each["reached"] else "NOT REACHED"
    return (
        f"{each['work']:<72} {each['ours']:>8.4g} {floor:>8} {each['unit']:<6} {ratio:>6}  {each['goal']:<13} {reached}"
    )


def main():
    parts = sys.argv[1:] or PARTS
    if unknown := sorted(set(parts) - set(PARTS)):
        raise SystemExit(f"There is no part called {', '.join(unknown)}. The parts are {', '.join(PARTS)}.")
    print(f"{os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    print(f"{'work':<72} {'ours':>8} {'floor':>8} {'unit':<6} {'ratio':>6}  goal")
    found = list(measured(parts))
    SAVED.write_text(json.dumps({"figures": found}, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    print(f"Saved in {SAVED}: {sum(each['reached'] for each in found)} of {len(found)} goals reached.")


if __name__ == "__main__":
    main()
