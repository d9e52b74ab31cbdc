"""Years of past for the demo workshop: orders of ten blinds each, all made like one packed blind of it, for customers,
references and rooms of their own. Names are invented; phone numbers are of those that Ofcom keeps free for drama.
"""

BLINDS_EACH, ORDERS_EACH, YEARS_DAYS = 10, 5, 1800
NAMES = (
    ("Amber", "Brack", "Callow", "Dun", "Elder", "Farrow", "Gorse", "Hollin", "Ives", "Kestrel"),
    ("bourne", "combe", "dale", "fen", "garth", "holm", "marsh", "mere", "thorpe", "wick"),
    ("Bakery", "Clinic", "Dairy", "Forge", "Gallery", "Kiln", "Library", "Nursery", "Surgery", "Tannery"),
    ("Hill", "East", "North", "South", "West"),
)
PHONES = ("01632 960", "07700 900", "0113 4960", "0161 4960")
ROOMS, SIDES = ("Bedroom", "Lounge"), ("Left", "Gauche")


def name(n):
    """The name of the customer numbered `n`, one word of which no other has up to 5,000."""
    parts = []
    for words in NAMES:
        n, at = divmod(n, len(words))
        parts.append(words[at])
    return "".join(parts).capitalize()


def add(count):
    """`count` orders with their blinds, stages and events, over the five years before the demo's three weeks."""
    from orders.models import OrderEnding, RoomName

    blind = _packed()
    customers = _customers(-(-count // ORDERS_EACH))
    RoomName.objects.keep({f" {room.lower()}" for room in ROOMS})
    base = _copy_orders(blind, count, customers)
    _copy_blinds(blind, f"o.number > {base}")
    OrderEnding.objects.make_good()
    execute("VACUUM ANALYZE")


def _packed():
    from production import route
    from production.models import Stage

    packed = Stage.objects.filter(station=route.PACKING, state=route.DONE)
    return packed.select_related("blind__order").order_by("since").first().blind


def _customers(count):
    """The lowest key of so many new customers, whose keys follow each other."""
    from orders.models import Customer

    made = Customer.objects.bulk_create(
        Customer(
            name=name(n),
            contact="Ina",
            phone=f"{PHONES[n // 1000 % len(PHONES)]}{n % 1000:03}",
            email=f"office@{name(n)}.example".lower(),
        )
        for n in range(count)
    )
    return made[0].pk


def _copy_orders(blind, count, first_customer):
    """The highest number there was before."""
    from django.db.models import Max

    from orders.models import Order, OrderLine

    base = Order.objects.aggregate(last=Max("number"))["last"]
    side = f"(ARRAY{list(SIDES)})[1 + n % {len(SIDES)}]"
    days = f"(40 + n * {YEARS_DAYS} / {count})"
    _copied(
        Order,
        f"source.id = {blind.order_id}",
        f"generate_series(1, {count}) n",
        number=f"{base} + n",
        customer_id=f"{first_customer} + (n - 1) / {ORDERS_EACH}",
        reference=f"'PO ' || lpad(n::text, 5, '0') || '/' || {side}",
        sought=f"' po ' || lpad(n::text, 5, '0') || lower(' ' || {side} || ' po' || lpad(n::text, 5, '0') || {side})",
        state="'collected'",
        due_on=f"source.due_on - {days}",
        state_since=f"source.state_since - make_interval(days => {days})",
        entered_at=f"source.entered_at - make_interval(days => {days})",
    )
    room = f"(ARRAY{list(ROOMS)})[1 + o.number % {len(ROOMS)}]"
    _copied(
        OrderLine,
        f"source.id = {blind.line_id} AND o.number > {base}",
        "orders_order o",
        order_id="o.id",
        room=room,
        sought=f"' ' || lower({room})",
    )
    return base


def _copy_blinds(blind, of_past):
    """The blinds of the orders that are `of_past`, with their stages and events."""
    from production.models import Blind, Stage, StationEvent

    serials = (
        f"orders_order o JOIN orders_orderline l ON l.order_id = o.id CROSS JOIN generate_series(1, {BLINDS_EACH}) s"
    )
    back = "(source.released_at - (SELECT state_since FROM orders_order WHERE id = source.order_id) + o.state_since)"
    _copied(
        Blind,
        f"source.id = {blind.pk} AND {of_past}",
        serials,
        order_id="o.id",
        line_id="l.id",
        serial="s",
        code="lpad(o.number::text, 6, '0') || lpad(s::text, 3, '0') || '0'",
        released_at=back,
    )
    shifted = "production_blind b JOIN orders_order o ON o.id = b.order_id"
    lag = f"(SELECT released_at FROM production_blind WHERE id = {blind.pk})"  # noqa: S608 - a key
    _copied(
        Stage,
        f"source.blind_id = {blind.pk} AND {of_past}",
        shifted,
        blind_id="b.id",
        since=f"source.since - {lag} + b.released_at",
    )
    kinds = "source.kind IN ('release', 'start', 'finish')"
    _copied(
        StationEvent,
        f"source.blind_id = {blind.pk} AND {kinds} AND {of_past}",
        shifted,
        blind_id="b.id",
        event_id="gen_random_uuid()",
        at=f"source.at - {lag} + b.released_at",
    )


def _copied(model, where, beside, **given):
    """Insert copies of the rows of `model`, each with what `given` says instead, by one statement."""
    columns = [field.column for field in model._meta.concrete_fields if not field.primary_key]
    shown = ", ".join(given.get(column, f'source."{column}"') for column in columns)
    named = ", ".join(f'"{column}"' for column in columns)
    table = model._meta.db_table
    execute(f"INSERT INTO {table} ({named}) SELECT {shown} FROM {table} source CROSS JOIN {beside} WHERE {where}")  # noqa: S608 - names of our own


def execute(sql):
    from django.db import connection

    with connection.cursor() as cursor:
        cursor.execute(sql)
