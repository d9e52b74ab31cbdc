"""The OpenAPI document, and the same for people. Both are open to everybody: they say nothing of the workshop."""

import json

from django.contrib.auth.decorators import login_not_required
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from orders import api_keys
from orders.models.api_keys import SCOPES

from . import for_people
from .problems import KINDS
from .reading import BODY_AT_MOST
from .reference import ROOT, document
from .words import EXAMPLE


@login_not_required
@require_safe
def openapi(request):
    return HttpResponse(json.dumps(document(), ensure_ascii=False, indent=1), content_type="application/json")


@login_not_required
@require_safe
def reference(request):
    context = {
        "root": ROOT,
        "site": request.build_absolute_uri("/").rstrip("/"),
        "kilobytes": BODY_AT_MOST // 1024,
        "per_minute": api_keys.PER_MINUTE,
        "at_once": api_keys.AT_ONCE,
        "operations": for_people.operations(document()),
        "shapes": for_people.shapes(document()),
        "problems": KINDS.values(),
        "scopes": SCOPES,
        "example": json.dumps(EXAMPLE, indent=2),
    }
    return render(request, "api.html", context)
