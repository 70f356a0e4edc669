"""Results as plain dictionaries, the form that ``--json`` prints."""

from __future__ import annotations

import dataclasses
import datetime
import enum
import math
from typing import Any

import numpy as np


def as_plain(value: Any) -> Any:
    """Turn a result into dicts, lists, strings and numbers that JSON can hold.

    Dataclasses become dicts by field name, arrays become lists, enums their value, dates ISO 8601
    strings. A number that is not finite becomes None: JSON has no word for it.

    Parameters
    ----------
    value : object
        A result, or any part of one.

    Returns
    -------
    object
        Plain data.

    Raises
    ------
    TypeError
        A type that has no plain form.

    Examples
    --------
    >>> as_plain({"a": np.array([1.0, np.nan]), "when": datetime.date(2026, 1, 2)})
    {'a': [1.0, None], 'when': '2026-01-02'}
    """
    if value is None or (isinstance(value, bool | str | int) and not isinstance(value, enum.Enum)):
        return value
    if isinstance(value, enum.Enum):
        return value.value
    if isinstance(value, float | np.floating):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, np.integer | np.bool_):
        return value.item()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: as_plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): as_plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset | np.ndarray):
        return [as_plain(item) for item in value]
    if isinstance(value, datetime.date | datetime.datetime):
        return value.isoformat()
    msg = f"{type(value).__name__} has no plain form"
    raise TypeError(msg)


class Result:
    """Mixin of every frozen result: a plain dictionary of itself."""

    __slots__ = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the result as plain data, fields by name."""
        plain = as_plain(self)
        assert isinstance(plain, dict)
        return plain
