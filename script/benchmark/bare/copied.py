"""A finished page of ours taken apart for the floor: a template and the rows it is rendered from, to the same bytes.

A variable is each attribute with a figure in it, each text with a figure in it, every text of a queue's row, and each
drawing, as a whole. All else stands in the template as it is. The rows of a queue are one loop.
"""

import re
from html import unescape

from django.utils.html import escape

TOKEN = re.compile(r"<svg\b.*?</svg>|<[^>]*>|[^<]+", re.DOTALL)
ATTRIBUTE = re.compile(r'="([^"]*)"')
ROW = re.compile(r'<li class="row".*?</li>', re.DOTALL)
CSRF = re.compile(r'(csrfmiddlewaretoken" value="|x-csrftoken": ")[A-Za-z0-9]{64}')


class Part:
    """A piece of a page as a template of variables `of`, and their values."""

    def __init__(self, html, *, of, every_text):
        self.shown, self._of, self._every_text = {}, of, every_text
        self.template = "".join(self._token(each) for each in TOKEN.findall(html))

    def _token(self, text):
        if text.startswith("<svg"):
            return self._variable(text, "|safe")
        if text.startswith("<"):
            return ATTRIBUTE.sub(lambda found: f'="{self._value(found[1])}"', text)
        inner = text.strip()
        wanted = inner and (self._every_text or any(sign.isdigit() for sign in inner))
        return text.replace(inner, self._escaped(inner)) if wanted else text

    def _value(self, text):
        wanted = any(sign.isdigit() for sign in text) and "{{" not in text
        return self._escaped(text) if wanted else text

    def _escaped(self, text):
        plain = unescape(text)
        return self._variable(plain) if escape(plain) == text and "{{" not in text else text

    def _variable(self, text, how=""):
        name = f"v{len(self.shown)}"
        self.shown[name] = text
        return f"{{{{ {self._of}.{name}{how} }}}}"


def copied(page):
    """The template of `page`, and the (shape, shown) of each row, the page's own first."""
    page = CSRF.sub(r"\1{{ csrf_token }}", page)
    found = list(ROW.finditer(page))
    if not found:
        whole = Part(page, of="head", every_text=False)
        return whole.template, [(0, whole.shown)]
    # One part for before and after the rows, so that their names go on.
    loop = "<!-- rows -->"
    around = Part(page[: found[0].start()] + loop + page[found[-1].end() :], of="head", every_text=False)
    parts = [Part(each[0], of="row.shown", every_text=True) for each in found]
    shapes = list(dict.fromkeys(part.template for part in parts))
    between = page[found[0].end() : found[1].start()] if len(found) > 1 else ""
    forms = "".join(
        f"{{% {'elif' if number else 'if'} row.shape == {number} %}}{shape}" for number, shape in enumerate(shapes)
    )
    rows = f"{{% for row in rows %}}{forms}{{% endif %}}{{% if not forloop.last %}}{between}{{% endif %}}{{% endfor %}}"
    return around.template.replace(loop, rows), [
        (0, around.shown),
        *((shapes.index(part.template), part.shown) for part in parts),
    ]
