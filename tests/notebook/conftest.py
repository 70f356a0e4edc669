"""An invented project for the tests of the notebook: every name and number in it is made up."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest

from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.game.records import (
    Ball,
    CoefficientLaw,
    Defender,
    FiringPosition,
    Game,
    Post,
    Prism,
    Target,
)
from shotwright.notebook import content as c
from shotwright.notebook.on_paper import PaperHit, PaperPage, ShareBar, ShareGroup
from shotwright.trials.records import Prototype, Shot, Trial

DAY = datetime.date(2031, 3, 14)


def box(name, x, y, long, wide, bottom, top):
    corners = ((x, y), (x + long, y), (x + long, y + wide), (x, y + wide))
    return Prism(name, corners, bottom, top)


def invented_game() -> Game:
    ball = Ball("foam ball", 0.18, 0.14, CoefficientLaw("constant", 0.5), CoefficientLaw("constant", 0.0))
    rectangle = ((-0.6, -0.35), (0.6, -0.35), (0.6, 0.35), (-0.6, 0.35))
    return Game(
        name="Lantern Yard",
        field_length=12.0,
        field_width=6.0,
        ball=ball,
        targets=(
            Target("high lantern", (11.6, 3.0, 2.4), math.pi, 0.35, radius=0.55),
            Target("low gate", (6.0, 5.9, 1.0), -math.pi / 2, 0.0, corners=rectangle, points=2.0),
        ),
        positions=(
            FiringPosition("fender", 8.4, 3.0, 0.01, 0.005, ("high lantern",)),
            FiringPosition("mid line", 5.0, 2.2, 0.06, 0.03),
            FiringPosition("far corner", 1.2, 0.8, 0.12, 0.04, ("high lantern",), needed=False),
        ),
        obstacles=(box("wall", 9.6, 2.2, 0.15, 1.6, 0.0, 1.0), Post("mast", 3.4, 4.2, 0.12, 0.0, 2.2)),
        defenders=(Defender("defender", box("defender", 6.8, 2.0, 0.8, 2.4, 0.0, 1.3)),),
        origin="invented",
    )


def parabola(position, target, speed, elevation, height):
    """Path without air, from the position towards the target until the target's distance: test data only."""
    dx, dy = target.centre[0] - position.x, target.centre[1] - position.y
    reach = math.hypot(dx, dy)
    along = np.linspace(0, reach, 60)
    time = along / (speed * math.cos(elevation))
    z = height + speed * math.sin(elevation) * time - 9.80665 * time**2 / 2
    return np.column_stack([position.x + along * dx / reach, position.y + along * dy / reach, z])


def window(game, position_name, target_name):
    position, target = game.position(position_name), game.target(target_name)
    reach = math.hypot(target.centre[0] - position.x, target.centre[1] - position.y)
    height = 0.7
    rise = target.centre[2] - height

    def speed(e, up=0.0):
        drop = reach * math.tan(e) - rise - up
        return reach / math.cos(e) * math.sqrt(9.80665 / (2 * drop))

    slices = []
    for deg in np.arange(42.0, 78.5, 0.5):
        e = math.radians(deg)
        low, high = sorted((speed(e, -0.12), speed(e, 0.15)))
        slices.append(c.WindowSlice(float(deg), ((low, high),) if deg > 44 else ()))
    shots = []
    for kind, deg in (("minimum speed", 54.0), ("most forgiving", 61.0)):
        e = math.radians(deg)
        v = speed(e)
        path = parabola(position, target, v, e, height)
        fall = math.degrees(math.atan2(path[-2, 2] - path[-1, 2], np.hypot(*(path[-1, :2] - path[-2, :2]))))
        shots.append(
            c.WindowShot(
                kind, v, deg, fall, float(path[:, 2].max()), reach / (v * math.cos(e)), 0.31, 0.74, path
            )
        )
    return c.WindowPanel(
        position_name,
        target_name,
        height,
        "spin parameter S = 0.10",
        tuple(slices),
        tuple(shots),
        spread_words="1.5 % in speed, 0.8° in elevation",
        prototype="Heron",
    )


