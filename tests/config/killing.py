"""The workshop's pages, by a process that kills itself once it has recorded what was sent, before it has answered."""

import os
import signal

from config.wsgi import application as workshop


def application(environ, start_response):
    answer = workshop(environ, start_response)
    if environ.get("HTTP_X_KILL"):
        os.kill(os.getpid(), signal.SIGKILL)
    return answer
