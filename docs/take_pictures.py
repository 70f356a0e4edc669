"""Take the README's pictures: each page of the workspace, wide and narrow, on the demo's project.

Run by ``make screenshots``. Needs Chromium; CHROMIUM names one that is not Debian's.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import threading
import time
from pathlib import Path

from playwright.sync_api import Page, sync_playwright

from shotwright.bench.demonstration import run_demo
from shotwright.web.pages import STATIONS
from shotwright.web.serve import Workspace

PICTURES = Path(__file__).parent / "pictures"
SIZES = {"desktop": {"width": 1280, "height": 900}, "phone": {"width": 390, "height": 844}}
READY = {
    "/field": "#window svg",
    "/range": "#floor .aim",
    "/drive": "#map svg",
    "/evidence": "#trials svg",
    "/parts": "#drawing svg",
    "/choice": "#hits svg",
    "/robot": "#power svg",
}
ARGUMENTS = ["--no-sandbox", "--disable-gpu", "--force-color-profile=srgb"]


def main() -> int:
    """Write one PNG for each page and size; return the exit code."""
    chromium = os.environ.get("CHROMIUM") or shutil.which("chromium")
    if not chromium:
        sys.exit("no Chromium: install Debian's package, or name one in CHROMIUM")
    PICTURES.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        made = run_demo(Path(folder) / "demo")
        project = next(Path(f) for f in made.files if f.endswith(".shotwright"))
        workspace = Workspace(project, remember_phones=False)
        thread = threading.Thread(target=workspace.run, daemon=True)
        thread.start()
        while not workspace.ready:
            time.sleep(0.05)
        with sync_playwright() as play:
            browser = play.chromium.launch(executable_path=chromium, args=ARGUMENTS)
            for size, viewport in SIZES.items():
                page = browser.new_context(viewport=viewport, has_touch=size == "phone").new_page()
                for station in STATIONS:
                    take(page, workspace.url, station.path, size)
            browser.close()
        workspace.stop()
        thread.join(10)
    return 0


def take(page: Page, home: str, path: str, size: str) -> None:
    """Take one page, once what it fetches is there."""
    page.goto(home + path)
    page.locator("#link[data-state=live]").wait_for()
    if path in READY:
        page.locator(READY[path]).first.wait_for(state="attached", timeout=180_000)
    page.wait_for_timeout(500)
    name = path.strip("/") or "start"
    page.screenshot(path=PICTURES / f"{name}-{size}.png")
    print(f"docs/pictures/{name}-{size}.png")


if __name__ == "__main__":
    sys.exit(main())
