"""The workshop's roles, and the guard that each view stands behind."""

from functools import wraps

from django.core.exceptions import PermissionDenied

SALES = "sales"
MAKER = "maker"
CHECKER = "checker"
MANAGER = "manager"
ADMINISTRATOR = "administrator"

ROLES = (
    (SALES, "Sales"),
    (MAKER, "Maker"),
    (CHECKER, "Checker"),
    (MANAGER, "Manager"),
    (ADMINISTRATOR, "Administrator"),
)
ROLE_NAMES = dict(ROLES)


def role_required(*roles):
    """Let through only people who hold one of `roles`; anyone else gets the refusal page, which names them."""

    def guard(view):
        @wraps(view)
        def guarded(request, *args, **kwargs):
            if not request.user.holds(*roles):
                wanted = " or ".join(ROLE_NAMES[role].lower() for role in roles)
                raise PermissionDenied(f"This page is for {wanted}. Sign in as one of them, or ask an administrator.")
            return view(request, *args, **kwargs)

        guarded.roles = roles
        return guarded

    return guard
