"""The stages of the formula as straight-line text: a tableau in, a program out.

The text is plain Python of a small kind: loops over `range`, sums, products, `math.sqrt`. It is compiled
here, and a benchmark turns the same text into C. Each loop makes two stages: the rates of the stages before
are read once for both, and while one waits for a root or a division the other has sums to do.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from shotwright.flight import dop853
from shotwright.flight.lanes.layout import LANES, PITCH, STAGE_ROWS, STAGES
from shotwright.flight.lanes.rates import SPHERES

COUNT = 12  # stages of the formula

_FACTORS = {
    # text from the speed s to `dk` = h K C_D s and `ck` = h K C_L s
    "steady": (
        "m = 1.0 / (p * s + qw)",
        "dk = ws[HK + i] * s",
        "ck = hl * s * m",
    ),
    # one division for both coefficients
    "falling": (
        "x = ws[REP + i] * s * (1.0 / 1.2e5)",
        "x = x * x",
        "x = x * x",
        "e = 1.0 + x * x",
        "f = p * s + qw",
        "m = s / (e * f)",
        "dk = ws[HK + i] * (0.30 * s + 0.20 * f * m)",
        "ck = hl * e * m",
    ),
    # C_D = 24/Re (1 + a Re^b) + c/(1 + d Re^e)
    "sphere": (
        "re = ws[REP + i] * s + 1e-6",
        "ln_re = logarithm(re)",
        "e = 1.0 + {d} * exponential({e} * ln_re)",
        "f = p * s + qw",
        "m = s / (e * f * re)",
        "low = 24.0 + {a24} * exponential({b} * ln_re)",
        "dk = ws[HK + i] * f * m * (low * e + {c} * re)",
        "ck = hl * m * e * re",
    ),
}


def factors(drag: str) -> tuple[str, ...]:
    """Write the lines that lead from the speed to the factors of drag and lift.

    Parameters
    ----------
    drag : str
        ``"steady"``, ``"falling"`` or the name of a smooth-sphere law.

    Returns
    -------
    tuple of str
        Lines of the text.
    """
    if drag not in SPHERES:
        return _FACTORS[drag]
    a, b, c, d, e = SPHERES[drag]
    return tuple(line.format(a24=24.0 * a, b=b, c=c, d=d, e=e) for line in _FACTORS["sphere"])


def coefficients(letter: str) -> dict[tuple[int, ...], float]:
    """Read the formula's coefficients from `dop853`.

    Parameters
    ----------
    letter : str
        ``"A"``, ``"B"`` or ``"Q"``.

    Returns
    -------
    dict
        By stage, and for ``"A"`` by stage and earlier stage; counted from 1.
    """
    found = {}
    for name, value in vars(dop853).items():
        parts = name[1:].split("_")
        if name[0] == letter and all(part.isdigit() for part in parts):
            found[tuple(int(part) for part in parts)] = value
    return found


def stage_places() -> dict[int, int]:
    """Give each stage its place in the array; a stage that is no longer read gives its place away.

    Returns
    -------
    dict of int to int
        Place of the first component of each stage, counted from 1.
    """
    last = {stage: COUNT + 1 for (stage,) in coefficients("B")}
    for row, stage in coefficients("A"):
        last[stage] = max(last.get(stage, 0), row)
    places: dict[int, int] = {}
    for stage in range(1, COUNT + 1):
        taken = {places[one] for one in places if last[one] >= stage}
        places[stage] = next(
            place for place in range(STAGES, STAGES + STAGE_ROWS * PITCH, 4 * PITCH) if place not in taken
        )
    return places


def stages_text(drag: str, *, decay: bool) -> str:
    """Write the function that makes stages 2 to 12 of one step.

    Parameters
    ----------
    drag : str
        ``"steady"``: a constant coefficient; ``"falling"``: `drag.drag_crisis`; or the name of one of
        `rates.SPHERES`.
    decay : bool
        Whether the spin fades.

    Returns
    -------
    str
        A function ``stages(ws, p, q)`` of the whole array and the lift law's p and q.
    """
    lines = ["def stages(ws, p, q):"]
    for first in range(2, COUNT + 1, 2):
        group = [stage for stage in (first, first + 1) if stage <= COUNT]
        lines.append(f"    for i in range({LANES}):")
        lines += [f"        {line}" for line in _loop(group, drag, decay)]
    return "\n".join(lines) + "\n"


def sum_text(*, decay: bool) -> str:
    """Write the function that sums the stages into the state at the step's end.

    Parameters
    ----------
    decay : bool
        Whether the spin fades.

    Returns
    -------
    str
        A function ``sum_up(ws)``: place, velocity and spin move on by one step, the old ones are kept.
    """
    b, q, places = coefficients("B"), coefficients("Q"), stage_places()
    lines = ["def sum_up(ws):", f"    for i in range({LANES}):", "        h = ws[H + i]"]
    for k in range(3):
        for (stage,) in b:
            lines.append(f"        k{stage} = ws[{places[stage] + k * PITCH} + i]")
        lines += [
            f"        y = ws[Y{k + 1} + i]",
            f"        u = ws[U{k + 1} + i]",
            f"        ws[PY{k + 1} + i] = y",
            f"        ws[PU{k + 1} + i] = u",
            f"        ws[Y{k + 1} + i] = y + h * (u + ({_total(q)}))",
            f"        ws[U{k + 1} + i] = u + ({_total(b)})",
        ]
    if decay:
        total = _sum((value, f"ws[{places[j] + 3 * PITCH} + i]") for (j,), value in b.items())
        lines += ["        ws[PW + i] = ws[W + i]", f"        ws[W + i] = ws[W + i] + ({total})"]
    return "\n".join(lines) + "\n"


def _loop(group: Sequence[int], drag: str, decay: bool) -> list[str]:
    """Make the body of one loop: all of `group`'s sums over older stages, then the stages themselves."""
    a, places, names = coefficients("A"), stage_places(), "1234"[: 4 if decay else 3]
    lines: list[str] = []
    older = [j for j in range(1, group[0]) if any((row, j) in a for row in group)]
    start = {"1": "ws[U1 + i]", "2": "ws[U2 + i]", "3": "ws[U3 + i]", "4": "ws[W + i]"}
    for name in names:
        lines.append(f"v{name} = {start[name]}")
        for j in older:
            lines.append(f"k{j} = ws[{places[j] + (int(name) - 1) * PITCH} + i]")
        for row in group:
            total = _sum((a[row, j], f"k{j}") for j in older if (row, j) in a)
            lines.append(f"s{row}_{name} = v{name} + ({total})" if total else f"s{row}_{name} = v{name}")
    for position, row in enumerate(group):
        lines += _rate(row, drag, decay, places[row])
        for later in group[position + 1 :]:
            lines += [f"s{later}_{name} = s{later}_{name} + {a[later, row]!r} * n{name}" for name in names]
    return lines


