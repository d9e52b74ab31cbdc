"""The page for what broke here, with the number by which it is found in the log."""

import sys

from django.http import HttpResponseServerError
from django.template import loader

from config import logs


def server_error(request):
    """Django's handler500: needs neither the database nor a session, nor what other pages show."""
    found = logs.answering.get()
    if found:
        found.error = sys.exc_info()[1]
    return HttpResponseServerError(loader.render_to_string("500.html", {"number": found.number if found else ""}))
