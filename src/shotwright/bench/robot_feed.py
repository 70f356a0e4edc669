"""The feed of a robot: traction, intervals, capacity, jams."""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from shotwright.base.errors import BadInput
from shotwright.bench.robot_results import FeedResult
from shotwright.bench.robots import ROBOT_CAUTION, SIDE, FoundRobot
from shotwright.bench.workbook import Workbook
from shotwright.game.records import Ball
from shotwright.notebook.drawing import Drawing
from shotwright.notebook.figures.curve_panels import CurvePanel, PanelCurve, PanelMark, curve_panels
from shotwright.powertrain.wheel_duty import recovery_time
from shotwright.robot.feed import Feed, fire_rate, jam_factor, jam_margin, traction

FEED_CAUTION = (
    "Belts and rollers draw in fingers, hair and sleeves. Cut the power before reaching into a jam, and let "
    "the wheel of the launcher stop first."
)


def feed(found: FoundRobot, *, width: float = SIDE) -> FeedResult:
    """Work out the feed: traction, intervals, capacity, jams.

    Parameters
    ----------
    found : FoundRobot
        The robot, with a project whose game has the ball.
    width : float
        Of the picture. [px]

    Returns
    -------
    FeedResult
        With its picture.

    Raises
    ------
    BadInput
        There is no game, so there is no ball.
    """
    part = found.robot.part("feed")
    assert isinstance(part, Feed)
    if found.book is None or found.book.game is None:
        raise BadInput(
            "the feed needs the ball: name a project with a game, or bring one in: shotwright import "
            "game.toml",
            field="game",
        )
    ball = found.book.game.ball
    part, whose = _with_recovery(part, found.book)
    rate = fire_rate(part, ball.diameter)
    grip = traction(part, ball.mass, ball.inertia_factor)
    jam = jam_margin(part, ball, rate.capacity)
    rolls = "it rolls at half the speed of the surface" if part.rolls else "it moves with the surface"
    words = [
        (
            f"The ball moves at {part.ball_speed:.2f} m/s ({rolls}): one ball every {part.feed_interval:.2f} "
            f"s. {whose}, so the {rate.limited_by} sets {rate.interval_s:.2f} s, {rate.burst_rate_s:.2f} "
            "balls a second."
        ),
        f"The channel holds {rate.capacity} balls, a burst of {rate.burst_s:.2f} s.",
        f"Each side has to press with {grip.needed_squeeze_n:.2f} N; it presses with {part.squeeze:.2f} N, "
        + (f"{grip.margin:.1f} times that." if grip.margin >= 1 else "too little: the ball slips."),
        *_jam_words(part, jam.push_of_all, jam.lock_margin, jam.too_wide, jam.locks_at_width_m),
    ]
    if rate.sustained_rate_s is not None and rate.without_storage_s is not None:
        wait = "" if rate.mean_wait_s is None else f"; a ball waits {rate.mean_wait_s:.2f} s on average"
        words.append(
            f"With balls collected at random, sustained {rate.sustained_rate_s:.2f} a second with room "
            f"to store them{wait}, {rate.without_storage_s:.2f} without."
        )
    return FeedResult(
        name=found.robot.name,
        ball=ball.name,
        ball_speed_m_s=part.ball_speed,
        feed_interval_s=part.feed_interval,
        recovery_s=part.recovery,
        traction=grip,
        rate=rate,
        jam=jam,
        svg=feed_drawing(part, ball, max(rate.capacity, 2), key="feed", width=width).svg(),
        words=tuple(words),
        cautions=(FEED_CAUTION, ROBOT_CAUTION),
    )


def _with_recovery(part: Feed, book: Workbook) -> tuple[Feed, str]:
    """Return the feed with the launcher's recovery, and where that comes from."""
    if part.recovery is not None:
        return part, f"The launcher needs {part.recovery:.2f} s (robot file)"
    wheels = [one for one in book.drives if one.wheel is not None and one.duty is not None]
    if len(wheels) != 1 or wheels[0].wheel is None or wheels[0].duty is None:
        return part, "Nothing tells how long the launcher recovers"
    took = recovery_time(wheels[0].wheel, wheels[0].duty)
    known = dataclasses.replace(part, recovery=took)
    return known, f"The launcher's wheel recovers in {took:.2f} s (drive {wheels[0].name!r})"


def _jam_words(part: Feed, push: float, margin: float, too_wide: float, locks_at: float) -> list[str]:
    words = []
    if margin <= 1:
        words.append(
            f"A channel of {1000 * part.width:.0f} mm JAMS: balls stand so far to the sides that they "
            f"lock. Make it narrower than {1000 * locks_at:.0f} mm."
        )
    else:
        words.append(
            f"A full channel pushes {push:.2f} times as hard at its end as at its front; it locks at "
            f"{1000 * locks_at:.0f} mm, and is {1000 * part.width:.0f} mm wide."
        )
    if too_wide > 0.001:
        words.append(f"{100 * too_wide:.1f} % of the balls are wider than the channel.")
    return words


def feed_drawing(part: Feed, ball: Ball, balls: int, *, key: str, width: float) -> Drawing:
    """Draw how hard a full channel pushes against its width.

    Parameters
    ----------
    part : Feed
        The feed.
    ball : Ball
        Of the game.
    balls : int
        In the channel.
    key : str
        Unique on the page.
    width : float
        [px]

    Returns
    -------
    Drawing
        One panel.
    """
    small = ball.diameter - 2 * ball.diameter_sd
    widths = np.linspace(ball.diameter, 1.6 * ball.diameter, 80)

    def grown(diameter: float, wide: float) -> float:
        factor = jam_factor(diameter, wide, part.wall_friction)[1]
        grows = factor ** (balls - 1)
        return grows if grows < 20 else math.nan

    curves = tuple(
        PanelCurve(name, [(1000 * float(w), grown(diameter, float(w))) for w in widths])
        for name, diameter in (("mean ball", ball.diameter), ("smallest ball (2 sd)", small))
    )
    mark = PanelMark("as built", 1000 * part.width, grown(small, part.width), "square")
    panel = CurvePanel(
        "width of the channel [mm]",
        "push at the end over front",
        curves,
        (mark,) if math.isfinite(mark.y) else (),
    )
    return curve_panels((panel,), key=key, width=width, title="Jam margin of the channel, predicted")
