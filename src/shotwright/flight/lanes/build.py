"""Compile the loops over lanes for one kind of drag law, with or without spin decay."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path
from types import FunctionType
from typing import Any

import numba

from shotwright.base.compiled import Compiled, text_of
from shotwright.flight.lanes import driver, rates
from shotwright.flight.lanes.formula import formula

# sums may be reordered and fused; nothing is assumed about infinities and NaN
_LIBERTIES = {"contract", "reassoc", "arcp", "nsz"}
# run inside the loops: a call would keep them from being turned into vector instructions
_INLINED = ("rates", "pull", "steady", "septic", "logarithm", "exponential")

KINDS = (("steady", False), ("steady", True), ("falling", True), *((name, True) for name in rates.SPHERES))


def loops(drag: str, *, decay: bool) -> dict[str, FunctionType]:
    """Return every function of the loops in plain Python, bound to each other.

    Parameters
    ----------
    drag : str
        As `kinds.LaneLaws` says.
    decay : bool
        Whether the spin fades.

    Returns
    -------
    dict of str to function
        By name; ``"fly_lanes"`` calls the others, those that are called come first.
    """
    scope = formula(drag, decay=decay)
    found: dict[str, FunctionType] = {}
    law = rates.sphere if drag in rates.SPHERES else getattr(rates, drag)

    def bind(function: FunctionType) -> None:
        own: dict[str, Any] = {"DECAY": decay, "BENT": drag != "steady"}
        if drag in rates.SPHERES:
            own |= dict(
                zip(
                    ("SPHERE_A", "SPHERE_B", "SPHERE_C", "SPHERE_D", "SPHERE_E"),
                    rates.SPHERES[drag],
                    strict=True,
                )
            )
        names = {**function.__globals__, **{k: own[k] for k in own if k in function.__globals__}}
        for name in function.__code__.co_names:
            callee = scope.get(name) if name in ("stages", "sum_up") else names.get(name)
            callee = law if callee is rates.steady else callee
            if isinstance(callee, FunctionType):
                if name not in found:
                    bind(callee)
                    found[name] = found.pop(callee.__name__)
                names[name] = found[name]
        copy = FunctionType(function.__code__, names, function.__name__, None, function.__closure__)
        found[function.__name__] = copy

    assert isinstance(driver.fly_lanes, FunctionType)
    bind(driver.fly_lanes)
    return found


@functools.cache
def compiled_lanes(drag: str, *, decay: bool) -> Callable[..., None]:
    """Return the compiled `driver.fly_lanes`; the first call of a new version compiles for some seconds.

    Parameters
    ----------
    drag : str
        As `kinds.LaneLaws` says.
    decay : bool
        Whether the spin fades.

    Returns
    -------
    callable
        Takes what `driver.fly_lanes` takes.
    """
    done: dict[str, Any] = {}
    for name, function in loops(drag, decay=decay).items():
        for callee in function.__code__.co_names:
            if callee in done:
                function.__globals__[callee] = done[callee]
        options = _options(name in _INLINED)
        if name == "fly_lanes":
            title = f"flight lanes {drag}{' with decay' if decay else ''}"
            return Compiled(function, text_of(Path(__file__).parents[1]), title, **options)
        done[name] = numba.njit(**options)(function)
    raise AssertionError("fly_lanes is one of the loops")


def compile_linked(function: Callable[..., Any], inlined: tuple[Callable[..., Any], ...]) -> Compiled:
    """Compile a plain function together with the plain functions of the lanes that it calls.

    Parameters
    ----------
    function : function
        What to compile.
    inlined : tuple of function
        What is put into the loops that call it.

    Returns
    -------
    Compiled
        Kept on disk, once for each installation.
    """
    assert isinstance(function, FunctionType)
    title = f"flight lanes {function.__name__.replace('_', ' ')}"
    return Compiled(_linked(function, inlined), text_of(Path(__file__).parents[1]), title, **_options(False))


def _linked(function: FunctionType, inlined: tuple[Callable[..., Any], ...]) -> FunctionType:
    scope = dict(function.__globals__)
    for name in function.__code__.co_names:
        callee = scope.get(name)
        if isinstance(callee, FunctionType):
            scope[name] = numba.njit(**_options(callee in inlined))(_linked(callee, inlined))
    return FunctionType(function.__code__, scope, function.__name__, None, function.__closure__)


def _options(inline: bool) -> dict[str, Any]:
    return {"error_model": "numpy", "nogil": True, "forceinline": inline, "fastmath": _LIBERTIES}
