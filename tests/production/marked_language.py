"""A language in which every translated text is marked, [¡so!]: what has no marks on a page was never translated."""

import re

from babel.messages.mofile import write_mo
from django.utils import dates, translation

from script import messages
from tests.read_page import read_page

CODE = "eo"
OPENS, SHUTS = "[¡", "!]"
SAID_BY_ATTRIBUTES = ("aria-label", "title", "placeholder", "alt")
DATA_WORDS = (
    "last",
    "what",
    "one",
    "many",
    "failed",
    "lost",
    "old",
    "unsent",
    "in_hand",
    "paused",
    "done",
    "sent_back",
)
DATA_WORDS += ("later", "all", "at", "close", "problem", "shape")
ATTRIBUTES = {*SAID_BY_ATTRIBUTES, *(f"data-{word}" for word in DATA_WORDS)}
SILENT = ("script", "style", "head")
# Units and signs, the letters of the hands, and what the page is made of.
KNOWN = {"mm", "m", "kg", "g", "Railwright", "English", "L", "R"}


def speak(settings, folder):
    """Offer that language, and no other than English beside it."""
    catalogue = messages.read("es")
    for message in catalogue:
        if message.id and isinstance(message.id, str):
            message.string = f"{OPENS}{message.id}{SHUTS}"
        elif message.id:
            message.string = tuple(f"{OPENS}{each}{SHUTS}" for each in message.id)
    made = folder / CODE / "LC_MESSAGES"
    made.mkdir(parents=True)
    with (made / "django.mo").open("wb") as file:
        write_mo(file, catalogue)
    settings.LOCALE_PATHS = [folder]
    settings.LANGUAGES = [("en-gb", "English"), (CODE, "Esperanto")]


def unmarked(html, *, known=()):
    """The words on a page that were never translated, but for numbers, dates and what is `known`."""
    root = read_page(html)
    texts = ["".join(_texts(root)), *_attributes(root)]
    left = " | ".join(" ".join(_bare(text).split()) for text in texts)
    for each in sorted(map(str, known), key=len, reverse=True):
        left = left.replace(each, " ")
    spared = KNOWN | _dates()
    return [word for word in re.findall(r"[^\W\d_²]+", left) if word not in spared]


def _texts(element):
    if element.tag in SILENT:
        return
    yield element.text or ""
    for child in element:
        yield from _texts(child)
        yield " " + (child.tail or "")


def _attributes(root):
    for element in root.iter():
        yield from (element.attrib[name] for name in ATTRIBUTES & element.attrib.keys())
    yield root.findtext("head/title") or ""


def _bare(text):
    """`text` without what stands between marks, which may stand in one another."""
    depth, left = 0, []
    for part in re.split(f"({re.escape(OPENS)}|{re.escape(SHUTS)})", text):
        if part == OPENS:
            depth += 1
        elif part == SHUTS:
            depth -= 1
        elif depth == 0:
            left.append(part)
    assert depth == 0, text
    return " ".join(left)


def _dates():
    with translation.override(CODE):
        named = [dates.WEEKDAYS, dates.WEEKDAYS_ABBR, dates.MONTHS, dates.MONTHS_3]
        return {
            form
            for names in named
            for word in map(str, names.values())
            for form in (word, word.capitalize(), word.title())
        }
