"""The session of each request, the language of each page, and what tells the browser of them."""

from django.conf import settings
from django.contrib.sessions.middleware import SessionMiddleware
from django.utils import translation
from django.utils.cache import patch_vary_headers

from orders import languages


class SessionOfTheBrowser(SessionMiddleware):
    """Django's, which also takes the cookie of an unknown session away: here only signing out does.

    What a page asks by itself may be overtaken by its browser's next sign-in, which ends the session that it asks in;
    its answer would take away the cookie of whoever has signed in since.
    """

    def process_response(self, request, response):
        if request.session.is_empty() and not request.session.modified:
            patch_vary_headers(response, ("Cookie",))
            return response
        return super().process_response(request, response)


class LanguageOfThePage:
    """English, or on a page that is translated the language of whoever asks for it."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        with translation.override(languages.ENGLISH):
            answer = self.get_response(request)
            answer.headers.setdefault("Content-Language", translation.get_language())
        if getattr(request, "is_translated", False):
            patch_vary_headers(answer, ("Accept-Language", "Cookie"))
            self._remember(request, answer)
        return answer

    def process_view(self, request, view, args, kwargs):
        request.is_translated = getattr(view, "translated", False)
        if request.is_translated:
            request.language = languages.language_of(request)
            translation.activate(request.language)

    def _remember(self, request, answer):
        """The language that this browser saw last greets whoever signs in on it next."""
        if request.user.is_authenticated and request.COOKIES.get(settings.LANGUAGE_COOKIE_NAME) != request.language:
            languages.remember(answer, request.language)
