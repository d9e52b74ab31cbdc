"""Which language a page is in. The only writer of the language that a person has chosen.

Pages that makers read are `translated`: they follow the person's choice, before signing in the language that this
browser saw last, else what the browser asks for, else the workshop's. Every other page is written in English alone.
"""

from django.conf import settings
from django.utils import translation

ENGLISH = "en-gb"


def translated(view):
    """Mark `view` as one whose page is in the language of whoever reads it."""

    view.translated = True
    return view


def language_of(request):
    """The code of the language for whoever asks; one of settings.LANGUAGES."""
    user = getattr(request, "user", None)
    chosen = user.language if user and user.is_authenticated else ""
    return chosen if chosen in dict(settings.LANGUAGES) else translation.get_language_from_request(request)


def choose(*, person, language):
    """Keep `language`, one of settings.LANGUAGES, as this person's."""
    person.language = language
    person.save(update_fields=["language"])


def remember(answer, language):
    """Let the browser keep `language` for whoever comes before it next and has not signed in yet."""
    answer.set_cookie(
        settings.LANGUAGE_COOKIE_NAME,
        language,
        max_age=settings.LANGUAGE_COOKIE_AGE,
        httponly=settings.LANGUAGE_COOKIE_HTTPONLY,
        samesite=settings.LANGUAGE_COOKIE_SAMESITE,
        secure=settings.LANGUAGE_COOKIE_SECURE,
    )
