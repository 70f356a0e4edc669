"""Files of readings and of springs: what was written comes back, and bad text gives a plain error."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shotwright.base.errors import BadInput
from shotwright.bench.spring_files import read_force_text, read_springs

LENGTHS = {"mm": 1e-3, "cm": 1e-2, "in": 0.0254}
FORCES = {"N": 1.0, "lbf": 4.4482216152605, "kg": 9.80665, "oz": 0.45359237 / 16 * 9.80665}
pairs = st.lists(st.tuples(st.floats(0, 200), st.floats(0.1, 500)), min_size=2, max_size=8)


@given(
    pairs, st.lists(st.tuples(st.floats(0, 200), st.floats(0.1, 500)), min_size=2, max_size=5),
    st.sampled_from(sorted(LENGTHS)), st.sampled_from(sorted(FORCES)), st.sampled_from([",", ";", "\t"]),
    st.booleans(),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_readings_come_back_in_si(
    there: list, back: list, length: str, force: str, sign: str, in_header: bool
) -> None:
    rows = [(*one, "loading") for one in there] + [(*one, "unloading") for one in back]
    if in_header:
        lines = [sign.join([f"Travel [{length}]", f"Force ({force})", "way"])]
        lines += [sign.join([f"{x:.6f}", f"{f:.6f}", way]) for x, f, way in rows]
    else:
        lines = [sign.join(["travel", "force", "way"])]
        lines += [sign.join([f"{x:.6f} {length}", f"{f:.6f} {force}", way]) for x, f, way in rows]
    read = read_force_text("\n".join(["# a remark", *lines, ""]))
    assert read.unloading is not None
    for branch, typed in ((read.loading, there), (read.unloading, back)):
        assert branch.travel == pytest.approx([round(x, 6) * LENGTHS[length] for x, _ in typed], rel=1e-9)
        assert branch.force == pytest.approx([round(f, 6) * FORCES[force] for _, f in typed], rel=1e-9)
    assert read.by_weight == (force in ("kg", "oz"))


@given(st.text(max_size=200) | st.text("0123456789.,;-mN travelforce[]\n\t", max_size=200))
@settings(max_examples=150, deadline=None)
def test_any_text_gives_readings_or_a_plain_error(text: str) -> None:
    try:
        read = read_force_text(text)
    except BadInput:
        return
    assert len(read.loading.travel) >= 2


@given(text=st.text(max_size=200) | st.text("0123456789.,;-mN namerate[]/\n\t", max_size=200))
@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_list_gives_springs_or_a_plain_error(text: str, tmp_path: Path) -> None:
    for name in ("box.csv", "box.toml"):
        file = tmp_path / name
        file.write_text(text, encoding="utf-8", errors="replace")
        try:
            springs = read_springs(file)
        except BadInput:
            continue
        assert all(one.rate > 0 for one in springs)


def test_a_coil_of_the_list_brings_its_rate_and_mass(tmp_path: Path) -> None:
    file = tmp_path / "box.csv"
    file.write_text(
        "name;wire [mm];outside [mm];turns;free_length [mm];kind;number\n"
        "soft;2.5;27.5;30;260;compression;3\n"
        "hook;2.5;27.5;30;120;extension;1\n",
        encoding="utf-8",
    )
    with pytest.raises(BadInput, match="most_deflection"):
        read_springs(file)  # how far the hooked one may be pulled only its owner knows
    text = file.read_text(encoding="utf-8").replace(";number\n", ";number;most_deflection [mm];tension [N]\n")
    file.write_text(text.replace(";3\n", ";3;;\n").replace(";1\n", ";1;150;8\n"), encoding="utf-8")
    soft, hook = read_springs(file)
    # k = G d^4/(8 D^3 n), n = 28 with squared ends and 30 with hooks; solid 75 mm, a tenth of 185 mm kept
    modulus = 11.85e6 * 6894.757293168361
    assert soft.rate == pytest.approx(modulus * 0.0025**4 / (8 * 0.025**3 * 28), rel=1e-12)
    assert hook.rate == pytest.approx(modulus * 0.0025**4 / (8 * 0.025**3 * 30), rel=1e-12)
    assert soft.most_deflection == pytest.approx(0.9 * 0.185)
    assert (hook.initial_tension, hook.most_deflection, soft.number) == (8.0, 0.15, 3)
    assert soft.mass == pytest.approx(7850 * 9.869604401 * 0.0025**2 * 0.025 * 30 / 4, rel=1e-9)
