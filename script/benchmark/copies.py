"""Copies of one blind with its whole past: as many as are wanted, written in a few statements."""

import uuid

from script.benchmark.serving import AT_ONCE


def copies(blind, *, count, first_serial):
    """`count` more blinds of the same order, line and figures as `blind`, standing as it stands; returns them."""
    from django.utils import timezone

    from production import codes
    from production.models import Blind, Stage, StationEvent

    stages, events = list(blind.stages.all()), list(StationEvent.objects.of_blind(blind))
    frozen = {name: getattr(blind, name) for name in ("room", "fabric", "special_instruction", "concerns", "spec")}
    made = Blind.objects.bulk_create(
        (
            Blind(
                order=blind.order,
                line_id=blind.line_id,
                serial=serial,
                code=codes.ticket_code(order_number=blind.order.number, serial=serial),
                components=blind.components,
                revision_id=blind.revision_id,
                released_at=timezone.now(),
                version=blind.version,
                **frozen,
            )
            for serial in range(first_serial, first_serial + count)
        ),
        batch_size=AT_ONCE,
    )
    Stage.objects.bulk_create((_of(stage, each) for each in made for stage in stages), batch_size=AT_ONCE)
    StationEvent.objects.bulk_create(
        (_of(event, each, event_id=uuid.uuid4()) for each in made for event in events), batch_size=AT_ONCE
    )
    return made


def _of(row, blind, **given):
    """`row` as one of `blind`."""
    fields = {
        field.attname: getattr(row, field.attname) for field in row._meta.concrete_fields if not field.primary_key
    }
    return type(row)(**{**fields, "blind_id": blind.pk, **given})
