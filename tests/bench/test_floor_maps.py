"""The floor map against the hit probability of single positions, and against itself."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from shotwright.base.errors import BadInput, Cancelled
from shotwright.bench.evidence import hit_probabilities
from shotwright.bench.floor_maps import floor_map
from shotwright.bench.floor_result import FloorMap
from shotwright.bench.projects import create_project, import_into

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's game with seven simulated marks of one prototype."""
    folder = tmp_path_factory.mktemp("floor")
    file = folder / "yard.shotwright"
    create_project(file, game=YARD / "game.toml")
    import_into(file, YARD / "prototypes.toml")
    import_into(file, YARD / "trials.toml")
    rng = np.random.default_rng(8)
    rows = ["trial,shot,along (m),left (m)"]
    rows += [
        f"hood at 56,{k + 1},{5.2 + 0.13 * rng.normal():.3f},{0.08 * rng.normal():.3f}" for k in range(7)
    ]
    (folder / "shots.csv").write_text("\n".join(rows), encoding="utf-8")
    import_into(file, folder / "shots.csv")
    return file


@pytest.fixture(scope="module")
def mapped(project: Path) -> tuple[FloorMap, list[float]]:
    shares: list[float] = []
    found = floor_map(
        project,
        "hooded wheel",
        step="50 cm",
        draws=400,
        workers=1,
        shown=lambda part: shares.append(part.computed),
    )
    return found, shares


def test_a_coarse_picture_comes_first(mapped: tuple[FloorMap, list[float]]) -> None:
    found, shares = mapped
    assert shares == sorted(shares)
    assert shares[0] < 1.0
    assert found.computed == 1.0
    assert found.svg.startswith("<svg")


def test_agrees_with_the_hit_probability_of_the_firing_positions(
    project: Path, mapped: tuple[FloorMap, list[float]]
) -> None:
    """Another way to the same number: the search and the integral of the verb `hit`, place by place."""
    alone = hit_probabilities(project, prototypes=("hooded wheel",), position="rail", target="lantern")
    model = alone.rows[0].model
    here = next(p for p in mapped[0].positions if p.name == "rail")
    assert here.hit_probability is not None
    # the map's nearest place is up to 35 cm away, and its draws are fewer
    assert here.hit_probability == pytest.approx(model.value, abs=0.06)  # type: ignore[union-attr]


def test_far_places_are_out_of_reach_or_hit_less(mapped: tuple[FloorMap, list[float]]) -> None:
    found = mapped[0]
    chance = np.array([[np.nan if v is None else v for v in row] for row in found.hit_probability])
    x, y = np.meshgrid(found.x_m, found.y_m)
    distance = np.hypot(x - 7.6, y - 3.0)
    known = np.isfinite(chance)
    near, far = known & (distance > 2.0) & (distance < 3.5), known & (distance > 5.5)
    assert near.any()
    assert not far.any() or chance[far].mean() < chance[near].mean()
    assert all(reason for row in found.status for reason in row if reason)


def test_the_same_seed_gives_the_same_numbers_whoever_computes(project: Path) -> None:
    one, two = (
        floor_map(project, "hooded wheel", step="60 cm", draws=100, seed=3, workers=w).to_dict()
        for w in (1, 2)
    )
    assert one == two


def test_it_can_be_stopped(project: Path) -> None:
    def stop(fraction: float, what: str = "") -> None:
        if fraction > 0.05:
            raise Cancelled("stopped")

    with pytest.raises(Cancelled):
        floor_map(project, "hooded wheel", step="50 cm", draws=100, workers=1, progress=stop)


@pytest.mark.parametrize("step", ["0 m", "-5 cm", "5"])
def test_a_step_that_does_not_fit_is_told(project: Path, step: str) -> None:
    with pytest.raises(BadInput):
        floor_map(project, "hooded wheel", step=step)
