"""Signing in, and the page that each role starts from."""

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView, LogoutView
from django.core.exceptions import PermissionDenied
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_noop as N_
from django.views.decorators.debug import sensitive_post_parameters

from orders import audit, roles, second_step, signing_in
from orders.sign_in_form import CodeForm, SignInForm

# The first role that a person holds decides where they start.
STARTS = (
    (roles.SALES, "orders"),
    (roles.MANAGER, "day"),
    (roles.MAKER, "stations"),
    (roles.CHECKER, "stations"),
    (roles.ADMINISTRATOR, "people"),
)


KNOWN = N_(
    "Wrong codes after your right password since you signed in last: {count}. If that wasn't you, somebody knows your "
    "password: choose another one, under your name."
)


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
        wanted = self.get_success_url()
        if second_step.of(form.get_user()):
            signing_in.halfway(self.request, form.get_user(), wanted=wanted)
            return redirect("sign-in-code")
        signing_in.enter(self.request, form.get_user())
        return redirect(wanted)

    def form_invalid(self, form):
        answer = super().form_invalid(form)
        answer.status_code = 429 if form.held_up else 200
        return answer


@login_not_required
@sensitive_post_parameters()
def sign_in_code(request):
    """The second step of whoever has just given the right password."""
    if request.user.is_authenticated:
        return redirect("start")
    person, wanted = signing_in.who_is_halfway(request)
    if person is None:
        messages.error(request, gettext("Begin with your name and password; the code comes after within ten minutes."))
        return redirect("sign-in")
    spare = "spare" in request.GET
    form = CodeForm(request.POST or None, person=person, spare=spare)
    if form.is_valid():
        wrong = signing_in.enter(request, person, second=True)
        if wrong:
            messages.error(request, gettext(KNOWN).format(count=wrong))
        return redirect(wanted)
    status = 422 if form.is_bound else 200
    return render(request, "sign_in_code.html", {"form": form, "person": person, "spare": spare}, status=status)


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
