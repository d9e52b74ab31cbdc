"""Breaks calc one small way at a time and runs tests/calc on each: a mutant that no test notices survives.

    python -m script.mutate [module ...]

Each survivor must stand in tests/calc/survivors.toml with the reason why it is no fault. One that does not, an entry
that fits no survivor, or fewer than 95 % killed end the run with status 1.
"""

import sys
import time
import tomllib
from collections import Counter

from script.mutant_trials import CALC, TESTS, few_examples, killers_of, path_of, say, tried_unchanged
from script.mutants import Mutant, mutants

SURVIVORS = TESTS / "survivors.toml"
LEAST_KILLED_PERCENT = 95
MODULES = tuple(sorted(path.stem for path in CALC.glob("*.py") if path.name != "__init__.py"))


def explained(modules: list[str]) -> list[dict]:
    entries = tomllib.loads(SURVIVORS.read_text(encoding="utf-8")).get("survivor", [])
    return [entry for entry in entries if entry["module"] in modules]


def key_of(entry: dict) -> tuple:
    return entry["module"], entry["function"], entry["was"], entry["becomes"], entry.get("nth", 1)


def entry_of(key: tuple) -> str:
    """The entry for a survivor, still without its reason."""
    module, function, was, becomes, nth = key
    quote = "'''" if "'" in was + becomes else "'"
    lines = [f'module = "{module}"', f'function = "{function}"']
    lines += [f"was = {quote}{was}{quote}", f"becomes = {quote}{becomes}{quote}"]
    return "\n".join(["[[survivor]]", *lines, *([f"nth = {nth}"] if nth > 1 else []), 'why = ""', ""])


def report(modules: list[str], killers: dict[Mutant, str], entries: list[dict]) -> list[str]:
    """Says the score of each module; gives what ends the run with status 1."""
    reasons = {key_of(entry): entry["why"] for entry in entries}
    faults = ["a survivor is listed twice"] if len(reasons) < len(entries) else []
    for module in modules:
        mine = {mutant: killer for mutant, killer in killers.items() if mutant.module == module}
        left = {mutant.key for mutant, killer in mine.items() if not killer}
        how = Counter(mine.values())
        say(
            f"{module}: {len(mine)} mutants, {len(mine) - len(left)} killed ({how['import']} on import, {how['time']} "
            f"out of time), {len(left)} survive, {len(left - reasons.keys())} of them unexplained"
        )
    survivors = {mutant.key for mutant, killer in killers.items() if not killer}
    faults += [f"{mutant.key}: {killer}" for mutant, killer in killers.items() if killer.startswith("broken")]
    faults += [f"Survives without a reason:\n{entry_of(key)}" for key in sorted(survivors - reasons.keys())]
    faults += [f"Has a reason, yet survives no more:\n{entry_of(key)}" for key in sorted(reasons.keys() - survivors)]
    percent = 100 * (len(killers) - len(survivors)) / len(killers)
    say(f"All: {len(killers)} mutants, {len(killers) - len(survivors)} killed, {percent:.1f} %")
    return faults + [f"fewer than {LEAST_KILLED_PERCENT} % killed"] * (percent < LEAST_KILLED_PERCENT)


def main(modules: list[str]) -> int:
    unknown = sorted(set(modules) - set(MODULES))
    if unknown:
        say(f"Not among the modules of calc: {', '.join(unknown)}. Pick from {', '.join(MODULES)}.")
        return 1
    modules = modules or list(MODULES)
    began = time.monotonic()
    few_examples()
    failing, run_early = tried_unchanged()
    if failing:
        say(f"Without a mutant this fails: {failing}. Put it right first.")
        return 1
    found = [mutant for module in modules for mutant in mutants(path_of(module))]
    killers = killers_of(found, run_early)
    faults = report(modules, killers, explained(modules))
    for fault in faults:
        say(fault)
    say(f"{(time.monotonic() - began) / 60:.0f} minutes")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