def trial_page(name, prototype, n, centre, sd, rng, *, origin="simulated", surface="floor", remark=""):
    marks = np.asarray(centre) + rng.normal(size=(n, 2)) * np.asarray(sd)
    first = "along" if surface == "floor" else "height"
    shots = [
        Shot(f"{name}-{k}", name, k + 1, f"ball {k % 3 + 1}", source=f"shots.csv row {k + 2}", remark=remark)
        for k in range(n)
    ]
    shots = [
        type(s)(**{**{f: getattr(s, f) for f in Shot.__slots__}, first: float(m[0]), "cross": float(m[1])})
        for s, m in zip(shots, marks, strict=True)
    ]
    flyer = {first: float(centre[0] - 4 * sd[0]), "cross": float(centre[1] + 3 * sd[1])}
    shots.append(
        Shot(f"{name}-x", name, n + 1, set_aside="ball was torn", source=f"shots.csv row {n + 2}", **flyer)
    )
    covariance = np.cov(marks.T)
    plain = tuple(tuple(float(v) for v in row) for row in covariance)
    mean = tuple(float(v) for v in marks.mean(axis=0))
    s1, s2 = float(math.sqrt(covariance[0, 0])), float(math.sqrt(covariance[1, 1]))
    return c.TrialPage(
        Trial(
            name, prototype, DAY, "notch 4", math.radians(58), surface=surface, surface_at=0.0, origin=origin
        ),
        tuple(shots),
        mean_m=mean,
        ellipses=(
            c.ScatterEllipse(plain, 1.177, "half of the next shots fall inside"),
            c.ScatterEllipse(plain, 2.9, "95 % of the next shots fall inside"),
        ),
        aim_m=(centre[0] + 0.05, 0.0),
        findings=(
            c.FindingRow(
                "along spread", Estimate(s1, 0.64 * s1, 2.2 * s1), "mm", 1000.0, "standard deviation"
            ),
            c.FindingRow(
                "cross spread", Estimate(s2, 0.64 * s2, 2.2 * s2), "mm", 1000.0, "standard deviation"
            ),
            c.FindingRow("between-ball spread", NotEstimated("3 balls, at least 4 needed"), "mm", 1000.0),
        ),
        flagged=(c.FlaggedShot(2, "stands 3.9 spreads from the middle of the others"),),
        remarks=("No drift with shot order is seen (p = 0.41).",),
    )


def paper_page() -> PaperPage:
    bars = tuple(
        ShareBar(name, Estimate(v, v - 0.05, v + 0.05), Estimate(v + 0.04, v - 0.02, v + 0.1))
        for name, v in (("wheel speed", 0.61), ("ball diameter", 0.22), ("grip", 0.08))
    )
    hits = (
        PaperHit(
            "fender", "high lantern", "rim speed 21 m/s", "rim speed 19 to 24 m/s",
            Estimate(0.88, 0.87, 0.89), 0.14, 0.06,
        ),
        PaperHit("far corner", "high lantern", "", "", NotEstimated("no setting gets there"), None, None),
    )  # fmt: skip
    return PaperPage(
        prototype="Heron",
        kind="wheel and hood",
        figures=(("speed", "8.1 m/s, sd 0.14 m/s"),),
        energies=(("ball", 7.6), ("slip at the wheel", 10.0)),
        hits=hits,
        shares=(ShareGroup("distance, fender to high lantern", bars),),
        share_words=("Half the spread of wheel speed would raise the hits from 88 to 93 %.",),
        cautions=("The wheels hold 31 J.",),
        notes=("Assumed, nobody measured it: grip.",),
    )


