"""What a browser sends of an order's line."""

from tests import factories


def typed_line(**given):
    """A split, left-handed recess blind with cord, chain and tensioner, with what is given; None leaves a field out."""
    fields = {
        "room": "Kitchen",
        "quantity": "1",
        "size_basis": "recess",
        "width_mm": "1830",
        "drop_mm": "1600",
        "vane_width_mm": "89",
        "fabric": str(factories.fabric(127 if given.get("vane_width_mm") == "127" else 89).pk),
        "draw": "split",
        "hand": "left",
        "operation": "cord_chain",
        "loop_control": "tensioner",
        "chain": "metal",
        "fixing": "top",
        "bottom": "chain",
        "system": str(factories.system().pk),
        **given,
    }
    return {name: value for name, value in fields.items() if value is not None}
