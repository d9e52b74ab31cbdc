"""Which page shows what of whom: for the audit, which tells who saw and took out what."""

# What is told, of what kind, which part of the address names the thing, its words, and the pages that show it.
PAGES = (
    (
        *("saw", "order", "number", "order {number:04d}"),
        {
            *("order", "order-edit", "order-cancel", "order-right", "lines", "line", "line-new", "line-remove"),
            *("release", "order-at-work", "order-parts", "order-changes", "order-tickets", "order-labels"),
            *("change-add", "change-line", "change-take-off", "change-head"),
            *("order-paper-send", "order-promise-day", "order-earliest", "api-order", "api-blinds"),
        },
    ),
    ("saw", "customer", "pk", "customer {pk}", {"customer", "customer-edit", "files"}),
    ("saw", "file", "pk", "customer's file {pk}", {"file"}),
    (
        *("saw", "blind", "code", "blind {code}"),
        {"blind", "blind-working", "station-blind", "ticket", "rail-label", "pack-label"},
    ),
    ("saw", "person", "pk", "person {pk}", {"person", "person-password", "bench-person"}),
    (
        *("exported", "order", "number", "a file or paper of order {number:04d}"),
        {"order-sheet", "order-text", "order-paper", "sent-paper"},
    ),
    ("exported", "customer", "pk", "the open orders of customer {pk}", {"customer-sheet"}),
    ("exported", "work", "pk", "what work {pk} made", {"work-result"}),
    ("exported", "system", "system", "{system}, revision {revision}", {"revision-file"}),
)
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
OF_PAGE = {name: told for *told, names in PAGES for name in names}


def seen(name, kwargs, *, page=1, found=None):
    """What was seen or taken out at the address with that name: tuples of what, kind, thing and words.

    Each `page` of a list is told, and of a search what its view says it `found`: a mark of what was sought, and words.
    """
    if name in LISTS:
        mark, words = found or ("", "")
        thing = " ".join(each for each in (name, mark, str(page) if page > 1 else "") if each)
        yield "saw", "list", thing, LISTS[name] + (f", page {page}" if page > 1 else "") + words
    elif name in OF_PAGE:
        what, kind, thing, words = OF_PAGE[name]
        yield what, kind, kwargs[thing], words.format(**kwargs)
