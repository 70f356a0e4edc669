"""How soon the field page shows what a shot needs while a firing position is dragged, in a real Chromium.

Prints the time from a movement of the pointer to the drawn answer, median and 95th percentile, beside what
one answer costs without browser and server, and beside the limit of 100 ms.

    python benchmarks/drag_latency.py [MOVES]
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import tempfile
import threading
import time
from importlib import resources
from pathlib import Path

from playwright.sync_api import sync_playwright

from shotwright.bench.field import Moved, look
from shotwright.bench.projects import create_project, import_into
from shotwright.web.serve import Workspace

LIMIT_MS = 100.0


def project_in(folder: Path) -> Path:
    yard = resources.files("shotwright.bench") / "yard"
    for name in ("game.toml", "prototypes.toml"):
        (folder / name).write_text((yard / name).read_text(encoding="utf-8"), encoding="utf-8")
    file = folder / "drag.shotwright"
    create_project(file, game=folder / "game.toml")
    import_into(file, folder / "prototypes.toml")
    return file


def bare(project: Path, moves: int) -> list[float]:
    """Milliseconds of one answer, called as a function."""
    took = []
    for k in range(moves + 3):
        start = time.perf_counter()
        look(project, "rail", "lantern", moved=Moved("position", "rail", 4.5 + 0.01 * k, 0.4))
        took.append(1e3 * (time.perf_counter() - start))
    return took[3:]


def dragged(project: Path, moves: int) -> list[float]:
    """Milliseconds from the pointer's movement to the drawn answer, as the page measures them."""
    workspace = Workspace(project, remember_phones=False)
    thread = threading.Thread(target=workspace.run, daemon=True)
    thread.start()
    while not workspace.ready:
        time.sleep(0.02)
    with sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=os.environ.get("CHROMIUM") or shutil.which("chromium"),
            args=["--no-sandbox", "--disable-gpu"],
        )
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.goto(workspace.url + "/field")
        page.locator("#window svg").wait_for(timeout=60_000)
        page.evaluate(
            "() => { window.looks = []; document.getElementById('field')"
            ".addEventListener('looked', event => window.looks.push(event.detail)); }"
        )
        box = page.locator('[data-item="position rail"] .grip').bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        for k in range(moves):
            page.mouse.move(x + k, y - 0.5 * k)
            page.wait_for_timeout(150)
        page.mouse.up()
        page.wait_for_timeout(500)
        looks = [float(v) for v in page.evaluate("() => window.looks")]
        browser.close()
    workspace.stop()
    thread.join(10)
    return looks[2:]


def main() -> None:
    moves = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    with tempfile.TemporaryDirectory() as folder:
        project = project_in(Path(folder))
        alone, seen = bare(project, moves), dragged(project, moves)
    for name, took in (("function alone", alone), ("pointer to drawn answer", seen)):
        p95 = statistics.quantiles(took, n=20)[-1]
        print(
            f"{name:26s} median {statistics.median(took):6.1f} ms   95th percentile {p95:6.1f} ms"
            f"   {p95 / LIMIT_MS:5.2f} of the limit   ({len(took)} answers)"
        )


if __name__ == "__main__":
    main()