def invented_content(remark: str = "") -> c.NotebookContent:
    rng = np.random.default_rng(31)
    game = invented_game()
    heron = Prototype(
        "Heron", "wheel and hood", 0.7, math.radians(45), math.radians(70), 6.0, 12.0, 0.1, 0.02, 2, 38.0, 4.1
    )
    otter = Prototype(
        "Otter", "spring piston", 0.6, math.radians(58), math.radians(58), stored_energy=22.0, motors=1
    )
    marten = Prototype("Marten", "opposed wheels", 0.65, math.radians(40), math.radians(60), motors=2)
    pages = (
        trial_page("T1", "Heron", 7, (5.1, 0.04), (0.16, 0.07), rng, remark=remark),
        trial_page("T2", "Otter", 7, (4.6, -0.1), (0.34, 0.05), rng),
        trial_page("T3", "Marten", 9, (5.6, 0.02), (0.22, 0.18), rng, origin="measured"),
    )
    pairs = [("fender", "high lantern"), ("mid line", "high lantern"), ("mid line", "low gate")]
    chances = {"Heron": (0.93, 0.71, 0.66), "Otter": (0.81, 0.52, 0.61), "Marten": (0.84, 0.44, 0.39)}
    parts = (
        c.SharePart("few shots", 0.55),
        c.SharePart("speed or elevation", 0.25),
        c.SharePart("drag", 0.12),
        c.SharePart("place and heading", 0.08),
    )
    hits = [
        c.HitRow(
            name,
            position,
            target,
            Estimate(p, max(0.02, p - 0.21), min(0.99, p + 0.13)),
            "8.1 m/s at 58°",
            (page.trial.name,),
            len(page.shots) - 1,
            page.trial.origin,
            count=Estimate(p - 0.03, max(0.01, p - 0.3), min(0.995, p + 0.2)) if name == "Otter" else None,
            count_leads=name == "Otter" and position == "fender",
            extremes=(p - 0.06, p + 0.05),
            parts=parts,
            narrows="5 shots at 65° would tell speed spread from elevation spread.",
        )
        for page, (name, values) in zip(pages, chances.items(), strict=True)
        for (position, target), p in zip(pairs, values, strict=True)
    ]
    hits.append(
        c.HitRow("Otter", "far corner", "high lantern", NotEstimated("out of reach: 9.1 m/s at most"))
    )
    blocked = c.WindowPanel(
        "far corner", "high lantern", 0.7, "spin parameter S = 0.10", (), blocked="every path meets the mast"
    )
    return c.NotebookContent(
        project_name="Lantern Yard crew",
        made_on=DAY,
        version="0.1.0",
        game=game,
        prototypes=(heron, otter, marten),
        summary=(
            "Heron was chosen on 14 March 2031.",
            "From the mid line it scores 71 % (50 to 84 %) at the high lantern.",
        ),
        seed=31,
        origin_notes=("shots.csv, 26 rows, read on 14 March 2031",),
        windows=(
            window(game, "fender", "high lantern"),
            window(game, "mid line", "high lantern"),
            blocked,
        ),
        service_words=("One fixed elevation of 61° serves the fender and the mid line.",),
        trials=pages,
        on_paper=(paper_page(),),
        comparison=(
            c.ComparisonRow(
                "Heron",
                "Otter",
                "spread",
                Estimate(1.9, 0.9, 4.0),
                0.083,
                "7 shots of Heron and 7 of Otter cannot tell their spreads apart.",
                ("T1", "T2"),
            ),
            c.ComparisonRow(
                "Heron", "Marten", "spread", NotEstimated("1 shot"), None, "Too few shots.", ("T1", "T3")
            ),
        ),
        comparison_words=("If Otter is really 1.5 times wider, 19 more shots of each would show it.",),
        hits=tuple(hits),
        gates=(
            c.GateRow(
                "Heron", "reaches every needed position", True, "needs 7.0 to 9.2 m/s, gives 6 to 12 m/s"
            ),
            c.GateRow("Otter", "reaches every needed position", None, "its speed range is not stated"),
            c.GateRow("Marten", "motors available", False, "uses 2, 1 left"),
        ),
        criteria=(c.Criterion("points per shot", 0.7, (("Heron", "1.42 (1.1 to 1.7)"), ("Otter", "1.2"))),),
        ranks=tuple(
            c.RankRow(name, shares, words)
            for words in ("the crew's own weights", "all weights")
            for name, shares in (
                ("Heron", (0.81, 0.15, 0.04)),
                ("Otter", (0.16, 0.55, 0.29)),
                ("Marten", (0.03, 0.30, 0.67)),
            )
        ),
        choices=(
            c.ChoiceEntry(
                DAY,
                "Heron",
                "It leads at both needed positions and needs no spring.",
                ("T1, shots 1–7", "T2, shots 1–7"),
                ("12 more shots of Otter with a cross spread under 40 mm",),
            ),
        ),
        testing_words=("Ten more shots each before choosing are worth 1.2 points in a hundred shots.",),
        truth=(
            c.TruthRow("Heron, speed spread", 0.016, Estimate(0.019, 0.011, 0.04), "%", 100.0),
            c.TruthRow("Otter, fender", 0.95, Estimate(0.81, 0.6, 0.94), "%", 100.0),
            c.TruthRow("Marten, drag", 0.5, NotEstimated("one setting"), ""),
        ),
    )


@pytest.fixture(scope="session")
def game() -> Game:
    return invented_game()


@pytest.fixture(scope="session")
def content() -> c.NotebookContent:
    return invented_content()
