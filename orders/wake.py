"""Wakes whoever follows the workshop, so that they look what has changed."""

from django.db import connection

CHANNEL = "railwright"


def wake():
    """To be called with every change that others are to see at once.

    PostgreSQL passes it on once the transaction is committed, and never where it is not. On SQLite it takes no word:
    there, who follows sees each commit by itself.
    """
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute(f"NOTIFY {CHANNEL}")
