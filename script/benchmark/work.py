"""Work at a station as somebody does it there."""

import uuid


def nearly_finished(blind, *, by):
    """Take up railing of `blind` and enter every step; only the finish is left."""
    from django.utils import timezone

    from production import bench, route, steps
    from production.record import record

    def tell(kind, **data):
        given = {"code": blind.code, "station": route.RAILING, "by": by, "at": timezone.now()}
        record(event_id=uuid.uuid4(), kind=kind, data=data or None, **given)

    tell(route.START)
    for key in [each.step.key for each in bench.read(blind=blind, station=route.RAILING).steps if each.step.must]:
        step = next(each.step for each in bench.read(blind=blind, station=route.RAILING).steps if each.step.key == key)
        value = step.expected if step.kind in (steps.COUNT, steps.MEASURE) else True
        tell(route.STEP, key=key, value="lot 7" if step.kind == steps.NOTE else value)
