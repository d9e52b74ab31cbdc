"""How a PostgreSQL database is copied and put back, by its own programs pg_dump, pg_restore and psql."""

import os
import re
import shutil
import signal
import subprocess

from django.db import transaction

from .archive import Failed

# What libpq takes from the environment, so that no password stands in the list of processes.
SAID_TO_LIBPQ = {
    "host": "PGHOST",
    "port": "PGPORT",
    "user": "PGUSER",
    "password": "PGPASSWORD",
    "dbname": "PGDATABASE",
    "sslmode": "PGSSLMODE",
    "sslrootcert": "PGSSLROOTCERT",
    "sslcert": "PGSSLCERT",
    "sslkey": "PGSSLKEY",
    "passfile": "PGPASSFILE",
    "service": "PGSERVICE",
    "connect_timeout": "PGCONNECT_TIMEOUT",
}
EMPTIED = """
SET client_min_messages = warning;
DO $$
DECLARE name text;
BEGIN
    FOR name IN SELECT quote_ident(tablename) FROM pg_tables WHERE schemaname = current_schema() LOOP
        EXECUTE 'DROP TABLE ' || name || ' CASCADE';
    END LOOP;
    FOR name IN SELECT oid::regprocedure FROM pg_proc WHERE pronamespace = current_schema()::regnamespace
            AND NOT EXISTS (SELECT FROM pg_depend WHERE objid = pg_proc.oid AND deptype = 'e') LOOP
        EXECUTE 'DROP ROUTINE ' || name || ' CASCADE';
    END LOOP;
END $$;
"""
"""Every table and function of ours is dropped; what belongs to an extension stays."""


def copy(connection, *, to):
    """Copy the database as it is at one moment to the path `to`; returns the rows of each table. Raises Failed."""
    with transaction.atomic(), connection.cursor() as cursor:
        # The rows are counted in the very snapshot that pg_dump copies.
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ, READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        (snapshot,) = cursor.fetchone()
        rows = counted(cursor)
        _run(connection, "pg_dump", "--format=custom", "--compress=0", f"--snapshot={snapshot}", f"--file={to}")
    held = _run(connection, "pg_restore", "--list", str(to))
    missing = sorted(set(rows) - set(re.findall(r" TABLE DATA \S+ (\S+) ", held)))
    if missing:
        raise Failed(f"The copy lacks the table {missing[0]}. Try again; keep the backups that there are.")
    # Read through to the end, as restoring would.
    _run(connection, "pg_restore", "--file=/dev/null", str(to))
    return rows


def put_back(connection, *, file):
    """Put the copied database in the place of all that is in the database, in one transaction. Raises Failed."""
    script = file.with_suffix(".sql")
    plain = "--no-owner", "--no-privileges"
    _run(connection, "pg_restore", *plain, f"--file={script}", str(file))
    connection.close()
    once = "--single-transaction", "--no-psqlrc", "--quiet", "--set=ON_ERROR_STOP=1"
    _run(connection, "psql", *once, f"--command={EMPTIED}", f"--file={script}")


def counted(cursor):
    cursor.execute("SELECT tablename FROM pg_tables WHERE schemaname = current_schema() ORDER BY tablename")
    rows = {}
    for (name,) in cursor.fetchall():
        cursor.execute(f'SELECT count(*) FROM "{name}"')  # noqa: S608 - a name that the database itself gave
        (rows[name],) = cursor.fetchone()
    return rows


def _run(connection, program, *words):
    found = shutil.which(program)
    if not found:
        raise Failed(f"There is no {program} on this machine. Install it: apt-get install postgresql-client")
    params = connection.get_connection_params()
    said = {name: str(params[key]) for key, name in SAID_TO_LIBPQ.items() if params.get(key) not in (None, "")}
    done = subprocess.run(  # noqa: S603 - no shell, and words of our own
        [found, *words], env={**os.environ, **said}, capture_output=True, text=True, check=False
    )
    if done.returncode < 0:
        raise Failed(f"{program} was ended by the system: {signal.strsignal(-done.returncode)}.")
    if done.returncode:
        raise Failed(f"{program} failed: {done.stderr.strip()[-500:]}")
    return done.stdout
