"""What Django's settings name as ENGINE for PostgreSQL."""

import select

import psycopg
from django.db.backends.postgresql import base


class DatabaseWrapper(base.DatabaseWrapper):
    def is_usable(self):
        """Whether the kept connection still stands, before the first question of a request.

        A server that has gone, or has ended the connection, has closed it: then something is there to be read. Where
        nothing is, no question is put only to hear that it is answered.
        """
        return not _has_said_something(self.connection) or super().is_usable()


def _has_said_something(connection):
    try:
        look = select.poll()
        look.register(connection.fileno(), select.POLLIN)
        return bool(look.poll(0))
    except psycopg.Error:
        # It has no socket any more.
        return True
