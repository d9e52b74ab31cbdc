"""The answer for one blind as JSON text, with no dict made of its working on the way."""

import json
from collections.abc import Mapping

from calc.components import FIGURES, answer, revision
from calc.rounding import json_number
from calc.system import SYSTEMS, System
from calc.trace import Trace, Unwritten

# An answer holds no cycles; not looking for them saves a tenth of the printing.
_text = json.JSONEncoder(check_circular=False, default=json_number).encode


def printed(given: Mapping, *, systems: Mapping[str, System] = SYSTEMS, working: bool = True) -> str:
    """`components` of the same as `json.dumps` writes it, to the byte."""
    trace = Trace() if working else Unwritten()
    found = answer(given, systems, trace)
    findings = _text(found.pop("findings"))
    figures = _text(dict.fromkeys(FIGURES) | found)[:-1]
    worked = f', "working": {trace.text(revision=revision(given, systems))}' if working else ""
    return f'{figures}{worked}, "findings": {findings}}}'
