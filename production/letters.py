"""What a letter that takes a paper to a customer says, before somebody changes it. Plain text, our own words."""

from django.conf import settings
from django.utils import translation
from django.utils.formats import date_format

from orders.customer_papers import COLLECTION, CONFIRMATION, DELIVERY, KIND, MEASUREMENTS
from production.office_papers import ENGLISH

SAYS = {
    MEASUREMENTS.key: (
        "With this letter come the measurements that we have for order {order}{reference}, {blinds}.\n\n"
        "Please look at each one at the window, write in what must be changed, sign, and send all pages back. Nothing "
        "is cut before."
    ),
    CONFIRMATION.key: (
        "Thank you for order {order}{reference}, {blinds}, promised for {promised}. Our confirmation comes with this "
        "letter.\n\nPlease check every size, the side of the controls and the fabric, and tell us at once where "
        "something is wrong: once an order is released to the workshop, its blinds are cut to these figures."
    ),
    COLLECTION.key: (
        "Order {order}{reference} is ready: {blinds}, packed, to be collected.\n\n"
        "The note that comes with this letter lists what is in the packs. Please bring it with you."
    ),
    DELIVERY.key: (
        "Order {order}{reference} is packed: {blinds}.\n\n"
        "The delivery note that comes with this letter lists what is in the packs and which safety items go with it."
    ),
}


def first_draft(asked):
    """Subject and text of a letter with this paper (an `office_papers.OfficePaper`)."""
    order = asked.order
    blinds = asked.content["blinds"]
    with translation.override(ENGLISH):
        promised = date_format(order.due_on, "l j F Y")
    said = SAYS[asked.kind].format(
        order=f"{order.number:04d}",
        reference=f" (your reference {order.reference})" if order.reference else "",
        blinds="1 blind" if blinds == 1 else f"{blinds} blinds",
        promised=promised,
    )
    signed = [
        settings.WORKSHOP_NAME,
        *settings.WORKSHOP_ADDRESS,
        settings.WORKSHOP_PHONE,
        settings.WORKSHOP_EMAIL,
        settings.WORKSHOP_REGISTRATION,
    ]
    dear = f"Dear {order.customer.contact or order.customer.name},"
    return {
        "subject": f"{KIND[asked.kind].name} {order.number:04d}, {settings.WORKSHOP_NAME}"[:150],
        "text": "\n\n".join([dear, said, "\n".join(filter(None, signed))]),
    }
