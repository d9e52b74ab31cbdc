"""The only translation from an order line to what `calc` reads."""

from decimal import Decimal

from orders.models import OrderLine


def number(value):
    """A database decimal as the plain number that JSON keeps: whole where it is whole, else in tenths."""
    if value is None:
        return None
    value = Decimal(value)
    whole = int(value)
    return whole if whole == value else float(value)


def spec_of(line: OrderLine, *, market: str) -> dict:
    """What `line` asks for, under the names that `calc.components` reads; lengths in millimetres.

    A line that is still being typed gives None for what it doesn't say yet.
    """
    looped = line.operation == "cord_chain"
    return {
        "system": line.system.code if line.system_id else None,
        "width_mm": number(line.width_mm),
        "drop_mm": number(line.drop_mm),
        "size_basis": line.size_basis or None,
        "vane_width_mm": line.vane_width_mm,
        "draw": line.draw or None,
        "hand": line.hand or None,
        "operation": line.operation or None,
        "loop_control": (line.loop_control or None) if looped else None,
        "chain": (line.chain or None) if looped else None,
        "control_drop_mm": number(line.control_drop_mm),
        "measured_chain_mm": None,
        "installation_height_mm": number(line.installation_height_mm),
        "market": market,
        "fixing": line.fixing or None,
        "bottom": line.bottom or None,
        "fabric_g_per_m2": line.fabric.weight_g_per_m2 if line.fabric_id else None,
    }
