"""Parts of a page that are kept once they are rendered; what differs in each answer is put in each time.

The processes of one server share them by a folder of their own, PARTS_DIR (config/gunicorn_settings.py).
"""

import os
import uuid

from django import template
from django.conf import settings
from django.utils.crypto import salted_hmac
from django.utils.safestring import mark_safe
from django.utils.translation import get_language

from production.kept import KeptTexts, digest

register = template.Library()
MOST_BYTES = 16_000_000
"""So much each process keeps: a row or a step of a page takes 1 to 3 kB, a whole sheet 70."""
SOURCES = ("templates", "production", "orders", "calc", "config")


def _of_this_code():
    """A key of the files that parts are rendered from: whoever begins with others of them shares none of before."""
    files = [path for name in SOURCES for path in (settings.BASE_DIR / name).rglob("*.*")]
    kinds = (".py", ".html", ".mo")
    return digest(sorted((str(path), path.stat().st_mtime_ns) for path in files if path.suffix in kinds)).hex()


parts = KeptTexts(most_bytes=MOST_BYTES)
if folder := os.environ.get("PARTS_DIR"):
    parts = KeptTexts(most_bytes=MOST_BYTES, folder=f"{folder}/{_of_this_code()}")
# Stand in a kept part where each answer has its own; nobody can know them, so no stored text has them.
EVENT, *SIGNS = (
    salted_hmac("kept parts", name).hexdigest()[:32] for name in ("event", "csrf", "maker", "person", "stream")
)
OWN = dict(zip(("csrf_token", "maker_token", "person_key", "stream_token"), SIGNS, strict=True))


@register.tag
def keep(parser, token):
    """{% keep "row" key … %}…{% endkeep %}: rendered once for each of these keys, in each language.

    The keys hold every value that is shown in between; where one is None, it is rendered each time. Only the numbers of
    events (`event_id`) and what OWN names may differ beyond them. After `reading` stands what is asked for the values
    to show, a dict, only where it is rendered.
    """
    _tag, *keys = token.split_contents()
    reading = keys.pop() if "reading" in keys else None
    names = [key for key in keys if key != "reading"]
    nodes = parser.parse(("endkeep",))
    parser.delete_first_token()
    return KeptNode([parser.compile_filter(name) for name in names], reading, nodes)


class KeptNode(template.Node):
    def __init__(self, keys, reading, nodelist):
        self.keys, self.reading, self.nodelist = keys, reading, nodelist

    def render(self, context):
        keys = [key.resolve(context) for key in self.keys]
        if None in keys:
            return self._rendered(context)
        part = parts.get((get_language(), *keys), lambda: self._made(context))
        # A part of a part: the whole is filled in.
        return part if context.get("event_id") is EVENT else filled(part, context)

    def _made(self, context):
        with context.push(event_id=EVENT, **OWN):
            return self._rendered(context)

    def _rendered(self, context):
        with context.push(**(context[self.reading]() if self.reading else {})):
            return self.nodelist.render(context)


def filled(part, context):
    """A kept part with what is this answer's own."""
    pieces = part.split(EVENT)
    whole = "".join(piece + str(uuid.uuid4()) for piece in pieces[:-1]) + pieces[-1]
    for name, sign in OWN.items():
        if sign in whole:
            whole = whole.replace(sign, str(context[name]))
    return mark_safe(whole)  # noqa: S308 - rendered before, and tokens of our own
