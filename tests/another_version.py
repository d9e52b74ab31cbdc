"""A database of another version than this program's."""

from contextlib import contextmanager

from django.db import connection

NEWER = "a change that this version does not know"
OLDER = "a change that is lacking"
WAYS = {
    NEWER: (
        "INSERT INTO django_migrations (app, name, applied) VALUES ('orders', '9999_of_next_year', CURRENT_TIMESTAMP)",
        "DELETE FROM django_migrations WHERE name = '9999_of_next_year'",
    ),
    OLDER: (
        "UPDATE django_migrations SET app = 'was' WHERE app = 'orders' AND name LIKE '0016%'",
        "UPDATE django_migrations SET app = 'orders' WHERE app = 'was'",
    ),
}


def _execute(sql):
    with connection.cursor() as cursor:
        cursor.execute(sql)


@contextmanager
def of_another_version(way):
    """The database is of another version meanwhile, in one of WAYS."""
    _execute(WAYS[way][0])
    try:
        yield
    finally:
        _execute(WAYS[way][1])
