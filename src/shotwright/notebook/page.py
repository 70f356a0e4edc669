"""The notebook as one HTML file that needs nothing but itself."""

from __future__ import annotations

import base64
from importlib.resources import files
from typing import Any

from jinja2 import Environment, PackageLoader

from shotwright.notebook.blocks import Picture
from shotwright.notebook.book import sections
from shotwright.notebook.content import NotebookContent
from shotwright.notebook.drawing import clean
from shotwright.notebook.layout import laid_out
from shotwright.notebook.palette import DARK, LIGHT
from shotwright.notebook.wording import day, unbroken

WIDE, NARROW = 640.0, 328.0  # px: figures for a desk and for print, and for a phone of 360 px


def write_html(content: NotebookContent) -> str:
    """Write the notebook as one self-contained HTML file.

    Style, figures and fonts are in the file; no script, no address is loaded. Each figure is drawn twice, for
    a desk and for a phone, so that its lettering is never scaled.

    Parameters
    ----------
    content : NotebookContent
        Everything to be printed.

    Returns
    -------
    str
        The page, UTF-8 text.
    """
    environment = Environment(loader=PackageLoader("shotwright.notebook"), autoescape=True)
    environment.finalize = _printable
    page = environment.get_template("page.html.jinja").render(
        title=f"{content.project_name}: engineering notebook",
        project=content.project_name,
        game=content.game.name,
        date=day(content.made_on),
        version=content.version,
        simulated=content.simulated,
        sections=laid_out(sections(content), _draw_twice),
        style=_style(),
    )
    return page + "\n"


def _printable(value: Any) -> Any:
    """Keep control characters of foreign text out of the page."""
    return unbroken(clean(value)) if isinstance(value, str) and not hasattr(value, "__html__") else value


def _draw_twice(picture: Picture) -> dict[str, Any]:
    return {
        "wide": picture.draw(f"{picture.key}-wide", WIDE).svg(),
        "narrow": picture.draw(f"{picture.key}-narrow", NARROW).svg(),
    }


def _style() -> str:
    room = files("shotwright.notebook")
    faces = []
    for name, weight in (("Regular", 400), ("Bold", 700)):
        data = base64.b64encode((room / "fonts" / f"OpenSans-{name}-latin.woff2").read_bytes()).decode(
            "ascii"
        )
        faces.append(
            f'@font-face{{font-family:"Open Sans";font-weight:{weight};font-display:swap;'
            f'src:url(data:font/woff2;base64,{data}) format("woff2")}}'
        )
    colours = [
        f".f-{name}{{fill:light-dark({LIGHT[name]},{DARK[name]})}}"
        f".l-{name}{{stroke:light-dark({LIGHT[name]},{DARK[name]})}}"
        for name in LIGHT
    ]
    sheet = (room / "templates" / "page.css").read_text(encoding="utf-8")
    return "\n".join([*faces, sheet, *colours])
