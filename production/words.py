"""The words that people read, in the language of whoever reads them. Pure: without a translator they stay English.

Whoever serves people gives the translators (`speak`), so that nothing pure knows where translations come from. English
is written where it is said, and is the key to its translation; what changes in it stands in braces.
"""


def _one_or_many(one, many, count):
    return one if count == 1 else many


_translators = {"words": str, "count": _one_or_many, "mark": str}


def speak(*, words, count, mark):
    """Translate by these from now on: `words(english)`, `count(one, many, n)`, and `mark(english)` for `mark`."""
    _translators.update(words=words, count=count, mark=mark)


def _(english: str, **values) -> str:
    """`english` in the reader's language, its braces filled with `values`; nothing for nothing."""
    said = _translators["words"](english) if english else ""
    return said.format(**values) if values else said


def N_(english: str) -> str:
    """`english` as it is: it stands in a table, and is translated where it is read."""
    return english


def ngettext(one: str, many: str, count: int, **values) -> str:
    """`one` or `many` as the reader's language counts `count`, which fills the braces with `values`."""
    return _translators["count"](one, many, count).format(count=count, **values)


def listed(texts, link: str = " and ") -> str:
    """`texts` one after the other as people say them: 'vanes, stringing and checking'; nothing for none."""
    *before, last = list(texts) or [""]
    return f"{', '.join(before)}{link}{last}" if before else last


def mark(english: str) -> str:
    """A letter that stands on labels too: in the workshop's language, whoever reads, so that paper and screen agree."""
    return _translators["mark"](english)
