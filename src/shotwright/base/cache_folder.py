"""Where compiled code is kept between runs, and how processes take turns there."""

from __future__ import annotations

import contextlib
import hashlib
import os
import sys
import time
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import BinaryIO

from shotwright import __version__

_PACKAGE = Path(__file__).resolve().parents[1]


def cache_folder(
    environment: Mapping[str, str] | None = None, system: str | None = None, home: Path | None = None
) -> Path:
    """Return the folder for the compiled code of this installation.

    Parameters
    ----------
    environment : mapping, optional
        Environment variables; those of the process by default.
    system : str, optional
        As `sys.platform`.
    home : Path, optional
        The user's folder.

    Returns
    -------
    Path
        Below ``NUMBA_CACHE_DIR`` when that is set; else below the system's folder for caches:
        ``XDG_CACHE_HOME`` or ``~/.cache``, ``~/Library/Caches``, ``%LOCALAPPDATA%``. Its last part changes
        with the version and with the place where the package is installed. It need not exist.

    References
    ----------
    XDG Base Directory Specification, version 0.8 (2021): a relative ``XDG_CACHE_HOME`` is to be ignored.
    """
    given = os.environ if environment is None else environment
    place = hashlib.blake2b(os.fsencode(_PACKAGE), digest_size=6).hexdigest()
    return _parent(given, system or sys.platform, home) / "shotwright" / f"{__version__}-{place}"


def _parent(environment: Mapping[str, str], system: str, home: Path | None) -> Path:
    if environment.get("NUMBA_CACHE_DIR"):
        return Path(environment["NUMBA_CACHE_DIR"]).absolute()
    if system == "win32" and environment.get("LOCALAPPDATA"):
        return Path(environment["LOCALAPPDATA"])
    stated = Path(environment.get("XDG_CACHE_HOME", ""))
    if system not in {"win32", "darwin"} and stated.is_absolute():
        return stated
    try:
        user = home or Path.home()
    except RuntimeError:  # an account without a home folder
        return Path(os.devnull)
    below = {"win32": ("AppData", "Local"), "darwin": ("Library", "Caches")}
    return user.joinpath(*below.get(system, (".cache",)))


@contextlib.contextmanager
def one_at_a_time(folder: Path, what: str = "all") -> Iterator[None]:
    """Hold other processes and threads back that want to compile the same into the same folder.

    Where a folder can't be written, or its disk knows no locks, nobody is held back.

    Parameters
    ----------
    folder : Path
        The folder for compiled code.
    what : str
        What is to be compiled, as a file's name.

    Yields
    ------
    None
        While the others wait.
    """
    with contextlib.ExitStack() as stack:
        with contextlib.suppress(OSError):
            folder.mkdir(parents=True, exist_ok=True)
            file = stack.enter_context((folder / f"{what}.lock").open("ab"))
            _lock(file)
            stack.callback(_unlock, file)
        yield


if sys.platform == "win32":
    import msvcrt

    def _lock(file: BinaryIO) -> None:
        while True:
            try:
                file.seek(0)
                msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
            except PermissionError:  # another one has it
                time.sleep(0.1)
            else:
                return

    def _unlock(file: BinaryIO) -> None:
        file.seek(0)
        msvcrt.locking(file.fileno(), msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _lock(file: BinaryIO) -> None:
        fcntl.flock(file, fcntl.LOCK_EX)

    def _unlock(file: BinaryIO) -> None:
        fcntl.flock(file, fcntl.LOCK_UN)


def remove_old_folders(folder: Path) -> int:
    """Remove compiled code of other versions at the same place of installation.

    Parameters
    ----------
    folder : Path
        The folder of this version.

    Returns
    -------
    int
        Number of folders removed; what can't be removed stays.
    """
    place = folder.name.rpartition("-")[2]
    removed = 0
    for other in folder.parent.glob(f"*-{place}"):
        if other != folder:
            with contextlib.suppress(OSError):
                for file in other.iterdir():
                    file.unlink()
                other.rmdir()
                removed += 1
    return removed
