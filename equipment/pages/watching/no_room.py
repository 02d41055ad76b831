"""Did it fail because the disk is full? Then a person can do something, and what was sent can be sent again."""

import errno
import sqlite3

ROOM = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})
# What SQLite says of a disk that takes no more (sqlite.org/rescode.html): the log's index cannot grow either.
LITE = frozenset({sqlite3.SQLITE_FULL, sqlite3.SQLITE_IOERR_WRITE, sqlite3.SQLITE_IOERR_SHMSIZE})
POSTGRESQL = "53100"  # disk_full, of PostgreSQL's list of error codes


def no_room(error: BaseException | None) -> bool:
    """Whether `error`, or what it came of, says that there is no room."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in ROOM:
            return True
        if getattr(error, "sqlite_errorcode", None) in LITE or getattr(error, "sqlstate", None) == POSTGRESQL:
            return True
        error = error.__cause__ or error.__context__
    return False
