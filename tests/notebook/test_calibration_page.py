"""Predicted against measured on a prototype's page: the two never look alike."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from shotwright.base.estimate import Estimate, NotEstimated
from shotwright.notebook.blocks import Bullets, Caution, Heading, Picture, Table
from shotwright.notebook.calibration_blocks import calibration_blocks
from shotwright.notebook.figures.calibration_curve import calibration_curve
from shotwright.trials.calibration_records import (
    Calibration,
    CalibrationCurve,
    CurvePoint,
    LearnedParameter,
    MeasuredPoint,
    MeasuredRow,
    TrialFit,
)
from shotwright.trials.records import Origin

SPACE = "{http://www.w3.org/2000/svg}"


def about(value: float, half: float) -> Estimate:
    return Estimate(value, value - half, value + half)


def curve(origin: Origin) -> CalibrationCurve:
    points = tuple(
        CurvePoint(
            60.0 + 10 * i, about(3 + 0.4 * i, 0.6), about(2.9 + 0.4 * i, 0.1) if i else NotEstimated("no")
        )
        for i in range(8)
    )
    measured = tuple(
        MeasuredPoint(f"t{x:.0f}", origin, x, about(y, 0.08)) for x, y in ((80.0, 3.7), (110.0, 4.9))
    )
    return CalibrationCurve("stroke", "mm", points, measured)


def calibration(origin: Origin, fits: bool = True) -> Calibration:
    row = MeasuredRow("reach", "m", about(3.7, 0.08), about(4.0, 0.6), about(3.72, 0.05), -0.3)
    trial = TrialFit(
        "t80", origin, 7, (("stroke", "80 mm"),), (row,), about(0.05, 0.02), 0.06, {"stroke": 0.08}
    )
    verdict = "The corrected model fits." if fits else "LACK OF FIT: even corrected, the model does not."
    return Calibration(
        prototype="piston", kind="spring piston",
        parameters=(LearnedParameter("energy_share", "", about(0.95, 0.2), about(0.9, 0.04), 0.7),),
        alike=(), trials=(trial,), left_out=(), fit_probability=0.4 if fits else 0.01, fits=fits,
        curve=curve(origin), predictions=(), effective_draws=700.0, words=("Corrected.", verdict),
        cautions=("stroke was stated for no trial",),
    )  # fmt: skip


@pytest.mark.parametrize(("origin", "said"), [("measured", "MEASURED mean"), ("simulated", "SIMULATED mean")])
def test_measured_marks_are_filled_and_simulated_ones_hollow(origin: Origin, said: str) -> None:
    drawing = calibration_curve(curve(origin), "piston", key="c", width=600.0)
    root = ET.fromstring(drawing.svg())
    words = " ".join(text.text or "" for text in root.iter(f"{SPACE}text"))
    marks = [path for path in root.iter(f"{SPACE}path") if path.get("stroke-width") == "1.5"]

    assert said in words
    assert "predicted only" in words
    assert len(marks) == 3  # two trials and the legend
    assert {m.get("fill") for m in marks} == ({"#ffffff"} if origin == "simulated" else {"#b0560f"})


def test_the_line_is_solid_between_fired_settings_and_dashed_beyond() -> None:
    drawing = calibration_curve(curve("measured"), "piston", key="c", width=600.0)
    root = ET.fromstring(drawing.svg())
    lines = [one for one in root.iter(f"{SPACE}polyline") if one.get("stroke") == "#1b5e8c"]
    solid = [one for one in lines if not one.get("stroke-dasharray") and one.get("stroke-width") == "2.2"]
    dashed = [one for one in lines if one.get("stroke-dasharray") and "," in (one.get("points") or "")]

    assert len(solid) == 1
    xs = [float(p.split(",")[0]) for p in (solid[0].get("points") or "").split()]
    longest = max(dashed, key=lambda one: len(one.get("points") or ""))
    beyond = [float(p.split(",")[0]) for p in (longest.get("points") or "").split()]
    assert min(beyond) < min(xs)
    assert max(beyond) > max(xs)


def test_a_page_has_verdict_curve_and_tables() -> None:
    blocks = calibration_blocks(calibration("simulated"), 1)

    assert [type(one) for one in blocks] == [Heading, Bullets, Picture, Table, Table, Bullets]
    table = next(one for one in blocks if isinstance(one, Table))
    assert table.rows[0][0] == "t80 SIMULATED"
    assert [c.name for c in table.columns][3:] == [
        "measured",
        "predicted on paper",
        "predicted after calibration",
    ]


def test_lack_of_fit_stands_in_a_frame_at_the_top() -> None:
    blocks = calibration_blocks(calibration("measured", fits=False), 1)

    assert isinstance(blocks[1], Caution)
    assert blocks[1].text.startswith("LACK OF FIT")
