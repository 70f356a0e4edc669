"""Compile a numerical function once for each installation, and find it again at the next start.

Importing this module loads the compiler, which takes some tenths of a second: rooms import it inside the
function that needs it, or in a module that only many flights, or many positions, make them load.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import logging
import pickle
import re
import sys
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from types import FunctionType
from typing import Any

import numba
from numba.core import caching

from shotwright.base.cache_folder import cache_folder, one_at_a_time

_LOG = logging.getLogger("shotwright")
# what reading a file that was cut short, or that another version wrote, may raise
_UNREADABLE = (
    *(OSError, EOFError, ValueError, TypeError, AttributeError, ImportError, LookupError),
    pickle.PickleError,
)


class Compiled:
    """A function that is compiled at its first call, or loaded if it was compiled before.

    Parameters
    ----------
    function : function
        What to compile; all that it calls must be compiled functions of the same kind, or builtin.
    text : bytes
        Everything the compiled code is made from: code kept from another text is not used.
    name : str
        What it is called in messages and in the cache.
    **options
        Handed on to ``numba.njit``.

    Notes
    -----
    Processes that need it at the same time take turns: one compiles, the others load. If the folder
    can't be written, one line is logged as a warning and the code serves this process only.
    """

    def __init__(self, function: FunctionType, text: bytes, name: str, **options: Any) -> None:
        self.folder = cache_folder()
        self._ready = False
        self._turn = threading.Lock()
        self._dispatcher = numba.njit(**options)(function)
        self._dispatcher._cache = _Kept(function, self.folder, text, name)
        self._file = self._dispatcher._cache._impl.filename_base

    def __call__(self, *arguments: Any) -> Any:
        """Call it; the first time, compile or load it for arguments of these types."""
        if not self._ready:
            with self._turn, one_at_a_time(self.folder, self._file):
                self._dispatcher.compile(tuple(numba.typeof(argument) for argument in arguments))
                self._ready = True
        return self._dispatcher(*arguments)


class _Place:
    """Where the cache keeps one function."""

    def __init__(self, folder: Path, stamp: str) -> None:
        self._py_file = str(folder)
        self._folder = folder
        self._stamp = stamp

    def get_cache_path(self) -> str:
        return str(self._folder)

    def get_source_stamp(self) -> str:
        return self._stamp

    def ensure_cache_path(self) -> None:
        self._folder.mkdir(parents=True, exist_ok=True)


class _Form(caching.CompileResultCacheImpl):
    """How compiled code is written down; the place is given, not searched for."""

    def __init__(self, function: FunctionType, place: _Place, name: str) -> None:
        self._lineno = function.__code__.co_firstlineno
        self._locator = place
        version = f"py{sys.version_info[0]}{sys.version_info[1]}"
        self._filename_base = f"{re.sub(r'[^A-Za-z0-9]+', '-', name)}.{version}"


class _Files(caching.IndexDataCacheFile):
    """Index and data files; a data file's name tells its content, so that no race can swap two of them."""

    def _load_index(self) -> dict[Any, str]:
        with contextlib.suppress(*_UNREADABLE):
            return dict(super()._load_index())
        return {}

    def save(self, key: Any, data: Any) -> None:
        label = hashlib.blake2b(repr((self._source_stamp, key)).encode(), digest_size=8).hexdigest()
        base = self._index_name.removesuffix(".nbi")
        name = f"{base}.{label}.nbc"
        self._save_data(name, data)
        known = {**self._load_index(), key: name}
        self._save_index(known)
        for old in list(Path(self._cache_path).glob(f"{base}.*.nbc")):
            if old.name not in known.values():
                with contextlib.suppress(OSError):
                    old.unlink()


class _Kept(caching.FunctionCache):
    """A cache that reads from folders it can't write, and whose troubles never stop the work."""

    def __init__(self, function: FunctionType, folder: Path, text: bytes, name: str) -> None:
        place = _Place(folder, hashlib.blake2b(text, digest_size=16).hexdigest())
        self._title = name
        self._name = repr(function)
        self._py_func = function
        self._impl = _Form(function, place, name)
        self._cache_path = place.get_cache_path()
        self._cache_file = _Files(self._cache_path, self._impl.filename_base, place.get_source_stamp())
        self.enable()

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        found = None
        with contextlib.suppress(*_UNREADABLE):
            found = super().load_overload(sig, target_context)
        if found is None:
            _LOG.info("compiling the %s for this machine, once for each installation", self._title)
        return found

    def save_overload(self, sig: Any, data: Any) -> None:
        try:
            super().save_overload(sig, data)
        except OSError as reason:
            _tell_once(self._cache_path, reason.strerror or "no access")


@functools.cache
def _tell_once(folder: str, reason: str) -> None:
    _LOG.warning(
        "shotwright: compiled code can't be kept in %s (%s), so each start compiles again, some ten seconds; "
        "set NUMBA_CACHE_DIR to a folder that can be written",
        folder,
        reason,
    )


def text_of(folder: Path) -> bytes:
    """Return the text of all modules in a folder and below, in the order of their names.

    Parameters
    ----------
    folder : Path
        Where the sources stand.

    Returns
    -------
    bytes
        For `Compiled`.
    """
    return b"".join(file.read_bytes() for file in sorted(folder.rglob("*.py")))


def with_compiled_callees(
    function: Callable[..., Any], package: str, options: Callable[[FunctionType], Mapping[str, Any]]
) -> FunctionType:
    """Return a copy of a plain function that calls compiled copies of the plain functions it calls.

    Parameters
    ----------
    function : function
        Plain text that the compiler can read.
    package : str
        Functions of modules whose names start so are compiled; others are left as they are.
    options : callable
        Takes a function, returns what ``numba.njit`` is handed for it.

    Returns
    -------
    function
        For `Compiled`.
    """
    done: dict[FunctionType, Any] = {}

    def linked(one: FunctionType) -> FunctionType:
        scope = dict(one.__globals__)
        for name in one.__code__.co_names:
            callee = scope.get(name)
            if isinstance(callee, FunctionType) and callee.__module__.startswith(package):
                if callee not in done:
                    done[callee] = numba.njit(**options(callee))(linked(callee))
                scope[name] = done[callee]
        return FunctionType(one.__code__, scope, one.__name__, None, one.__closure__)

    assert isinstance(function, FunctionType)
    return linked(function)
