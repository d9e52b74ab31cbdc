"""A password given again before what gives people their rights is changed."""

from functools import wraps

from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from . import sessions

SHOWN_WITHIN_S = 15 * 60
SENT_WITHIN_S = 60 * 60
"""How long ago the password may have been given where such a page is opened; and where its form is sent, which may take
a while, so that nothing that was typed is lost."""


def password_again(*, back=None, opened=True):
    """Asks for the password where it was given too long ago, and leads back to the page.

    `back` names the page that leads to what only takes a press, and so can't be come back to itself. `opened`: whether
    it is asked for already where the page is opened, and not only where its form is sent.
    """

    def guard(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            is_sent = request.method == "POST"
            within = SENT_WITHIN_S if is_sent else SHOWN_WITHIN_S
            if (is_sent or opened) and sessions.confirmed_ago(request.session) > within:
                wanted = reverse(back) if back else request.path
                return redirect(f"{reverse('confirm')}?{urlencode({'next': wanted})}")
            return view(request, *args, **kwargs)

        guarded.asks_again = True
        return guarded

    return guard
