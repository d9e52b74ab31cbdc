"""The blind that most worked values are of."""

BLIND = {
    "system": "demo-38",
    "width_mm": 1500,
    "drop_mm": 1500,
    "size_basis": "exact",
    "vane_width_mm": 89,
    "draw": "one_way",
    "hand": "left",
    "operation": "cord_chain",
    "loop_control": "tensioner",
    "chain": "plastic",
    "market": "en13120",
    "fabric_g_per_m2": 240,
}
