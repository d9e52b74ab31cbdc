"""What is wrong with a blind, or worth saying of it: each finding with its field, its values and the way out."""

SEVERITIES = {
    "unknown_key": "refuse",
    "wrong_type": "refuse",
    "not_in_list": "refuse",
    "out_of_range": "refuse",
    "height_below_drop": "refuse",
    "loop_not_allowed": "refuse",
    "device_required": "refuse",
    "height_required": "refuse",
    "control_drop_too_long": "refuse",
    "cord_too_long": "refuse",
    "mass_over_rating": "refuse",
    "wand_reverse": "refuse",
    "chain_off_nominal": "warn",
    "chain_below_blind": "warn",
    "wand_longer_than_blind": "warn",
    "ignored_with_wand": "warn",
    "bottom_chain_loop": "warn",
    "chain_rounded": "note",
    "market_rule": "note",
}


def finding(*, code: str, field: str, message: str, source: str) -> dict:
    """One finding; its severity follows from its code. Raises KeyError for a code that is not listed."""
    return {"code": code, "severity": SEVERITIES[code], "field": field, "message": message, "source": source}


def refuses(found: list[dict]) -> bool:
    """True where one of `found` is a refusal."""
    return any(one["severity"] == "refuse" for one in found)
