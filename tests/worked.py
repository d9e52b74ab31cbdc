"""Does in a test what waits for a worker."""

from unittest.mock import patch

from orders import worker

LOOP = "django_tasks_db.management.commands.db_worker"


def do_what_waits():
    """As `manage.py work --once` would, in the transaction of the test."""
    with patch(f"{LOOP}.close_old_connections"):
        worker.loop("of-the-test", until_nothing_waits=True).run()
