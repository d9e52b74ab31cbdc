"""Signing in, and the page that each role starts from."""

from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect
from django.urls import reverse

from orders import audit, first_password, roles, sessions
from orders.asking import address_of
from orders.sign_in_form import SignInForm

# The first role that a person holds decides where they start.
STARTS = (
    (roles.SALES, "orders"),
    (roles.MANAGER, "day"),
    (roles.MAKER, "stations"),
    (roles.CHECKER, "stations"),
    (roles.ADMINISTRATOR, "people"),
)


IDLE_ON_A_TABLET_S = 60 * 60
"""On a wall that everybody passes, a session begun with a password is over so long after what was done last."""


class SignIn(LoginView):
    template_name = "sign_in.html"
    form_class = SignInForm
    redirect_authenticated_user = True

    def get(self, request, *args, **kwargs):
        """An enrolled tablet asks for a badge or a PIN instead, unless a password is asked for (`by`)."""
        if request.tablet and "by" not in request.GET:
            return redirect(f"{reverse('tablet-sign-in')}?{request.GET.urlencode()}")
        return super().get(request, *args, **kwargs)

    def form_valid(self, form):
        answer = super().form_valid(form)
        sessions.begin(self.request, address=address_of(self.request))
        audit.did("signed-in", of=form.get_user(), by=form.get_user())
        first_password.use(form.get_user())
        if self.request.tablet:
            self.request.session.set_expiry(IDLE_ON_A_TABLET_S)
        return answer

    def form_invalid(self, form):
        answer = super().form_invalid(form)
        answer.status_code = 429 if form.held_up else 200
        return answer


class SignOut(LogoutView):
    """Ends the session, and lets the browser forget the office's pages; what waits on a tablet stays there."""

    def post(self, request, *args, **kwargs):
        if request.user.is_authenticated:
            audit.did("signed-out", of=request.user)
        forgets = request.user.is_authenticated and not roles.at_the_bench(request) and not request.tablet
        answer = super().post(request, *args, **kwargs)
        if forgets:
            answer.headers["Clear-Site-Data"] = '"cache"'
        return answer


def start(request):
    if roles.at_the_bench(request):
        return redirect("station", request.tablet.station)
    page = next((page for role, page in STARTS if request.user.holds(role)), None)
    if page is None:
        raise PermissionDenied("You hold no role yet. Ask an administrator to give you one, then come back.")
    return redirect(page)
