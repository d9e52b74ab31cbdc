"""gunicorn as it serves the pages, but for how long it waits for a request: a test waits as long."""

from config import gunicorn_worker
from config.gunicorn_settings import *  # noqa: F403 - all the same but for that

gunicorn_worker.HEAD_S, gunicorn_worker.WHOLE_S = 2, 3
