"""The project file: one SQLite file with everything that a crew knows."""

from __future__ import annotations

import dataclasses
import datetime
import hashlib
import json
import sqlite3
from collections.abc import Iterable, Mapping
from typing import Any

from shotwright.base.errors import BadInput
from shotwright.game.reading import game_from_text
from shotwright.game.records import Game
from shotwright.launcher.description import Described
from shotwright.launcher.reading import launchers_from_text, split_launchers
from shotwright.store.drives import WithDrives
from shotwright.store.open_file import now
from shotwright.store.rows import (
    FROM_VIDEO,
    check_exact,
    checked_name,
    checked_shot,
    checked_text,
    columns_of,
    from_row,
    insert,
    launch_before,
    select,
    to_json,
    to_row,
    update_by_name,
)
from shotwright.store.toml_text import prototypes_text, trials_text
from shotwright.trials.reading import prototypes_from_text, trials_from_text
from shotwright.trials.records import Prototype, Shot, Trial

_LAUNCHERS_SINCE = 2  # version of the tables that first held launchers
_VIDEO_SINCE = 3  # ... and what was measured on a video


class ProjectFile(WithDrives):
    """An open project; a context manager. Every change is on the disk when its call returns.

    Make one with :meth:`create` or :meth:`open`.

    Examples
    --------
    >>> import tempfile
    >>> from pathlib import Path
    >>> folder = tempfile.TemporaryDirectory()
    >>> with ProjectFile.create(Path(folder.name) / "a.shotwright", "Lantern crew") as project:
    ...     project.name
    'Lantern crew'
    >>> folder.cleanup()
    """

    # ------------------------------------------------------------------ the game

    def game_text(self) -> str | None:
        """Return the game's TOML as the crew wrote it; None when there is none yet."""
        rows = self._rows("select text from game")
        return str(rows[0][0]) if rows else None

    def game(self) -> Game | None:
        """Return the game; None when there is none yet."""
        text = self.game_text()
        return None if text is None else game_from_text(text, "game.toml")

    def set_game(self, text: str, file_name: str = "game.toml") -> Game:
        """Keep the game's TOML.

        Parameters
        ----------
        text : str
            TOML; kept as it is, comments and all.
        file_name : str
            How messages name it.

        Returns
        -------
        Game
            What it says.

        Raises
        ------
        BadInput
            The text is no game; nothing is kept.
        """
        game = game_from_text(text, file_name)
        checked_text(text, file_name)
        with self.transaction():
            sql = "insert into game values (1, ?) on conflict (one) do update set text = excluded.text"
            self._live().execute(sql, (text,))
            self._note(f"game {game.name!r} set")
        return game

    # ------------------------------------------------------------------ prototypes and trials

    def prototypes(self) -> tuple[Prototype, ...]:
        """Return all prototypes, in the order in which they came."""
        return tuple(from_row(Prototype, row) for row in self._rows(select(Prototype, "order by r.number")))

    def put_prototypes(self, prototypes: Iterable[Prototype]) -> None:
        """Add prototypes; one of a known name replaces what was known.

        Parameters
        ----------
        prototypes : iterable of Prototype
            In SI.

        Raises
        ------
        BadInput
            A value that can't be; nothing is kept.
        """
        wanted = tuple(prototypes)
        for prototype in wanted:
            checked_name(prototype.name, "prototype")
            check_exact(prototype, prototypes_from_text(prototypes_text([prototype]), "")[0])
        self._put(wanted, "prototype")

    def trials(self) -> tuple[Trial, ...]:
        """Return all trials, in the order in which they came."""
        return tuple(from_row(Trial, row) for row in self._rows(select(Trial, "order by r.number")))

    def put_trials(self, trials: Iterable[Trial]) -> None:
        """Add trials; one of a known name replaces what was known, its shots stay.

        Parameters
        ----------
        trials : iterable of Trial
            In SI.

        Raises
        ------
        BadInput
            A value that can't be, or a prototype that is not in the project; nothing is kept.
        """
        wanted = tuple(
            dataclasses.replace(trial, position=trial.position or None, target=trial.target or None)
            for trial in trials
        )
        known = [prototype.name for prototype in self.prototypes()]
        for trial in wanted:
            checked_name(trial.name, "trial")
            check_exact(trial, trials_from_text(trials_text([trial]), "", known)[0])
        self._put(wanted, "trial")

    def _put(self, records: tuple[Prototype, ...] | tuple[Trial, ...], what: str) -> None:
        with self.transaction():
            for record in records:
                kind = type(record)
                self._live().execute(insert(kind, update_by_name(kind)), to_row(record))
                self._note(f"{what} {record.name!r} put")

    # ------------------------------------------------------------------ launchers

    def launcher_texts(self) -> tuple[tuple[str, str], ...]:
        """Return the TOML of each launcher as the crew wrote it, with its prototype, in their order."""
        if self.format_version < _LAUNCHERS_SINCE:
            return ()  # an older file that was opened to be read only
        return tuple(
            (str(prototype), str(text))
            for prototype, text in self._rows("select prototype, text from launchers order by number")
        )

    def launchers(self) -> tuple[Described, ...]:
        """Return what the launcher files describe, one for each prototype that has one."""
        texts = self.launcher_texts()
        return tuple(one for _, text in texts for one in launchers_from_text(text))

    def put_launchers(self, text: str, file_name: str = "launchers.toml") -> tuple[Described, ...]:
        """Keep the TOML of launchers; that of a prototype which has one replaces it.

        Parameters
        ----------
        text : str
            TOML; kept as it is, comments and all.
        file_name : str
            How messages name it.

        Returns
        -------
        tuple of Described
            What it says.

        Raises
        ------
        BadInput
            The text describes no launcher, or a prototype is not in the project; nothing is kept.
        """
        known = [prototype.name for prototype in self.prototypes()]
        described = launchers_from_text(text, file_name, known)
        checked_text(text, file_name)
        sql = (
            "insert into launchers (prototype, text) values (?, ?)"
            " on conflict (prototype) do update set text = excluded.text"
        )
        with self.transaction():
            for prototype, piece in split_launchers(text, file_name):
                self._live().execute(sql, (prototype, piece))
                self._note(f"launcher of {prototype!r} described")
        return described

    # ------------------------------------------------------------------ shots

    def shots(self, trial: str | None = None, with_set_aside: bool = True) -> tuple[Shot, ...]:
        """Return shots by trial and order of firing.

        Parameters
        ----------
        trial : str, optional
            Of this trial only.
        with_set_aside : bool
            Also those that were set aside.

        Returns
        -------
        tuple of Shot
            In SI.
        """
        where = "where (?1 is null or r.trial = ?1) and (?2 or r.set_aside is null)"
        rest = f'join trials t on t.name = r.trial {where} order by t.number, r."order"'
        rows = self._rows(select(Shot, rest, self._lacking()), (trial, with_set_aside))
        return tuple(from_row(Shot, row) for row in rows)

    def _lacking(self) -> tuple[str, ...]:
        return FROM_VIDEO if self.format_version < _VIDEO_SINCE else ()

    def next_order(self, trial: str) -> int:
        """Return the number that the next shot of a trial gets."""
        return int(
            self._rows('select coalesce(max("order"), 0) + 1 from shots where trial = ?', (trial,))[0][0]
        )

    def add_shots(self, shots: Iterable[Shot]) -> int:
        """Add shots. One whose uid is known is the same shot, and is passed over.

        Parameters
        ----------
        shots : iterable of Shot
            In SI.

        Returns
        -------
        int
            How many were new.

        Raises
        ------
        BadInput
            A trial that is not in the project, or two shots with one number; nothing is kept.
        """
        sql = insert(Shot, "on conflict (uid) do nothing")
        new: dict[str, int] = {}
        with self.transaction():
            trials = {trial.name for trial in self.trials()}
            for shot in shots:
                shot = checked_shot(shot)
                if shot.trial not in trials:
                    known = ", ".join(sorted(trials)) or "none"
                    raise BadInput(f"there is no trial {shot.trial!r}; known: {known}", field="trial")
                try:
                    added = self._live().execute(sql, to_row(shot)).rowcount
                except sqlite3.IntegrityError:
                    raise self._two_with_one_number(shot) from None
                if added:
                    new[shot.trial] = new.get(shot.trial, 0) + 1
            for trial, count in new.items():
                self._note(f"{count} shot{'s' if count > 1 else ''} added to trial {trial!r}")
        return sum(new.values())

    def _two_with_one_number(self, shot: Shot) -> BadInput:
        sql = 'select uid, source from shots where trial = ? and "order" = ?'
        rows = self._rows(sql, (shot.trial, shot.order))
        if not rows:
            return BadInput(
                f"shot {shot.order} of trial {shot.trial!r} has a value that can't be kept", field="shot"
            )
        old, new = (
            f"{source or 'an unnamed source'} (uid {uid})" for uid, source in (*rows, (shot.uid, shot.source))
        )
        problem = (
            f"shot {shot.order} of trial {shot.trial!r} is there already, from {old}; the new one: {new}."
            " Give the new one another number, or set the old one aside and log the new one behind it"
        )
        return BadInput(problem, field="order")

    def set_aside(self, uid: str, reason: str) -> Shot:
        """Leave a shot out of every figure, for a reason; it is not deleted.

        Parameters
        ----------
        uid : str
            Which shot.
        reason : str
            In the crew's words.

        Returns
        -------
        Shot
            As it is now.

        Raises
        ------
        BadInput
            No such shot, no reason, or set aside already.
        """
        if not reason.strip():
            raise BadInput("say why; a shot is never left out without a reason", field="reason")
        checked_text(reason, "reason")
        shot = self._shot(uid)
        if shot.set_aside is not None:
            raise BadInput(
                f"shot {shot.order} of {shot.trial!r} is set aside already: {shot.set_aside}", field="shot"
            )
        return self._mark(shot, reason, f"set aside: {reason}")

    def take_back(self, uid: str) -> Shot:
        """Let a shot count again that was set aside; parameters and errors as :meth:`set_aside`."""
        shot = self._shot(uid)
        if shot.set_aside is None:
            raise BadInput(f"shot {shot.order} of {shot.trial!r} is not set aside", field="shot")
        return self._mark(shot, None, f"taken back (was set aside: {shot.set_aside})")

    def _shot(self, uid: str) -> Shot:
        rows = self._rows(select(Shot, "where r.uid = ?", self._lacking()), (uid,))
        if not rows:
            raise BadInput(f"there is no shot with uid {uid!r}", field="shot")
        return from_row(Shot, rows[0])

    def _mark(self, shot: Shot, reason: str | None, what: str) -> Shot:
        with self.transaction():
            self._live().execute("update shots set set_aside = ? where uid = ?", (reason, shot.uid))
            self._note(f"shot {shot.order} of trial {shot.trial!r} {what}")
        return dataclasses.replace(shot, set_aside=reason)

    def put_launch(self, shot: Shot) -> Shot:
        """Keep measured launch values of a shot that is there; its mark and everything else stay.

        Parameters
        ----------
        shot : Shot
            Its uid says which; its speed, elevation, spin, their standard deviations, clip and frames are
            taken. The journal keeps what stood there before.

        Returns
        -------
        Shot
            As it is now.

        Raises
        ------
        BadInput
            No such shot, or values that can't be kept.
        """
        before = self._shot(shot.uid)
        names = ("speed", "elevation", "spin", *FROM_VIDEO)
        after = checked_shot(dataclasses.replace(before, **{name: getattr(shot, name) for name in names}))
        row = dict(zip(columns_of(Shot), to_row(after), strict=True))
        sets = ", ".join(f'"{name}" = ?' for name in names)
        with self.transaction():
            sql = f"update shots set {sets} where uid = ?"  # noqa: S608  names of our own record, never input
            self._live().execute(sql, (*(row[name] for name in names), shot.uid))
            self._note(
                f"launch of shot {before.order} of trial {before.trial!r} measured{launch_before(before)}"
            )
        return after

    # ------------------------------------------------------------------ choices, journal

    def choices(self) -> tuple[dict[str, Any], ...]:
        """Return the choices that were made: date, prototype, reason, evidence, the oldest first."""
        rows = self._rows("select date, prototype, reason, evidence from choices order by number")
        return tuple(
            {
                "date": datetime.date.fromisoformat(date),
                "prototype": prototype,
                "reason": reason,
                "evidence": json.loads(evidence),
            }
            for date, prototype, reason, evidence in rows
        )

    def add_choice(self, choice: Mapping[str, Any]) -> None:
        """Record a choice.

        Parameters
        ----------
        choice : mapping
            ``date`` (today when missing), ``prototype``, ``reason``, ``evidence`` (plain data).

        Raises
        ------
        BadInput
            No such prototype, no reason, or evidence that is no plain data.
        """
        prototype, reason = str(choice["prototype"]), checked_text(str(choice["reason"]), "reason")
        known = [p.name for p in self.prototypes()]
        if prototype not in known:
            raise BadInput(
                f"there is no prototype {prototype!r}; known: {', '.join(known) or 'none'}", field="choice"
            )
        if not reason.strip():
            raise BadInput("say why; the notebook shows it to the judges", field="reason")
        date = choice.get("date") or now().date()
        row = (date.isoformat(), prototype, reason, to_json(choice.get("evidence"), "evidence"))
        with self.transaction():
            sql = "insert into choices (date, prototype, reason, evidence) values (?, ?, ?, ?)"
            self._live().execute(sql, row)
            self._note(f"prototype {prototype!r} chosen")

    def journal(self) -> tuple[tuple[datetime.datetime, str], ...]:
        """Return what was done and when, the oldest first."""
        rows = self._rows("select at, what from journal order by number")
        return tuple((datetime.datetime.fromisoformat(at), what) for at, what in rows)

    def edition(self) -> str:
        """Return a word that differs after every change of what the file holds."""
        ((number, at),) = self._rows("select count(*), coalesce(max(at), '') from journal")
        # every other change is noted in the journal
        facts = json.dumps(self.facts(), sort_keys=True).encode()
        return f"{number}.{at}.{hashlib.sha256(facts).hexdigest()[:16]}"

    def replace_journal(self, entries: Iterable[tuple[datetime.datetime, str]]) -> None:
        """Put another file's journal in place of this one's: for a project brought back from a folder."""
        with self.transaction():
            self._live().execute("delete from journal")
            rows = [(at.isoformat(), checked_text(what, "journal")) for at, what in entries]
            self._live().executemany("insert into journal (at, what) values (?, ?)", rows)