def _rate(row: int, drag: str, decay: bool, place: int) -> list[str]:
    """Rate of one stage, times the step."""
    u1, u2, u3 = (f"s{row}_{name}" for name in "123")
    lines = [
        f"s = math.sqrt({u1} * {u1} + {u2} * {u2} + {u3} * {u3} + TINY)",
        f"hl = ws[HL + i] * s{row}_4" if decay else "hl = ws[HL + i]",
        f"qw = q * s{row}_4 + TINY" if decay else "qw = ws[HQ + i]",
        *factors(drag),
        f"n1 = -(dk * {u1}) - ck * {u2}",
        f"n2 = ck * {u1} - dk * {u2} - ws[HG2 + i]",
        f"n3 = -(dk * {u3}) - ws[HG3 + i]",
    ]
    if decay:
        lines.append(f"n4 = -(ws[HLAM + i] * s * s{row}_4)")
    return lines + [f"ws[{place + (int(k) - 1) * PITCH} + i] = n{k}" for k in ("1234" if decay else "123")]


def _total(weights: dict[tuple[int, ...], float]) -> str:
    return _sum((value, f"k{j}") for (j,), value in weights.items())


def _sum(terms: Iterable[tuple[float, str]]) -> str:
    return " + ".join(f"{value!r} * {name}" for value, name in terms)
