"""The one address of the process that serves the stream of changes."""

from django.http import HttpResponseNotFound
from django.urls import include, path

from production.views import live

urlpatterns = [
    path("live/", live.stream, name="live"),
    path("", include("config.health")),
]


def handler404(request, exception):
    return HttpResponseNotFound("Nothing is served here but the stream of changes.", content_type="text/plain")
