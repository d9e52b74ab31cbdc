"""Choosing the language of the pages that makers read."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from orders import languages


@login_not_required
@require_POST
def language(request):
    """Keep the language that was pressed, for this person and this browser, and go back to where it was pressed."""
    back = request.POST.get("next", "")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts={request.get_host()}):
        back = "/"
    # Not `redirect`, which takes a word for the name of a page.
    answer, chosen = HttpResponseRedirect(back), request.POST.get("language")
    if chosen in dict(settings.LANGUAGES):
        if request.user.is_authenticated:
            languages.choose(person=request.user, language=chosen)
        languages.remember(answer, chosen)
    return answer
