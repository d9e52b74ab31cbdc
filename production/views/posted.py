"""What the forms of a station send, as it is recorded."""

import uuid

from production import record, route
from production.words import _


def event_id_of(text):
    try:
        return uuid.UUID(text)
    except ValueError:
        raise record.Refused(_("The page sent no number for this event. Reload it and do it again.")) from None


def issue_of(posted):
    """The issue of the blind's figures that the form was shown with; a page that says none shows the first."""
    text = posted.get("issue", "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 6 else 1


def data_of(posted):
    """What is recorded with the event, from the fields of the form that was sent."""
    # PostgreSQL keeps no such sign in a text.
    posted = {name: text.replace("\0", "") for name, text in posted.items()}
    kind = posted.get("kind")
    if kind == route.STEP:
        return {"key": posted.get("key"), "value": True if "confirmed" in posted else posted.get("value")}
    if kind == route.PAUSE:
        return {"reason": posted.get("other_reason", "").strip() or posted.get("reason", "")}
    fault = {name: posted[name].strip() for name in ("back_to", "fault", "note") if name in posted}
    return {**fault, "scrapped": [{"part": part, "count": count} for part, count in scrapped_of(posted).items()]}


def scrapped_of(posted):
    """What was entered as scrapped, by the part's key, in fields such as `scrapped-rail`."""
    names = [name for name in posted if name.startswith("scrapped-")]
    return {name.removeprefix("scrapped-"): posted[name].strip() for name in names if posted[name].strip()}
