"""Settings of the process that serves the stream of changes: the workshop's own, but one address and no session."""

from .settings import *  # noqa: F403 - the same settings but for these

ROOT_URLCONF = "config.live_urls"
MIDDLEWARE = [
    "config.health.AnsweredFirst",
    "django.middleware.security.SecurityMiddleware",
    "config.asked.Numbered",
]
