"""Signing in, and the page that each role starts from."""

from django.contrib.auth.views import LoginView
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect

from orders import roles

# The first role that a person holds decides where they start.
STARTS = (
    (roles.SALES, "orders"),
    (roles.MANAGER, "day"),
    (roles.MAKER, "stations"),
    (roles.CHECKER, "stations"),
    (roles.ADMINISTRATOR, "people"),
)


class SignIn(LoginView):
    template_name = "sign_in.html"
    redirect_authenticated_user = True


def start(request):
    page = next((page for role, page in STARTS if request.user.holds(role)), None)
    if page is None:
        raise PermissionDenied("You hold no role yet. Ask an administrator to give you one, then come back.")
    return redirect(page)
