"""What a project keeps as it came: files of the crew, whole, and plain data by key."""

from __future__ import annotations

import json
from typing import Any

from shotwright.store.crew_files import CREW_FILES
from shotwright.store.open_file import OpenFile
from shotwright.store.rows import checked_name, checked_text, to_json

_CREW_FILES_SINCE = 4  # version of the tables that first held them


class Kept(OpenFile):
    """The part of an open project that holds texts and plain data."""

    def crew_files(self) -> dict[str, str]:
        """Return the text of each file that is kept whole, as the crew wrote it, by its kind."""
        if self.format_version < _CREW_FILES_SINCE:
            return {}  # an older file that was opened to be read only
        return {str(kind): str(text) for kind, text in self._rows("select kind, text from crew_files")}

    def put_crew_file(
        self, kind: str, text: str, file_name: str | None = None, note: str | None = None
    ) -> None:
        """Keep the text of a file; it replaces the one of its kind.

        Parameters
        ----------
        kind : str
            One of `CREW_FILES`.
        text : str
            Kept as it is, comments and all.
        file_name : str, optional
            How messages name the file.
        note : str, optional
            What the journal says instead of "... set".

        Raises
        ------
        BadInput
            The text is no such file; nothing is kept.
        """
        one = CREW_FILES[kind]
        one.check(text, file_name or one.file_name)
        checked_text(text, file_name or one.file_name)
        sql = "insert into crew_files values (?, ?) on conflict (kind) do update set text = excluded.text"
        with self.transaction():
            self._live().execute(sql, (kind, text))
            self._note(note or f"{one.what} set")

    def drop_crew_file(self, kind: str) -> None:
        """Forget the file of a kind; nothing happens when none is kept."""
        with self.transaction():
            self._live().execute("delete from crew_files where kind = ?", (kind,))
            self._note(f"{CREW_FILES[kind].what} dropped")

    def get_fact(self, key: str) -> Any:
        """Return plain data that was kept under `key`; None when there is none."""
        rows = self._rows("select value from facts where key = ?", (key,))
        return json.loads(rows[0][0]) if rows else None

    def set_fact(self, key: str, value: Any) -> None:
        """Keep plain data under `key`; BadInput when it can't be written as JSON."""
        row = (checked_name(key, "fact"), to_json(value, key))
        with self.transaction():
            sql = "insert into facts values (?, ?) on conflict (key) do update set value = excluded.value"
            self._live().execute(sql, row)

    def facts(self) -> dict[str, Any]:
        """Return everything kept by :meth:`set_fact`, by key."""
        return {
            key: json.loads(value) for key, value in self._rows("select key, value from facts order by key")
        }
