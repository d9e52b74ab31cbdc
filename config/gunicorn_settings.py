"""How gunicorn serves the pages: `python -m gunicorn --config python:config.gunicorn_settings config.wsgi`.

WEB_CONCURRENCY is how many processes answer: two for each core and one more at most. They add up their counts, and keep
parts of pages for each other, in a folder of their own, which ends with them.
"""

import os
import shutil
import signal
import tempfile

from config import logs

SHARED = tempfile.mkdtemp(prefix="railwright-shared.")
# production/templatetags/kept.py looks for it.
os.environ["PARTS_DIR"] = SHARED
# What counts looks for the folder once, when it is first imported.
os.environ["PROMETHEUS_MULTIPROC_DIR"] = SHARED
from prometheus_client import multiprocess  # noqa: E402

bind = "127.0.0.1:8000"
# One request after the other: the proxy in front waits for whoever is slow (config/install/Caddyfile).
worker_class = "sync"
# Kept in the environment too, where the settings see that there are several.
workers = int(os.environ.setdefault("WEB_CONCURRENCY", "3"))
control_socket_disable = True
# Every answer is told of by config/asked.py, with no query in it.
loglevel = os.environ.get("LOG_LEVEL") or "WARNING"
logconfig_dict = logs.configuration(way=os.environ.get("LOG_FORMAT") or "words", level=loglevel)
logconfig_dict["loggers"] |= {"gunicorn.error": {"propagate": True}, "gunicorn.access": {"propagate": False}}

ENDS = {signal.SIGTERM, signal.SIGINT, signal.SIGQUIT}


def pre_fork(server, worker):
    # A process just begun would take a signal to end for one of its parent's, and the parent would wait half a minute.
    signal.pthread_sigmask(signal.SIG_BLOCK, ENDS)


def heed_ends():
    signal.pthread_sigmask(signal.SIG_UNBLOCK, ENDS)


os.register_at_fork(after_in_parent=heed_ends)


def post_worker_init(worker):
    heed_ends()


def child_exit(server, worker):
    multiprocess.mark_process_dead(worker.pid)


def on_exit(server):
    shutil.rmtree(SHARED, ignore_errors=True)
