"""Launch spread from scatter: closed forms, and what can and can't be told apart."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats

from shotwright.base.errors import NoAnswer
from shotwright.trials.spread import SPREAD_PRIOR_EXPONENT, TrialEvidence, draw_launch_spread

DRAWS = 20_000


def evidence(
    shots: int = 7,
    *,
    first_sd: float = 0.25,
    cross_sd: float = 0.1,
    d_speed: float = 1.2,
    d_elevation: float = -2.0,
    known: float = 0.0,
    name: str = "T1",
) -> TrialEvidence:
    """One trial on the floor, 4 m and 7 m/s."""
    return TrialEvidence(
        trial=name,
        shots=shots,
        speed=7.0,
        elevation=math.radians(55.0),
        in_plane=np.array([[d_speed, d_elevation]]),
        in_plane_covariance=np.array([[first_sd**2]]),
        in_plane_known=np.array([[known]]),
        cross=4.0,
        cross_variance=cross_sd**2,
        cross_known=known,
    )


def with_measured_speeds(speed_sd: float, *, all_speed: bool, shots: int = 7) -> TrialEvidence:
    """A trial whose measured speeds explain all of the along scatter, or none of it."""
    d_speed, d_elevation, along_sd = 1.2, -2.0, 0.25
    launch_sd = along_sd / d_speed if all_speed else 0.01
    both = d_speed * launch_sd**2
    return TrialEvidence(
        trial="T1",
        shots=shots,
        speed=7.0,
        elevation=math.radians(55.0),
        in_plane=np.array([[d_speed, d_elevation], [1.0, 0.0]]),
        in_plane_covariance=np.array([[along_sd**2, both], [both, launch_sd**2 + speed_sd**2]]),
        in_plane_known=np.diag([0.0001, speed_sd**2]),
        cross=4.0,
        cross_variance=0.01,
        cross_known=0.0001,
    )


@pytest.mark.parametrize("shots", [5, 7, 12])
def test_azimuth_draws_are_a_scaled_inverse_chi(shots: int) -> None:
    # Closed form: likelihood T^-(n-1) exp(-(n-1) s^2 / 2 T^2) times the prior T^-a gives (n-1) s^2 / T^2
    # chi-square with n - 2 + a degrees of freedom (change of variable), n - 1/2 for a = 3/2.
    assert SPREAD_PRIOR_EXPONENT == 1.5
    drawn = draw_launch_spread([evidence(shots)], np.random.default_rng(1), draws=DRAWS, speed_share=0.5)
    seen = 0.1 / 4.0
    for level in (0.025, 0.25, 0.5, 0.75, 0.975):
        exact = seen * math.sqrt((shots - 1) / stats.chi2.ppf(1 - level, shots - 1 + 0.5))
        below = float(np.mean(drawn.azimuth < exact))
        # Four standard errors of a share of 20,000 draws.
        assert below == pytest.approx(level, abs=4 * math.sqrt(level * (1 - level) / DRAWS))


def test_in_plane_draws_are_the_same_with_the_share_fixed() -> None:
    # The fade-out of unlikely spreads is a factor of 1 within 1e-4 here: 2 % of speed against 15 %.
    shots, first_sd = 9, 0.17
    drawn = draw_launch_spread(
        [evidence(shots, first_sd=first_sd)], np.random.default_rng(2), draws=DRAWS, speed_share=1.0
    )
    seen = first_sd / (1.2 * 7.0)
    for level in (0.025, 0.5, 0.975):
        exact = seen * math.sqrt((shots - 1) / stats.chi2.ppf(1 - level, shots - 1 + 0.5))
        # Cells of the grid are 4 % wide with a uniform density inside: 0.01 on the share below.
        assert float(np.mean(drawn.speed < exact)) == pytest.approx(level, abs=0.01)
    assert np.all(drawn.elevation == 0.0)


def test_parts_add_up_to_the_scatter_seen() -> None:
    drawn = draw_launch_spread([evidence(60, known=0.0025)], np.random.default_rng(3), draws=DRAWS)
    total = (1.2 * 7.0 * drawn.speed) ** 2 + (2.0 * drawn.elevation) ** 2 + 0.0025
    # Sixty shots leave 9 % on a standard deviation, 18 % on a variance (closed form, 1/sqrt(2 (n-1))).
    assert np.median(total) == pytest.approx(0.25**2, rel=0.05)
    assert np.std(total) / np.mean(total) == pytest.approx(math.sqrt(2 / 59), rel=0.25)
    assert drawn.shots == 60
    assert drawn.trials == ("T1",)
    assert len(drawn) == DRAWS


def test_a_known_variance_is_never_subtracted_below_zero() -> None:
    # Marks scatter less than reading them should: possible by chance with few shots.
    drawn = draw_launch_spread(
        [evidence(5, first_sd=0.02, cross_sd=0.02, known=0.03**2)], np.random.default_rng(4), draws=4000
    )
    for values in (drawn.speed, drawn.elevation, drawn.azimuth):
        assert np.all(np.isfinite(values))
        assert np.all(values >= 0)
    # Closed form: x = (n-1) s^2 / T^2 is chi-square with n - 1/2 df, cut off where T is the known part.
    x = stats.chi2(4.5)
    cut = 4 * (0.02 / 0.03) ** 2
    for level in (0.025, 0.5, 0.975):
        total2 = 4 * 0.02**2 / x.ppf(x.cdf(cut) * (1 - level))
        exact = math.sqrt(total2 - 0.03**2) / 4.0
        # Four standard errors of a share of 4,000 draws, and the grid's cells near zero.
        assert float(np.mean(drawn.azimuth < exact)) == pytest.approx(level, abs=0.03)


def test_one_setting_leaves_the_share_open() -> None:
    # 0.06 m is 0.7 % of speed or 1.7 degrees: neither is faded out by the prior.
    drawn = draw_launch_spread([evidence(30, first_sd=0.06)], np.random.default_rng(5), draws=DRAWS)
    # A likelihood that does not see the share leaves its prior: Beta(1/2, 1/2) has an sd of 1/sqrt(8).
    assert np.std(drawn.speed_share) == pytest.approx(1 / math.sqrt(8), rel=0.05)
    assert np.mean(drawn.speed_share) == pytest.approx(0.5, abs=0.05)


@pytest.mark.parametrize("all_speed", [True, False])
def test_two_settings_inform_the_share(all_speed: bool) -> None:
    # At the second setting only speed (or only elevation) moves the mark much.
    slopes = [(1.2, -0.2), (0.4, -6.0)]
    speed_sd, elevation_sd = (0.03, 0.0) if all_speed else (0.0, 0.04)
    trials = [
        evidence(
            25,
            first_sd=math.hypot(dv * 7.0 * speed_sd, de * elevation_sd),
            d_speed=dv,
            d_elevation=de,
            name=f"T{k}",
        )
        for k, (dv, de) in enumerate(slopes)
    ]
    share = draw_launch_spread(trials, np.random.default_rng(6), draws=4000).speed_share
    if all_speed:
        assert np.quantile(share, 0.05) > 0.5
    else:
        assert np.quantile(share, 0.95) < 0.5


def test_measured_speeds_inform_the_share() -> None:
    rng = np.random.default_rng(7)
    speed = draw_launch_spread([with_measured_speeds(0.02, all_speed=True, shots=15)], rng, draws=4000)
    other = draw_launch_spread([with_measured_speeds(0.02, all_speed=False, shots=15)], rng, draws=4000)
    assert np.quantile(speed.speed_share, 0.05) > 0.8
    assert np.quantile(other.speed_share, 0.95) < 0.2
    assert np.median(speed.speed) == pytest.approx(0.25 / 1.2 / 7.0, rel=0.15)


def test_the_calibration_error_shrinks_with_the_square_root_of_the_shots() -> None:
    few, many = (draw_launch_spread([evidence(n)], np.random.default_rng(8), draws=DRAWS) for n in (10, 90))
    # Standard error of a mean, s / sqrt(n); ten shots leave 20 % more in the tails of the spread.
    assert np.std(few.azimuth_offset) / np.std(many.azimuth_offset) == pytest.approx(3.0, rel=0.2)
    assert np.std(many.speed_offset) == pytest.approx(0.25 / (1.2 * 7.0) / math.sqrt(90), rel=0.1)
    assert np.all(many.elevation_offset == 0.0)


def test_too_few_shots_have_no_answer() -> None:
    with pytest.raises(NoAnswer, match="2 shots with a mark in one trial, at least 3 needed"):
        draw_launch_spread([evidence(2), evidence(1)], np.random.default_rng(9))
    with pytest.raises(NoAnswer, match="0 shots"):
        draw_launch_spread([], np.random.default_rng(9))


def test_a_trial_with_too_few_shots_is_left_aside() -> None:
    drawn = draw_launch_spread([evidence(6), evidence(2, name="T2")], np.random.default_rng(10), draws=100)
    assert drawn.trials == ("T1",)
    assert drawn.shots == 6


def test_the_same_generator_gives_the_same_draws() -> None:
    one, two = (draw_launch_spread([evidence()], np.random.default_rng(11), draws=50) for _ in range(2))
    np.testing.assert_array_equal(one.speed, two.speed)
    np.testing.assert_array_equal(one.azimuth_offset, two.azimuth_offset)
