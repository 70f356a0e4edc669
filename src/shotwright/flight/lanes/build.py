"""Compile the loops over lanes for one kind of drag law, with or without spin decay."""

from __future__ import annotations

import functools
import math
from collections.abc import Callable
from types import FunctionType
from typing import Any

import numba
import numpy as np

from shotwright.flight.lanes import driver, layout, rates, steps
from shotwright.flight.lanes.generate import stages_text, weighted_text

_LIBERTIES = {"contract", "reassoc", "arcp", "nsz"}
_INLINED = ("rates", "pull", "steady", "falling", "septic")


def plain_functions(drag: str, *, decay: bool) -> dict[str, FunctionType]:
    """Return every function of the loops in plain Python, bound to each other."""
    scope: dict[str, Any] = {**vars(layout), "math": math, "TINY": rates.TINY}
    exec(compile(stages_text(drag, decay=decay) + weighted_text(decay=decay), __file__, "exec"), scope)
    return {"stages": scope["stages"], "sum_up": scope["sum_up"]}


def compile_lanes(drag: str, *, decay: bool, cache: bool = False) -> Callable[..., None]:
    made = plain_functions(drag, decay=decay)
    done: dict[str, Any] = {}

    def build(function: FunctionType) -> Any:
        name = function.__name__
        if name == "steady":
            function = getattr(rates, drag)
        if name not in done:
            scope = dict(function.__globals__)
            if "DECAY" in scope:
                scope["DECAY"] = decay
            for callee in function.__code__.co_names:
                if callee in made:
                    scope[callee] = build(made[callee])
                elif isinstance(scope.get(callee), FunctionType):
                    scope[callee] = build(scope[callee])
            copy = FunctionType(function.__code__, scope, name, None, function.__closure__)
            done[name] = numba.njit(error_model="numpy", nogil=True, cache=cache and name == "fly_lanes", forceinline=name in _INLINED, fastmath=_LIBERTIES)(copy)
        return done[name]

    build(driver.fly_lanes)
    return done
