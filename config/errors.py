"""The page for what broke here, with the number by which it is found in the log; or why the server can't work now."""

import sys

from django.http import HttpResponseServerError
from django.template import loader

from config import logs
from config.trouble import answer
from production import trouble


def server_error(request):
    """Django's handler500: needs neither the database nor a session, nor what other pages show."""
    error, found = sys.exc_info()[1], logs.answering.get()
    if in_trouble := trouble.of(error):
        return answer(request, in_trouble)
    if found:
        found.error = error
    return HttpResponseServerError(loader.render_to_string("500.html", {"number": found.number if found else ""}))
