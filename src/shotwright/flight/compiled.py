"""Compile plain functions of this room together with all that they call, and keep the result on disk."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from types import FunctionType
from typing import Any, cast

import numba
import numpy as np

from shotwright.flight.laws import PackedLaw


def compile_all(
    function: FunctionType, inlined: Collection[Callable[..., Any]] = (), *, cache: bool = True
) -> Callable[..., Any]:
    """Compile a function and the functions of this room that it calls.

    Parameters
    ----------
    function : function
        Plain text that the compiler can read; its closure enters the key of the copy on disk.
    inlined : collection of callable
        Those that are written out where they are called.
    cache : bool
        Keep the result on disk where a folder may be written.

    Returns
    -------
    callable
        Takes what `function` takes.
    """
    try:
        return _compile(function, {}, inlined, cache=cache)
    except RuntimeError:  # no folder that may be written: compile afresh in every process
        return _compile(function, {}, inlined, cache=False)


def text_digest(function: Callable[..., Any]) -> int:
    """Return a number that changes with the text of any file that a function's compiled form comes from.

    Parameters
    ----------
    function : callable
        A plain function of this room.

    Returns
    -------
    int
        Less than 2**56.
    """
    seen: set[Callable[..., Any]] = set()
    waiting = [function]
    while waiting:
        one = waiting.pop()
        if one not in seen:
            seen.add(one)
            waiting += _called(one).values()
    files = sorted({Path(one.__code__.co_filename) for one in seen})
    text = b"".join(file.read_bytes() for file in files)
    return int.from_bytes(hashlib.blake2b(text, digest_size=7).digest(), "little")


def arrays_of(law: PackedLaw) -> PackedLaw:
    """Return the law with arrays for its curve, the form that the compiler takes."""
    knots, pieces, breaks = (
        cast(Sequence[float], np.asarray(one, dtype=float)) for one in (law.knots, law.pieces, law.breaks)
    )
    return law._replace(knots=knots, pieces=pieces, breaks=breaks)


def _called(function: Callable[..., Any]) -> dict[str, FunctionType]:
    """Functions of this room that a function names."""
    named = {name: function.__globals__.get(name) for name in function.__code__.co_names}
    return {
        name: one
        for name, one in named.items()
        if isinstance(one, FunctionType) and one.__module__.startswith("shotwright.flight.")
    }


def _compile(
    function: FunctionType,
    done: dict[FunctionType, Callable[..., Any]],
    inlined: Collection[Callable[..., Any]],
    *,
    cache: bool = False,
) -> Callable[..., Any]:
    if function not in done:
        scope = dict(function.__globals__)
        for name, callee in _called(function).items():
            scope[name] = _compile(callee, done, inlined)
        copy = FunctionType(function.__code__, scope, function.__name__, None, function.__closure__)
        done[function] = numba.njit(
            error_model="numpy", nogil=True, cache=cache, forceinline=function in inlined
        )(copy)
    return done[function]
