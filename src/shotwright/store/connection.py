"""Opening the file under a project, and its failures in words that a person can act on."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator, Sequence
from pathlib import Path

from shotwright.base.errors import ProjectProblem
from shotwright.store.schema import APPLICATION_ID, MIGRATIONS

BUSY_SECONDS = 5.0
_COMPANIONS = ("-wal", "-shm", "-journal")
_WORDS = {
    "SQLITE_NOTADB": "is not a project file; projects are made with `new` or `import`",
    "SQLITE_CORRUPT": "is damaged; take the last good copy, or import the last exported folder",
    "SQLITE_READONLY": "can't be written: file or folder is read-only; copy it to a folder of your own",
    "SQLITE_BUSY": "is being written by another program; wait for it to end and try again",
    "SQLITE_LOCKED": "is being written by another program; wait for it to end and try again",
    "SQLITE_FULL": "can't be written: the disk is full; nothing of this step was kept, make room and repeat",
    "SQLITE_CANTOPEN": "can't be opened; the folder is read-only or not there",
    "SQLITE_PERM": "can't be opened; the file belongs to somebody else",
    "SQLITE_AUTH": "can't be opened; the file belongs to somebody else",
    "SQLITE_IOERR": "can't be read or written; the disk or the stick fails or was taken out",
    "SQLITE_TOOBIG": "can't hold so long a text",
}


@contextlib.contextmanager
def in_plain_words(path: Path, disk: bool = True) -> Iterator[None]:
    """Turn what the database or the disk reports into one line about `path`.

    Parameters
    ----------
    path : Path
        The project file.
    disk : bool
        Also failures that the database did not see; off where other people's code runs inside.

    Raises
    ------
    ProjectProblem
        For every failure of the database or the disk.
    """
    try:
        yield
    except sqlite3.Error as reason:
        name = getattr(reason, "sqlite_errorname", "") or ""
        known = next((words for code, words in _WORDS.items() if name.startswith(code)), None)
        words = known or f"is damaged or not a project file ({reason})"
        raise ProjectProblem(f"{path}: {words}") from reason
    except OSError as reason:
        if not disk:
            raise
        raise ProjectProblem(f"{path}: can't be written or read ({reason.strerror})") from reason


def connect(path: Path, read_only: bool) -> sqlite3.Connection:
    """Open the database file, durable against power cuts where it is to be written.

    Parameters
    ----------
    path : Path
        An existing file.
    read_only : bool
        Change nothing, not even beside the file.

    Returns
    -------
    sqlite3.Connection
        In autocommit mode: every transaction is begun by its name.
    """
    uri = path.resolve().as_uri()
    if read_only:
        connection = _open(f"{uri}?mode=ro")
        try:
            connection.execute("pragma schema_version").fetchone()
        except sqlite3.OperationalError:
            # A file left in write-ahead mode needs a companion that a read-only folder can't take. Without
            # one beside it all there is stands in the file itself.
            connection.close()
            if Path(f"{path}-wal").exists():
                raise
            connection = _open(f"{uri}?mode=ro&immutable=1")
        return connection
    connection = _open(f"{uri}?mode=rw")
    try:
        # Looked at before anything is set: a foreign file, or one of a version to come, stays as it is.
        version = check_identity(connection, path)
        if version > len(MIGRATIONS):
            raise ProjectProblem(f"{path}: {_newer(version)}")
        _make_durable(connection)
    except BaseException:
        connection.close()
        raise
    return connection


def _open(uri: str) -> sqlite3.Connection:
    connection = sqlite3.connect(uri, uri=True, isolation_level=None, timeout=BUSY_SECONDS)
    connection.execute("pragma foreign_keys = on")
    return connection


def _make_durable(connection: sqlite3.Connection) -> None:
    connection.execute("pragma fullfsync = on")  # on macOS a plain sync stops at the drive's cache
    connection.execute("pragma checkpoint_fullfsync = on")
    connection.execute("pragma synchronous = full")
    try:
        connection.execute("pragma journal_mode = wal")
    except sqlite3.OperationalError as reason:
        if (getattr(reason, "sqlite_errorname", "") or "").startswith(("SQLITE_READONLY", "SQLITE_FULL")):
            raise
        # Network and some synchronised folders have no shared memory; the rollback journal works there.
        connection.execute("pragma journal_mode = delete")


def close(connection: sqlite3.Connection, read_only: bool) -> None:
    """Close; leave one file, unless another program has it open too."""
    if not read_only:
        with contextlib.suppress(sqlite3.Error):
            connection.execute("pragma busy_timeout = 0")
            connection.execute("pragma wal_checkpoint(truncate)")
            connection.execute("pragma journal_mode = delete")
    connection.close()


def check_identity(connection: sqlite3.Connection, path: Path) -> int:
    """Return the version of the file's tables; raise ProjectProblem if it is none of ours or damaged."""
    (found,) = connection.execute("pragma application_id").fetchone()
    if found != APPLICATION_ID:
        raise ProjectProblem(f"{path}: {_WORDS['SQLITE_NOTADB']}")
    (sound,) = connection.execute("pragma quick_check(1)").fetchone()
    if sound != "ok":
        raise ProjectProblem(f"{path}: {_WORDS['SQLITE_CORRUPT']} ({sound.splitlines()[0]})")
    (version,) = connection.execute("pragma user_version").fetchone()
    return int(version)


def make_tables(connection: sqlite3.Connection) -> None:
    """Turn an empty file into an empty project."""
    connection.execute("begin immediate")
    connection.execute(f"pragma application_id = {APPLICATION_ID}")
    _apply(connection, MIGRATIONS, 0)


def migrate(
    connection: sqlite3.Connection, path: Path, migrations: Sequence[Sequence[str]] = MIGRATIONS
) -> Path | None:
    """Bring an older file to the present version, after a copy of it was put beside.

    Parameters
    ----------
    connection : sqlite3.Connection
        Open for writing.
    path : Path
        The project file.
    migrations : sequence
        Statements for each step from one version to the next.

    Returns
    -------
    Path or None
        Where the copy is; None when the file was up to date.

    """
    (version,) = connection.execute("pragma user_version").fetchone()
    if version >= len(migrations):
        return None
    backup = _free_name(path, version)
    with contextlib.closing(sqlite3.connect(backup)) as copy:
        connection.backup(copy)
    sync(backup)
    connection.execute("begin immediate")
    # Another opener may have been first: look again now that nobody else can write.
    (version,) = connection.execute("pragma user_version").fetchone()
    _apply(connection, migrations, version)
    return backup


def _newer(version: int) -> str:
    return (
        f"was written by a newer shotwright (format {version}, this one knows {len(MIGRATIONS)});"
        " update this one to change it; it can be opened to read"
    )


def _apply(connection: sqlite3.Connection, migrations: Sequence[Sequence[str]], version: int) -> None:
    try:
        for statements in migrations[version:]:
            for statement in statements:
                connection.execute(statement)
        connection.execute(f"pragma user_version = {len(migrations)}")
        connection.execute("commit")
    except BaseException:
        connection.execute("rollback")
        raise


def _free_name(path: Path, version: int) -> Path:
    wanted = path.with_name(f"{path.name}.bak-v{version}")
    number = 1
    while wanted.exists():
        number += 1
        wanted = path.with_name(f"{path.name}.bak-v{version}-{number}")
    return wanted


def sync(path: Path) -> None:
    """Wait until a file, and its name in the folder, stand on the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def remove(path: Path) -> None:
    """Remove a database file with what may stand beside it."""
    for name in (path, *(Path(f"{path}{tail}") for tail in _COMPANIONS)):
        name.unlink(missing_ok=True)
