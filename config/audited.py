"""Which page shows what of whom: for the audit, which tells who saw and took out what."""

# Each shows the order in its address.
ORDERS = {
    *("order", "order-edit", "order-cancel", "order-right", "lines", "line", "line-new", "line-remove", "release"),
    *("order-at-work", "order-parts", "order-changes", "change-add", "change-line", "change-take-off", "change-head"),
    *("order-paper-send", "order-promise-day", "order-earliest", "order-tickets", "order-labels"),
    *("api-order", "api-blinds"),
}
CUSTOMERS = {"customer", "customer-edit", "files"}
FILES = {"file"}
BLINDS = {"blind", "blind-working", "station-blind", "ticket", "rail-label", "pack-label"}
PEOPLE = {"person", "person-password", "bench-person"}
LISTS = {
    "orders": "the list of orders",
    "customers": "the list of customers",
    "customers-found": "customers to choose from",
    "find": "what a search found",
    "day": "the day sheet",
    "changes": "changes that were asked for",
    "plan": "the plan",
    "people": "the list of people",
    "people-at-work": "people at work and away",
    "bench-people": "who has PINs and badges",
    "signed-in": "who is signed in",
    "audit": "the audit",
    "api-orders": "orders",
    "api-changes": "changes of orders",
}
TAKEN_OUT = {"order-sheet", "order-text", "order-paper", "sent-paper"}
SHEETS = {"customer-sheet"}
SYSTEMS = {"revision-file"}
WORKS = {"work-result"}


def seen(name, kwargs):
    """What was seen or taken out at the address with that name: tuples of what, kind, thing and words."""
    if name in ORDERS:
        yield "saw", "order", kwargs["number"], f"order {kwargs['number']:04d}"
    elif name in CUSTOMERS:
        yield "saw", "customer", kwargs["pk"], f"customer {kwargs['pk']}"
    elif name in FILES:
        yield "saw", "file", kwargs["pk"], f"customer's file {kwargs['pk']}"
    elif name in BLINDS:
        yield "saw", "blind", kwargs["code"], f"blind {kwargs['code']}"
    elif name in PEOPLE:
        yield "saw", "person", kwargs["pk"], f"person {kwargs['pk']}"
    elif name in LISTS:
        yield "saw", "list", name, LISTS[name]
    elif name in TAKEN_OUT:
        yield "exported", "order", kwargs["number"], f"a file or paper of order {kwargs['number']:04d}"
    elif name in SHEETS:
        yield "exported", "customer", kwargs["pk"], f"the open orders of customer {kwargs['pk']}"
    elif name in WORKS:
        yield "exported", "work", kwargs["pk"], f"what work {kwargs['pk']} made"
    elif name in SYSTEMS:
        yield "exported", "system", kwargs["system"], f"{kwargs['system']}, revision {kwargs['revision']}"
