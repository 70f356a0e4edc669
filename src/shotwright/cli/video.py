"""The verbs ``video`` and ``video-lens``: shots measured on a phone's clip."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from shotwright.base.errors import BadInput
from shotwright.cli.log import shot_words
from shotwright.cli.shell import find_project, json_option, progress_bar, show, text_width
from shotwright.cli.tables import paragraphs
from shotwright.cli.wording import Column, blocks, table_of

if TYPE_CHECKING:
    from shotwright.bench.video_lens import LensFile
    from shotwright.bench.video_results import VideoResult

SHOTS = (
    Column("shot", "number"),
    Column("frames", "frames"),
    Column("speed [m/s]", "speed"),
    Column("elevation [°]", "elevation"),
    Column("drag factor", "drag"),
    Column("lift coefficient", "lift"),
    Column("spin [rev/s]", "spin"),
    Column("gravity [m/s²]", "gravity"),
)
FILE = click.Path(path_type=Path)


@click.command()
@click.argument("clip", type=FILE)
@click.option("--marks", metavar="PIXELS", help='Two marks in the flight plane: "412,633 1051,640".')
@click.option("--distance", metavar="LENGTH", help="Their distance.")
@click.option("--stick", metavar="PIXELS", help="Top and bottom of a stick that hangs in the flight plane.")
@click.option("--stick-length", metavar="LENGTH", help="Its length.")
@click.option(
    "--point",
    "points",
    multiple=True,
    metavar="KNOWN",
    help='A known point, pixel and place along and up: "412,633 0.2m,0.1m"; four or more.',
)
@click.option("--plumb", metavar="PIXELS", help="Top and bottom of an upright line.")
@click.option("--level", metavar="PIXELS", help="Two points at one height.")
@click.option(
    "--vertical",
    type=click.Choice(["camera", "gravity"]),
    help="Without a line: the camera is level (when left out), or the flight's own fall tells.",
)
@click.option("--tap-sd", type=float, default=1.0, show_default=True, help="Error of a typed pixel. [px]")
@click.option("--lens", type=FILE, metavar="FILE", help="Lens file that video-lens wrote.")
@click.option("--frames", metavar="A-B", help="Only these frames, counted from 0: 120-260.")
@click.option("--filmed-at", type=float, metavar="RATE", help="Frames a second of slow motion saved slower.")
@click.option("--release", metavar="PIXEL", help="Where the ball leaves the launcher: 105,590.")
@click.option("--drag-factor", metavar="NUMBER", help="Factor on the drag law; fitted when left out.")
@click.option(
    "--spin-parameter", metavar="NUMBER", help="S = r omega / v; fitted from the lift when left out."
)
@click.option("--mark", type=click.Choice(["dot", "stripe"]), help="What is painted on the ball: its spin.")
@click.option("--spin-near", metavar="SPIN", help="Where the spin is expected, to choose among alike rates.")
@click.option("--readout", metavar="TIME", help="From a frame's first row to its last, of a rolling shutter.")
@click.option(
    "--move",
    "moved",
    multiple=True,
    metavar="FRAME=PIXEL",
    help="Put the ball: 57=640.5,211; 57= leaves it out.",
)
@click.option("--diameter", metavar="LENGTH", help="Of the ball; the project's when left out.")
@click.option("--mass", metavar="MASS", help="Of the ball; the project's when left out.")
@click.option("--drag", metavar="LAW", help="Drag coefficient as a number, or a law by name.")
@click.option("--svg", type=FILE, metavar="FILE", help="Write the residuals of the first shot as a picture.")
@click.option("--still", metavar="FRAME", type=click.IntRange(min=0), help="Only write this frame, see --to.")
@click.option("--to", type=FILE, metavar="FILE", help="JPEG file for --still.")
@click.option("--trial", metavar="NAME", help="Enter what was measured into this trial.")
@click.option(
    "--shot", type=click.IntRange(min=1), metavar="NUMBER", help="As this shot of it, and those after."
)
@click.option("--only", multiple=True, type=click.IntRange(min=1), metavar="NUMBER", help="Shot of the clip.")
@click.option("--replace", is_flag=True, help="Replace launch values that are there.")
@click.option(
    "--project",
    metavar="FILE",
    envvar="SHOTWRIGHT_PROJECT",
    type=FILE,
    help="Project file; the only one in this folder when left out, none with --diameter and --mass.",
)
@json_option
def video(
    clip: Path,
    marks: str | None,
    distance: str | None,
    stick: str | None,
    stick_length: str | None,
    points: tuple[str, ...],
    plumb: str | None,
    level: str | None,
    vertical: str | None,
    tap_sd: float,
    lens: Path | None,
    frames: str | None,
    filmed_at: float | None,
    release: str | None,
    drag_factor: str | None,
    spin_parameter: str | None,
    mark: str | None,
    spin_near: str | None,
    readout: str | None,
    moved: tuple[str, ...],
    diameter: str | None,
    mass: str | None,
    drag: str | None,
    svg: Path | None,
    still: int | None,
    to: Path | None,
    trial: str | None,
    shot: int | None,
    only: tuple[int, ...],
    replace: bool,
    project: Path | None,
    as_json: bool,
) -> None:
    """Measure the shots on a CLIP, filmed from the side: speed, elevation, drag, lift, spin.

    Pixels are x,y from the upper left corner of a frame; --still writes one to read them from.
    """
    from shotwright.bench.video_entry import enter_video
    from shotwright.bench.video_lens import write_still
    from shotwright.bench.video_scale import TypedScale
    from shotwright.bench.videos import TypedVideo, ball_on_film, measure_video

    if (still is None) != (to is None):
        raise BadInput("--still and --to belong together", field="still")
    if still is not None and to is not None:
        write_still(clip, still, to)
        click.echo(f"Wrote frame {still} to {to}.")
        return
    alone = project is None and trial is None and diameter is not None and mass is not None
    book = None if alone else find_project(project)
    first, last = _range(frames)
    scale = TypedScale(
        marks, distance, stick, stick_length, points, plumb, level, vertical or "", tap_sd, lens
    )
    typed = TypedVideo(
        first, last, filmed_at, release, drag_factor, spin_parameter, mark or "", spin_near, readout, moved
    )
    model = ball_on_film(book, diameter, mass, drag)
    with progress_bar("looking for the ball") as progress:
        found = measure_video(clip, model, scale, typed, progress=progress)
    if svg is not None:
        _write_first(found, svg)
    if trial is not None and book is not None:
        entered = enter_video(book, trial, found, shot=shot, only=only, replace=replace)
        if not as_json:
            click.echo(blocks(video_words(found), shot_words(entered)))
            return
    show(found, as_json, video_words)


def _range(text: str | None) -> tuple[int | None, int | None]:
    if text is None:
        return None, None
    first, dash, last = text.partition("-")
    if not dash or not first.strip().isdigit() or not last.strip().isdigit():
        raise BadInput(f"{text!r} is no range of frames; type e.g. 120-260", field="frames")
    return int(first), int(last)


def _write_first(found: VideoResult, svg: Path) -> None:
    from shotwright.bench.pictures import write_picture

    drawn = [shot.svg for shot in found.shots if shot.svg]
    if not drawn:
        raise BadInput("nothing was fitted, so there are no residuals to draw", field="svg")
    write_picture(drawn[0], svg)


def video_words(found: VideoResult) -> str:
    """Write the findings in sentences and the shots as a table."""
    from shotwright.bench.video_results import shot_rows

    return blocks(paragraphs(found.words, text_width()), table_of(shot_rows(found), SHOTS))


@click.command("video-lens")
@click.argument("clip", type=FILE)
@click.option("--board", required=True, metavar="COLUMNSxROWS", help="Inner corners of the board: 9x6.")
@click.option("--to", type=FILE, required=True, metavar="FILE", help="Lens file to write.")
@json_option
def video_lens(clip: Path, board: str, to: Path, as_json: bool) -> None:
    """Measure a phone's lens on a CLIP of a chessboard, held still and tilted, into the corners too."""
    from shotwright.bench.video_lens import measure_lens

    columns, times, rows = board.lower().replace("×", "x").partition("x")
    if not times or not columns.strip().isdigit() or not rows.strip().isdigit():
        raise BadInput(f"{board!r} is no board; type its inner corners as in 9x6", field="board")
    with progress_bar("looking for the board") as progress:
        found = measure_lens(clip, int(columns), int(rows), to, progress)
    show(found, as_json, lens_words)


def lens_words(found: LensFile) -> str:
    """Write what was found in sentences."""
    return paragraphs((*found.words, f"Wrote {found.file}; give it to video with --lens."), text_width())
