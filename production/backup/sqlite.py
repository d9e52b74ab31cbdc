"""How a SQLite database is copied and put back while others use it: by https://www.sqlite.org/backup.html."""

import sqlite3
from contextlib import closing

from .archive import Failed

WAIT_S = 30


def copy(connection, *, to):
    """Copy the database as it is at one moment to the path `to`; returns the rows of each table. Raises Failed."""
    with closing(_opened(connection.settings_dict["NAME"])) as source, closing(_opened(to, "rwc")) as target:
        # What is counted and what is copied is the same snapshot: the copy goes on with the transaction that there is.
        source.execute("BEGIN")
        rows = counted(source)
        source.backup(target)
        source.rollback()
        target.execute("PRAGMA journal_mode = DELETE")
        problems = [found for (found,) in target.execute("PRAGMA integrity_check") if found != "ok"]
        lost = target.execute("PRAGMA foreign_key_check")
        problems += [f"a row of {found[0]} refers to a row of {found[2]} that is not there" for found in lost]
        if problems:
            raise Failed(f"The database is damaged: {'; '.join(problems[:5])}. Keep the backups that there are.")
        if counted(target) != rows:
            raise Failed("The copy has other rows than the database had. Try again; keep the backups that there are.")
    return rows


def put_back(connection, *, file):
    """Put the copied database in the place of all that is in the database, in one transaction."""
    connection.close()
    with closing(_opened(file)) as source, closing(_opened(connection.settings_dict["NAME"], "rwc")) as target:
        source.backup(target)


def counted(opened):
    tables = [name for (name,) in opened.execute("SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name")]
    return {name: opened.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in tables}  # noqa: S608


def _opened(path, mode="rw"):
    return sqlite3.connect(f"file:{path}?mode={mode}", uri=True, timeout=WAIT_S, isolation_level=None)
