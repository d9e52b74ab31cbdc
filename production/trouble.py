"""What keeps the server from working just now, told from what the database or the disk answers.

SQLite's codes: https://www.sqlite.org/rescode.html; PostgreSQL's: its manual, appendix A, "PostgreSQL Error Codes".
"""

import errno
import re
from dataclasses import dataclass

from django.db import DatabaseError, Error

from orders import versions

from .words import N_


@dataclass(frozen=True, kw_only=True)
class Trouble:
    """`what` is wrong, what to `do`, and after how many seconds it is worth trying again."""

    key: str
    what: str
    do: str
    wait_s: int


BUSY = Trouble(
    key="busy",
    what=N_("The database is busy with something else."),
    do=N_("Try again in a moment."),
    wait_s=1,
)
LOST = Trouble(
    key="lost",
    what=N_("The database doesn't answer."),
    do=N_("Wait a moment. If it lasts for five minutes, tell whoever looks after this server."),
    wait_s=5,
)
UPGRADED = Trouble(
    key="upgraded",
    what=N_("Railwright is being upgraded."),
    do=N_("Wait a few minutes. If it lasts for longer, tell whoever looks after this server."),
    wait_s=10,
)
FULL = Trouble(
    key="full",
    what=N_("The server's disk is full."),
    do=N_("Tell whoever looks after this server at once: until there is room, nothing can be entered."),
    wait_s=30,
)
UNWRITABLE = Trouble(
    key="unwritable",
    what=N_("The server can't write: its disk or its database takes no changes."),
    do=N_("Tell whoever looks after this server at once: until it is put right, nothing can be entered."),
    wait_s=30,
)
DAMAGED = Trouble(
    key="damaged",
    what=N_("The database is damaged."),
    do=N_("Stop, and tell whoever looks after this server at once: it may have to be restored from a backup."),
    wait_s=60,
)

# By the lowest byte of SQLite's code: BUSY, LOCKED; READONLY, IOERR, CANTOPEN; CORRUPT, NOTADB; FULL.
OF_SQLITE = {
    **dict.fromkeys((5, 6), BUSY),
    **dict.fromkeys((8, 10, 14), UNWRITABLE),
    **dict.fromkeys((11, 26), DAMAGED),
    13: FULL,
}
# The first that fits: deadlock and serialisation, lock not available, cancelled, too many connections, out of memory;
# connection exceptions, operator intervention; disk full; read-only; input or output failed or a file is missing;
# damaged.
OF_POSTGRESQL = (
    (r"40P01|40001|55P03|57014|53[23]00", BUSY),
    (r"08...|57...", LOST),
    (r"53100", FULL),
    (r"25006", UNWRITABLE),
    (r"58...", UNWRITABLE),
    (r"XX00[12]", DAMAGED),
)
OF_SYSTEM = {
    **dict.fromkeys((errno.ENOSPC, errno.EDQUOT, errno.EFBIG), FULL),
    errno.EROFS: UNWRITABLE,
}


def of(error):
    """The trouble that `error` tells of, or None where it is a mistake of ours."""
    if isinstance(error, OSError):
        return OF_SYSTEM.get(error.errno)
    return of_driver(error.__cause__ or error) if isinstance(error, Error) else None


def of_driver(cause):
    """As `of`, for the error of the database's own driver, from which Django raises its own."""
    if hasattr(cause, "sqlite_errorcode"):
        found = OF_SQLITE.get(cause.sqlite_errorcode & 0xFF)
    elif getattr(cause, "sqlstate", None):
        found = next((trouble for pattern, trouble in OF_POSTGRESQL if re.fullmatch(pattern, cause.sqlstate)), None)
    else:
        found = LOST if _is_without_answer(cause) else None
    return found or (UPGRADED if _lacks_a_table(cause) and _does_not_fit() else None)


def _is_without_answer(cause):
    """psycopg gives no code where the server said nothing any more."""
    names = {each.__name__ for each in type(cause).__mro__ if each.__module__.startswith("psycopg")}
    return bool(names & {"OperationalError", "InterfaceError"})


def _lacks_a_table(cause):
    # undefined_column, undefined_table, not_null_violation: an older program writes into newer tables, or the reverse.
    return getattr(cause, "sqlstate", None) in ("42703", "42P01", "23502") or re.search(
        r"no such (table|column)|has no column|NOT NULL constraint", str(cause)
    )


def _does_not_fit():
    try:
        return bool(versions.misfit())
    except DatabaseError:
        return False
