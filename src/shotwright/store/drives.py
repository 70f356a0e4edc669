"""Drives in a project file: motors, train, battery and duty, as the crew wrote them."""

from __future__ import annotations

from shotwright.base.errors import BadInput
from shotwright.powertrain.drive_file import DriveFile, drive_from_text
from shotwright.store.kept import Kept
from shotwright.store.rows import checked_name, checked_text

_DRIVES_SINCE = 5  # version of the tables that first held drives


class WithDrives(Kept):
    """A project file, as far as its drives go; the rest is the business of its child."""

    def drive_texts(self) -> tuple[tuple[str, str], ...]:
        """Return name and TOML of each drive as the crew wrote it, in their order."""
        if self.format_version < _DRIVES_SINCE:
            return ()  # an older file that was opened to be read only
        rows = self._rows("select name, text from drives order by number")
        return tuple((str(name), str(text)) for name, text in rows)

    def drives(self) -> tuple[DriveFile, ...]:
        """Return what the drive files say."""
        return tuple(drive_from_text(text) for _, text in self.drive_texts())

    def put_drive(self, text: str, file_name: str = "drive.toml") -> DriveFile:
        """Keep the TOML of a drive; one of the same name is replaced.

        Parameters
        ----------
        text : str
            TOML; kept as it is, comments and all.
        file_name : str
            How messages name it.

        Returns
        -------
        DriveFile
            What it says.

        Raises
        ------
        BadInput
            The text is no drive file; nothing is kept.
        """
        drive = drive_from_text(text, file_name)
        checked_text(text, file_name)
        checked_name(drive.name, "drive")
        sql = (
            "insert into drives (name, text) values (?, ?)"
            " on conflict (name) do update set text = excluded.text"
        )
        with self.transaction():
            self._live().execute(sql, (drive.name, text))
            self._note(f"drive {drive.name!r} put")
        return drive

    def drop_drive(self, name: str) -> None:
        """Forget a drive; BadInput when there is none of that name."""
        known = [one for one, _ in self.drive_texts()]
        if name not in known:
            raise BadInput(f"there is no drive {name!r}; known: {', '.join(known) or 'none'}", field="drive")
        with self.transaction():
            self._live().execute("delete from drives where name = ?", (name,))
            self._note(f"drive {name!r} dropped")
