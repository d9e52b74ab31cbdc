"""The catalogues of translated texts: of what is said now, whole, compiled, with the same values in their braces."""

import re
from string import Formatter

import pytest
from django.conf import settings

from script import messages

pytestmark = pytest.mark.once

LANGUAGES = messages.languages()


@pytest.fixture(params=LANGUAGES)
def language(request):
    return request.param


def texts(catalogue):
    """Each text with its translation, once for every number of things that the language tells apart."""
    for message in catalogue:
        if message.id:
            english = (message.id,) if isinstance(message.id, str) else message.id
            said = (message.string,) if isinstance(message.id, str) else message.string
            for place, each in enumerate(said):
                yield english[min(place, len(english) - 1)], each


def holders(text):
    """What a text is filled with, and its tags."""
    named = [name for _, name, _, _ in Formatter().parse(text) if name] if "%(" not in text else []
    return sorted({*named, *re.findall(r"%\(\w+\)s|<[^>]+>", text)})


def test_every_language_that_is_offered_has_a_catalogue():
    assert {code for code, _ in settings.LANGUAGES if code != "en-gb"} == set(LANGUAGES)


def test_a_catalogue_holds_what_is_said_now_and_no_more(language):
    held = {message.id for message in messages.read(language) if message.id}
    wanted = {message.id for message in messages.wanted() if message.id}
    assert (wanted - held, held - wanted) == (set(), set()), "run script/messages and translate what is new"


def test_no_text_is_said_both_by_itself_and_of_one_among_many():
    # Looked up by itself, a text that has a plural is not found.
    found = [message for _, message in messages.said()]
    alone = {message for message in found if isinstance(message, str)}
    assert alone & {message[0] for message in found if not isinstance(message, str)} == set()


def test_every_text_is_translated_and_none_is_a_guess(language):
    catalogue = messages.read(language)
    assert [english for english, said in texts(catalogue) if not said.strip()] == []
    assert [message.id for message in catalogue if message.id and message.fuzzy] == []
    assert not catalogue.obsolete


def test_a_translation_is_filled_with_the_same_values_and_keeps_the_tags(language):
    found = list(texts(messages.read(language)))
    assert len(found) > 700
    wrong = {english: said for english, said in found if not set(holders(said)) <= set(holders(english))}
    # One thing may be told without its number, as the English does.
    wrong |= {english: said for english, said in found if set(holders(english)) - set(holders(said)) - {"count"}}
    assert wrong == {}


def test_a_translation_begins_and_ends_with_the_same_space(language):
    edges = re.compile(r"^(\s*).*?(\s*)$", re.DOTALL)
    found = texts(messages.read(language))
    assert [a for a, b in found if edges.match(a).groups() != edges.match(b).groups()] == []


def test_no_translation_would_end_an_attribute_of_a_page(language):
    found = texts(messages.read(language))
    assert [said for _, said in found if '"' in re.sub(r"<[^>]+>", "", said)] == []


def test_the_compiled_catalogue_is_the_one_that_is_edited(language):
    _, made = messages.paths_of(language)
    assert made.read_bytes() == messages.compiled(messages.read(language)), "run script/messages"
