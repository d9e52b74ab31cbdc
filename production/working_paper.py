"""What stands on the sheet that shows the working of every figure of a blind."""

from production import bench
from production.figures import grouped
from production.from_calc import said
from production.paper import identity_of


def working_of(blind):
    """All that one blind's sheet shows; cord and chain by the chain as it was measured, once it was."""
    components, system = bench.figures_now(blind=blind), blind.revision.as_system()
    groups = grouped(components, system=system)
    for group in groups:
        for each in group["figures"]:
            each["constants"] = [_constant(put) for put in each["working"]["put_in"] if put["constant"]]
            # The revision stands once, at the foot.
            each["source"] = each["working"]["source"].removesuffix(f"; {said(system.said)}")
    return {
        **identity_of(blind),
        "groups": groups,
        "measured_chain_mm": None if components is blind.components else components["chain_drop_mm"],
        "refusals": [found for found in components["findings"] if found["severity"] == "refuse"],
        "system": system.said,
    }


def _constant(put):
    return f"{put['words']} {put['value']} {put['unit']}".strip()
