"""Gathers every text that people read into the catalogues of production/locale, and compiles them.

A text is found where it is marked, in Python and in templates; what calc and the first kinds of fault say is data, and
is asked of them. What a language already has is kept, what is no longer said is dropped; nothing is guessed.
"""

import ast
import io
import os
from importlib import import_module
from pathlib import Path

import django
from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).parents[1]
LOCALE = ROOT / "production" / "locale"
SOURCES = ("config", "orders", "production")
KEYWORDS = {"_": 1, "N_": 1, "gettext": 1, "gettext_lazy": 1, "ngettext": 2}
"""What marks a text, and how many of its first arguments are texts."""
FIRST_FAULTS = "production.migrations.0003_first_kinds_of_fault"


def wanted():
    """A catalogue without translations of all that is said now."""
    catalogue = Catalog(fuzzy=False)
    for place, message in said():
        catalogue.add(message, locations=[(place, None)])
    return catalogue


def said():
    """All that people read: where it stands, and the text, or two of them where it is counted."""
    yield from _in_python()
    yield from _in_templates()
    yield from _data()


def _in_python():
    for folder in SOURCES:
        for path in sorted((ROOT / folder).rglob("*.py")):
            if "migrations" not in path.parts:
                for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                    if message := _marked(call):
                        yield str(path.relative_to(ROOT)), message


def _marked(node):
    """The text or texts that a call marks; nothing where they are looked up, and so marked elsewhere."""
    if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name) or node.func.id not in KEYWORDS:
        return None
    texts = [each.value for each in node.args[: KEYWORDS[node.func.id]] if isinstance(each, ast.Constant)]
    if len(texts) < KEYWORDS[node.func.id]:
        return None
    return texts[0] if len(texts) == 1 else tuple(texts)


def _in_templates():
    keywords = {name: tuple(range(1, texts + 1)) for name, texts in KEYWORDS.items()}
    for path in sorted((ROOT / "templates").rglob("*.html")):
        source = io.BytesIO(_as_python(path.read_text(encoding="utf-8")).encode())
        for _line, message, _comments, _context in extract("python", source, keywords=keywords):
            if message:
                yield str(path.relative_to(ROOT)), message


def _as_python(template):
    """The texts of a template as calls in Python; a line's indent means nothing there."""
    from django.utils.translation.template import templatize

    return "\n".join(line.lstrip() for line in templatize(template).splitlines())


def _data():
    from production.from_calc import english_of_calc

    for message in english_of_calc():
        if message:
            yield "calc", message
    for _, words in import_module(FIRST_FAULTS).FIRST:
        yield "production/migrations", words


def languages():
    """The code of each language that has a catalogue."""
    return sorted(path.name for path in LOCALE.iterdir() if path.is_dir())


def paths_of(language):
    """Where the catalogue of `language` stands: to edit, and compiled."""
    folder = LOCALE / language / "LC_MESSAGES"
    return folder / "django.po", folder / "django.mo"


def read(language):
    with paths_of(language)[0].open("rb") as file:
        return read_po(file, locale=language)


def brought_up_to_date(catalogue):
    """`catalogue` with what is said now and no more."""
    catalogue.update(wanted(), no_fuzzy_matching=True, update_creation_date=False)
    catalogue.obsolete.clear()
    return catalogue


def compiled(catalogue):
    """What stands in the compiled file."""
    file = io.BytesIO()
    write_mo(file, catalogue)
    return file.getvalue()


def main():
    for language in languages():
        catalogue = brought_up_to_date(read(language))
        written, made = paths_of(language)
        with written.open("wb") as file:
            write_po(file, catalogue, width=0, sort_by_file=True, include_lineno=False)
        made.write_bytes(compiled(catalogue))
        lacking = [message.id for message in catalogue if message.id and not message.string]
        print(f"{language}: {len(catalogue)} texts, {len(lacking)} without a translation")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    main()
