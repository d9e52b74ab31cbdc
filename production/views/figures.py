"""The figures beside a line's form, computed anew as someone types."""

from django.shortcuts import render
from django.views.decorators.http import require_POST

from orders.forms import LineForm
from orders.roles import MANAGER, SALES, role_required
from production.figures import beside


@role_required(SALES, MANAGER)
@require_POST
def figures(request):
    """Whatever is typed so far is answered with what follows from it; an unfinished line is no mistake."""
    return render(request, "_figures.html", beside(form=LineForm(request.POST), market=request.POST.get("market", "")))
