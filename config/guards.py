"""What stands around every request: who asked and saw is written down, sessions end in time, and browsers are told what
they may do with an answer."""

from urllib.parse import urlsplit

from csp import constants as csp
from django.conf import settings
from django.contrib.auth import logout
from django.http.request import split_domain_port
from django.shortcuts import redirect

from config.audited import seen
from orders import audit, first_things, sessions
from orders.asking import asked_by

PERMISSIONS = "camera=(self), geolocation=(), microphone=(), payment=(), usb=()"


class Audited:
    """Writes down who asked for what is changed meanwhile, and who saw what the page shows or was refused it."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        with asked_by(request):
            answer = self.get_response(request)
            if request.resolver_match and (who_is_known(request)):
                self._tell(request, answer)
        return answer

    def _tell(self, request, answer):
        name = request.resolver_match.view_name
        if answer.status_code == 403:
            audit.once_an_hour("refused", kind="page", thing=name, words=f"the page {request.path}")
        elif answer.status_code == 200:
            listed = {"page": page_number(request), "found": getattr(answer, "found", None)}
            for what, kind, thing, words in seen(name, request.resolver_match.kwargs, **listed):
                if what == "exported":
                    audit.did(what, kind=kind, thing=thing, words=words)
                else:
                    audit.once_an_hour(what, kind=kind, thing=thing, words=words)


def page_number(request):
    """Which page of a list was asked for; 1 where it is no number that a list would take."""
    asked = request.GET.get("page", "")
    return max(int(asked), 1) if asked.isascii() and asked.isdecimal() and len(asked) < 5 else 1


def who_is_known(request):
    user = getattr(request, "user", None)
    return getattr(request, "api_key", None) or (user is not None and user.is_authenticated)


class SessionLimits:
    """Ends a session that has been going on for too long, and notes when something was done in one.

    A page opened or a form sent is an act; what a page asks by itself is nobody's doing.
    """

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        if sessions.is_over(request.session):
            logout(request)
        elif not request.tablet and is_act(request):
            sessions.note_act(request.session)
        return self.get_response(request)


def is_act(request):
    opened = request.headers.get("Accept", "").startswith("text/html") and "HX-Request" not in request.headers
    return request.method == "POST" or opened


class FirstThings:
    """Keeps whoever has something to do before anything else, such as choosing their own password, on its page."""

    OPEN = {"confirm", "sign-out", "language"}

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        return self.get_response(request)

    def process_view(self, request, view, args, kwargs):
        wanted = first_things.due(request)
        is_for_all = not getattr(view, "login_required", True)
        if wanted and not is_for_all and request.resolver_match.view_name not in {wanted, *self.OPEN}:
            return redirect(wanted)


class AnswerHeaders:
    """Tells the browser to keep no page of the office, to show none to others, and which devices pages may use."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        answer = self.get_response(request)
        answer.headers.setdefault("Permissions-Policy", PERMISSIONS)
        answer.headers.setdefault("Cross-Origin-Resource-Policy", "same-origin")
        match = request.resolver_match
        if match and settings.LIVE_URL:
            answer._csp_update = {"connect-src": [live_origin(request)]}
        if answer.headers.get("Content-Type") == "application/pdf":
            # What shows a PDF in a browser is a page of its own with styles in it; the paper itself loads nothing.
            answer._csp_replace = {"default-src": None, "object-src": [csp.SELF], "style-src": None, "img-src": None}
        # A station keeps its own pages, for when its network is gone.
        if not (match and getattr(match.func, "bench", False)):
            answer.headers.setdefault("Cache-Control", "no-store")
        return answer


def live_origin(request):
    """Where the stream of changes comes from, as a policy names it: another port of this host, or as it is said."""
    if settings.LIVE_URL.startswith(":"):
        port = settings.LIVE_URL[1:].partition("/")[0]
        return f"{request.scheme}://{split_domain_port(request.get_host())[0]}:{port}"
    live = urlsplit(settings.LIVE_URL)
    return f"{live.scheme}://{live.netloc}" if live.netloc else csp.SELF
