"""The workshop's roles, and the guard that each view stands behind."""

from functools import wraps

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext
from django.utils.translation import gettext_noop as N_

SALES = "sales"
MAKER = "maker"
CHECKER = "checker"
MANAGER = "manager"
ADMINISTRATOR = "administrator"

ROLES = (
    (SALES, N_("Sales")),
    (MAKER, N_("Maker")),
    (CHECKER, N_("Checker")),
    (MANAGER, N_("Manager")),
    (ADMINISTRATOR, N_("Administrator")),
)
ROLE_NAMES = dict(ROLES)

BENCH = "tablet"
"""In a session begun with a PIN or a badge: the key of the tablet that it was begun on."""


def role_word(role):
    """What a role is called, in the reader's language."""
    return gettext(ROLE_NAMES[role])


def at_the_bench(request):
    """Whether this session was begun with a PIN or a badge: it opens the stations alone, whatever its person holds."""
    return BENCH in getattr(request, "session", ())


def role_required(*roles, bench=False):
    """Let through only people who hold one of `roles`; anyone else gets the refusal page, which names them.

    `bench`: whether the page belongs to the stations, so that a session begun with a PIN or a badge opens it too.
    """

    def guard(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            if at_the_bench(request) and not bench:
                raise PermissionDenied(
                    gettext(
                        "A PIN or a badge opens the stations alone. Change maker, and sign in with name and password."
                    )
                )
            if not request.user.holds(*roles):
                wanted = gettext(" or ").join(role_word(role).lower() for role in roles)
                raise PermissionDenied(
                    gettext("This page is for {roles}. Sign in as one of them, or ask an administrator.").format(
                        roles=wanted
                    )
                )
            return view(request, *args, **kwargs)

        guarded.roles, guarded.bench = roles, bench
        return guarded

    return guard
