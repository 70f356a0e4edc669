"""How a phone is let in: a secret that works once and not for long, then a key that only that phone holds."""

from __future__ import annotations

import hashlib
import hmac
import json
import os
import secrets
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

# No letter or figure that looks like another, for those who type the secret instead of scanning it.
ALPHABET = "abcdefghjkmnpqrstuvwxyz23456789"
SECRET_LENGTH = 12  # 31**12 is 2**59
LIFETIME_SECONDS = 300.0
MOST_TRIES = 5
KEY_BYTES = 32


@dataclass(frozen=True, slots=True)
class Device:
    """A phone that was let in.

    Parameters
    ----------
    name : str
        What its owner calls it.
    digest : str
        SHA-256 of its key; the key itself stays on the phone.
    since : str
        When it joined, as printed.
    """

    name: str
    digest: str
    since: str


class PairingRefused(Exception):
    """The secret is wrong, used, or too old; the message says which can be told and what to do."""


class Pairing:
    """Secrets given out and devices let in.

    Parameters
    ----------
    book : Path, optional
        File that remembers the devices over a restart; none remembers nothing.
    clock : callable
        Seconds that only go forward.
    today : callable
        Date and time as printed on the list of phones.
    """

    def __init__(self, book: Path | None, clock: Callable[[], float], today: Callable[[], str]) -> None:
        self._book = book
        self._clock = clock
        self._today = today
        self._secret = ""
        self._given_at = 0.0
        self._tries = 0
        self._devices = _read(book)

    @property
    def devices(self) -> tuple[Device, ...]:
        """Phones that may come in."""
        return tuple(self._devices)

    def new_secret(self) -> str:
        """Give out a secret; the one before it stops working."""
        self._secret = "".join(secrets.choice(ALPHABET) for _ in range(SECRET_LENGTH))
        self._given_at = self._clock()
        self._tries = 0
        return self._secret

    def seconds_left(self) -> float:
        """How long the present secret still works; 0 when there is none."""
        return max(0.0, LIFETIME_SECONDS - (self._clock() - self._given_at)) if self._secret else 0.0

    def redeem(self, secret: str, name: str) -> str:
        """Let a device in for a secret, which is used up by it.

        Parameters
        ----------
        secret : str
            As scanned or typed; blanks, hyphens and capitals don't matter.
        name : str
            What the phone shall be called on the list.

        Returns
        -------
        str
            The key for its cookie.

        Raises
        ------
        PairingRefused
            Wrong, used up, or too old.
        """
        given = "".join(sign for sign in secret.lower() if sign.isalnum())
        if not self._secret:
            raise PairingRefused("no phone is being waited for; press 'Add a phone' on the laptop")
        if self.seconds_left() <= 0.0:
            self._secret = ""
            raise PairingRefused("this code is too old; press 'Add a phone' on the laptop for a new one")
        self._tries += 1
        if not hmac.compare_digest(given.encode(), self._secret.encode()):
            if self._tries >= MOST_TRIES:
                self._secret = ""
                raise PairingRefused("too many wrong codes; press 'Add a phone' on the laptop for a new one")
            raise PairingRefused("this is not the code on the laptop; look again")
        self._secret = ""
        key = secrets.token_hex(KEY_BYTES)
        name = " ".join(name.split())[:40] or f"phone {len(self._devices) + 1}"
        self._devices.append(Device(name, _digest(key), self._today()))
        self._write()
        return key

    def device_of(self, key: str) -> Device | None:
        """Return the device that holds `key`, or None."""
        digest = _digest(key)
        return next((d for d in self._devices if hmac.compare_digest(d.digest, digest)), None)

    def remove(self, digest: str) -> None:
        """Take a device off the list; its key is worth nothing from now on."""
        self._devices = [d for d in self._devices if d.digest != digest]
        self._write()

    def _write(self) -> None:
        if self._book is None:
            return
        self._book.parent.mkdir(parents=True, exist_ok=True)
        fresh = self._book.with_suffix(".new")
        fresh.write_text(json.dumps([asdict(d) for d in self._devices], indent=1), encoding="utf-8")
        fresh.chmod(0o600)
        fresh.replace(self._book)


def _digest(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def _read(book: Path | None) -> list[Device]:
    """Devices on file; a file that can't be read lets nobody in."""
    if book is None or not book.is_file():
        return []
    try:
        found = json.loads(book.read_text(encoding="utf-8"))
        return [Device(str(d["name"]), str(d["digest"]), str(d["since"])) for d in found]
    except (ValueError, KeyError, TypeError):
        return []


def device_book(project: Path) -> Path:
    """Return where the phones of a project are remembered: with the user's own state, not in the project.

    Parameters
    ----------
    project : Path
        The project file; a copy that is handed on must not carry keys.

    Returns
    -------
    Path
        A JSON file.
    """
    if os.name == "nt":
        base = Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    else:
        base = Path(os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state")
    name = hashlib.sha256(str(project.resolve()).encode()).hexdigest()[:16]
    return base / "shotwright" / f"phones-{name}.json"
