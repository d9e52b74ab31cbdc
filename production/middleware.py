"""Which enrolled tablet asks, and the end of a session that a PIN or a badge began on one."""

from django.contrib.auth import logout

from orders import sessions
from orders.roles import BENCH, at_the_bench

from . import tablets


class TabletMiddleware:
    """Sets `request.tablet`, or None. A session begun on a tablet is over where that is retired, or another one."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.tablet = tablets.known(request.COOKIES.get(tablets.COOKIE))
        if at_the_bench(request) and (request.tablet is None or request.session[BENCH] != request.tablet.pk):
            logout(request)
        elif request.tablet and request.method == "POST" and not request.session.is_empty():
            # A session's time counts from what was done last; what a page asks by itself is nobody's doing.
            sessions.note_act(request.session)
        return self.get_response(request)
