"""Whether a recess is deep enough for the vanes to turn in it: a matter between sales and customer, not of the figures.

Geometry only: a vane square to the glass reaches half its width from the rail's axis either way, so it sweeps its whole
width. Where the brackets hold the axis, and what else stands in the recess, is for whoever measures. Common practice,
no source.
"""

from decimal import Decimal

SOURCE = "geometry of a turning vane: common practice, no source"


def recess_findings(*, size_basis, vane_width_mm, recess_depth_mm) -> list[dict]:
    """A warning where vanes turned square to the glass need more depth than the recess has; lengths in millimetres."""
    if size_basis != "recess" or not vane_width_mm or recess_depth_mm is None:
        return []
    depth_mm = Decimal(recess_depth_mm)
    if depth_mm >= vane_width_mm:
        return []
    half_mm, short_mm = Decimal(vane_width_mm) / 2, vane_width_mm - depth_mm
    narrower = "order 89 mm vanes, or " if vane_width_mm > 89 else ""
    message = (
        f"A vane of {vane_width_mm} mm turned square to the glass reaches {_plain(half_mm)} mm each way from the rail: "
        f"{vane_width_mm} mm in all, and the recess is {_plain(depth_mm)} mm deep. It touches the glass or stands out "
        f"{_plain(short_mm)} mm or more: {narrower}face-fix before the recess, or tell the customer."
    )
    return [
        {
            "code": "recess_too_shallow",
            "severity": "warn",
            "field": "recess_depth_mm",
            "message": message,
            "source": SOURCE,
        }
    ]


def _plain(number):
    return f"{number.normalize():f}"
