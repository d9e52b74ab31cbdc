"""What stands on record, for tests of the audit."""

from orders.models import AuditEntry


def told(what, **fields):
    return list(AuditEntry.objects.filter(what=what, **fields))


def sole(what, **fields):
    (entry,) = told(what, **fields)
    return entry
