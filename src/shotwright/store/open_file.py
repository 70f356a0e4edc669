"""A project file as such: made, opened, closed, changed in transactions, copied."""

from __future__ import annotations

import contextlib
import datetime
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from shotwright.base.errors import ProjectProblem
from shotwright.store import connection as database
from shotwright.store.rows import checked_name
from shotwright.store.schema import MIGRATIONS


def now() -> datetime.datetime:
    """Time of day in UTC, to the second: the only clock of the store."""
    return datetime.datetime.now(datetime.UTC).replace(microsecond=0)


class OpenFile:
    """An open project file; what stands in it is the business of its child.

    Parameters
    ----------
    path : Path
        The file.
    connection : sqlite3.Connection
        Open, identified, and up to date unless `read_only`.
    read_only : bool
        Whether changes are refused.
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, read_only: bool) -> None:
        self.path = path
        self.read_only = read_only
        self._connection: sqlite3.Connection | None = connection
        self._depth = 0

    # ------------------------------------------------------------------ opening and closing

    @classmethod
    def create(
        cls, path: Path | str, name: str, overwrite: bool = False, created: datetime.datetime | None = None
    ) -> Self:
        """Make a new project file and open it.

        Parameters
        ----------
        path : Path or str
            Where.
        name : str
            What the crew calls the project.
        overwrite : bool
            Replace a project file that is there.
        created : datetime.datetime, optional
            For a project that is brought back from a folder; else the present.

        Returns
        -------
        Self
            Open for writing.

        Raises
        ------
        ProjectProblem
            Something is there already, or the folder can't be written.
        """
        path = Path(path)
        checked_name(name, "name")
        if path.exists() or path.is_symlink():
            _check_replaceable(path, overwrite)
        if not path.parent.is_dir():
            raise ProjectProblem(f"{path}: there is no folder {path.parent}; make it first")
        fresh = path.with_name(f".{path.name}.{os.getpid()}.new")
        with database.in_plain_words(path):
            database.remove(fresh)
            fresh.touch()
            try:
                # The file gets its name only when it is whole, so that a power cut leaves none or all of it.
                with contextlib.closing(sqlite3.connect(fresh, isolation_level=None)) as connection:
                    database.make_tables(connection)
                    entries = {"name": name, "created": (created or now()).isoformat()}
                    connection.executemany("insert into meta values (?, ?)", entries.items())
                database.sync(fresh)
                database.remove(path)
                fresh.replace(path)
                database.sync(path)
            finally:
                database.remove(fresh)
        return cls.open(path)

    @classmethod
    def open(cls, path: Path | str, read_only: bool = False) -> Self:
        """Open a project file; an older one is first copied beside itself, then brought up to date.

        Parameters
        ----------
        path : Path or str
            The file.
        read_only : bool
            Change nothing.

        Returns
        -------
        Self
            Open.

        Raises
        ------
        ProjectProblem
            Missing, not a project file, damaged, from a newer version, or not to be written.
        """
        path = Path(path)
        if path.is_dir():
            raise ProjectProblem(f"{path}: is a folder; name the project file, or import an exported folder")
        if not path.exists():
            raise ProjectProblem(f"{path}: there is no such project file; make one with `new`")
        with database.in_plain_words(path):
            connection = database.connect(path, read_only)
            try:
                if read_only:
                    database.check_identity(connection, path)
                else:
                    database.migrate(connection, path)
            except BaseException:
                database.close(connection, read_only)
                raise
        return cls(path, connection, read_only)

    def close(self) -> None:
        """Close the file; harmless when it is closed already."""
        if self._connection is not None:
            database.close(self._connection, self.read_only)
            self._connection = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @contextlib.contextmanager
    def transaction(self) -> Iterator[None]:
        """Group changes: all of them are kept, or none. May be nested; the outermost one counts."""
        if self.read_only:
            raise ProjectProblem(f"{self.path}: is open to read only")
        connection = self._live()
        if self._depth:
            self._depth += 1
            try:
                yield
            finally:
                self._depth -= 1
            return
        with database.in_plain_words(self.path, disk=False):
            connection.execute("begin immediate")
            self._depth = 1
            try:
                yield
                connection.execute("commit")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("rollback")
                raise
            finally:
                self._depth = 0

    def _live(self) -> sqlite3.Connection:
        if self._connection is None:
            raise ProjectProblem(f"{self.path}: is closed")
        return self._connection

    def _rows(self, sql: str, values: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
        with database.in_plain_words(self.path):
            return self._live().execute(sql, values).fetchall()

    def _note(self, what: str) -> None:
        self._live().execute("insert into journal (at, what) values (?, ?)", (now().isoformat(), what))

    # ------------------------------------------------------------------ what is known of it

    @property
    def name(self) -> str:
        """What the crew calls the project."""
        return str(self._rows("select value from meta where key = 'name'")[0][0])

    @property
    def created(self) -> datetime.datetime:
        """When the project was made."""
        return datetime.datetime.fromisoformat(
            self._rows("select value from meta where key = 'created'")[0][0]
        )

    @property
    def format_version(self) -> int:
        """Version of the file's tables."""
        return int(self._rows("pragma user_version")[0][0])

    @property
    def is_newer(self) -> bool:
        """Whether a newer program wrote the file, so that it may hold more than is shown."""
        return self.format_version > len(MIGRATIONS)

    # ------------------------------------------------------------------ copies

    def copy_to(self, path: Path | str) -> None:
        """Write a whole copy, also while others have the project open.

        Parameters
        ----------
        path : Path or str
            A name that is free.

        Raises
        ------
        ProjectProblem
            The name is taken, or the place can't be written.
        """
        path = Path(path)
        if path.exists():
            raise ProjectProblem(f"{path}: is there already; choose another name for the copy")
        with database.in_plain_words(path):
            fresh = path.with_name(f".{path.name}.{os.getpid()}.new")
            try:
                self._live().execute("vacuum into ?", (str(fresh),))
                database.sync(fresh)
                fresh.replace(path)
                database.sync(path)
            finally:
                database.remove(fresh)


def _check_replaceable(path: Path, overwrite: bool) -> None:
    if not overwrite:
        raise ProjectProblem(f"{path}: is there already; choose another name, or replace it with --overwrite")
    if path.is_dir():
        raise ProjectProblem(f"{path}: is a folder; name a file in it")
    if path.stat().st_size:
        OpenFile.open(path, read_only=True).close()  # refuses a file that is no project
