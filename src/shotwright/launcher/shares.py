"""Share of an output's variance by input: Sobol' indices of independent inputs, with Monte Carlo error."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.base.estimate import Estimate, Estimated, NotEstimated
from shotwright.base.plain import Result

FloatArray = NDArray[np.float64]

_RESAMPLES = 200
_METHOD = "Sobol' index, 95 % by resampling the draws: Monte Carlo error only"
_TOLD = 1 / 3  # half interval of the largest share
_NOTHING = 1e-12  # of the squared mean: a variance below is rounding


@dataclass(frozen=True, slots=True)
class Share(Result):
    """What one input does to the variance of one output.

    Parameters
    ----------
    input : str
        Name of the input.
    first : Estimate
        First-order index: the share that would go if this input did not vary. [-]
    total : Estimate
        Total index: the share that would stay if only this input varied, with all it does together with
        others. [-]
    """

    input: str
    first: Estimate
    total: Estimate


@dataclass(frozen=True, slots=True)
class VarianceShares(Result):
    """Shares of the variance of one output, the largest total first.

    Parameters
    ----------
    output : str
        What varies: ``"speed"``, ``"along"``, ``"cross"``, ``"hit"``.
    unit : str
        Of the standard deviation.
    sd : Estimate or NotEstimated
        Standard deviation of the output.
    shares : tuple of Share
        One for each input; empty when nothing varies.
    draws : int
        Evaluations behind them.
    """

    output: str
    unit: str
    sd: Estimated
    shares: tuple[Share, ...]
    draws: int


def variance_shares(
    names: Sequence[str],
    outputs: Mapping[str, str],
    function: Callable[[FloatArray], Mapping[str, FloatArray]],
    *,
    draws: int = 1024,
    seed: int = 1,
) -> tuple[VarianceShares, ...]:
    r"""Find Sobol' indices of several outputs from one design of draws.

    .. math:: S_i = \operatorname{Var} E(Y|X_i) / \operatorname{Var} Y, \qquad
        S_{Ti} = 1 - \operatorname{Var} E(Y|X_{\sim i}) / \operatorname{Var} Y

    Parameters
    ----------
    names : sequence of str
        Inputs, d of them.
    outputs : mapping of str to str
        Name of each output to its unit.
    function : callable
        Takes uniform draws of shape (n, d), the inputs' quantiles; returns each output, shape (n,). An output
        with a NaN is not estimated.
    draws : int
        A power of two; the function is evaluated draws x (d + 2) times.
    seed : int
        Of the scrambled Sobol' sequence and of the resampling.

    Returns
    -------
    tuple of VarianceShares
        In the order of `outputs`.

    Notes
    -----
    The inputs are taken as independent. An index whose interval holds 0 can't be told from nothing. Where
    the largest is known no better than by a third, as with hits that hardly ever fail, none is told.

    References
    ----------
    Saltelli, Annoni, Azzini, Campolongo, Ratto, Tarantola, "Variance based sensitivity analysis of model
    output", Comput. Phys. Commun. 181, 259 (2010); as in the library SALib.
    """
    if draws < 2 or draws & (draws - 1):
        raise BadInput(f"{draws} is not a power of two; e.g. 1024", field="draws")
    if not names:
        return tuple(VarianceShares(o, u, NotEstimated("nothing varies"), (), 0) for o, u in outputs.items())
    # The library brings pandas along, which takes seconds to load: only who asks for shares pays for it.
    from SALib.analyze import sobol as analysis
    from SALib.sample import sobol as sampling

    problem = {"num_vars": len(names), "names": list(names), "bounds": [[0.0, 1.0]] * len(names)}
    points = sampling.sample(problem, draws, calc_second_order=False, seed=seed)
    values = function(points)
    found = []
    for output, unit in outputs.items():
        y = np.asarray(values[output], dtype=float)
        reason = _not_estimated(y)
        if reason:
            found.append(VarianceShares(output, unit, NotEstimated(reason), (), len(y)))
            continue
        result = analysis.analyze(
            problem, y, calc_second_order=False, num_resamples=_RESAMPLES, seed=seed, print_to_console=False
        )
        shares = [
            Share(name, _estimate(first, first_half), _estimate(total, total_half))
            for name, first, first_half, total, total_half in zip(
                names, result["S1"], result["S1_conf"], result["ST"], result["ST_conf"], strict=True
            )
        ]
        shares.sort(key=lambda one: -one.total.value)
        if shares[0].total.high - shares[0].total.value > _TOLD:
            reason = "too few of the shots differ to tell whose doing it is"
            found.append(VarianceShares(output, unit, NotEstimated(reason), (), len(y)))
            continue
        found.append(VarianceShares(output, unit, _spread(y), tuple(shares), len(y)))
    return tuple(found)


def _not_estimated(y: FloatArray) -> str:
    lost = np.mean(~np.isfinite(y))
    if lost > 0:
        return f"{100 * lost:.2g} % of the shots never get there"
    if np.var(y) <= _NOTHING * max(float(np.mean(y)) ** 2, _NOTHING):
        return "it is the same for all shots"
    return ""


def _estimate(value: float, half: float) -> Estimate:
    return Estimate(float(value), float(value - half), float(value + half), 0.95, _METHOD)


def _spread(y: FloatArray) -> Estimate:
    """Standard deviation with its Monte Carlo error from the fourth moment."""
    away = y - y.mean()
    variance = float(np.mean(away**2))
    sd = variance**0.5
    error = float(np.sqrt(max(np.mean(away**4) - variance**2, 0.0) / len(y))) / (2 * sd)
    return Estimate(sd, max(sd - 1.96 * error, 0.0), sd + 1.96 * error, 0.95, "Monte Carlo error only")
