"""A workspace that really serves, and a browser that really looks."""

from __future__ import annotations

import contextlib
import http.client
import os
import shutil
import threading
import time
import urllib.parse
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from shotwright.bench.projects import create_project, import_into
from shotwright.web.serve import Workspace

YARD = Path(__file__).parents[2] / "src" / "shotwright" / "bench" / "yard"

# Also a loopback address, but not the one that the laptop comes in by: a phone, as far as the gate can tell.
PHONE_HOST = "127.0.0.2"
# Patience for a busy machine; what must be quick says so in its own test.
expect.set_options(timeout=20_000)
CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture
def serve(tmp_path: Path) -> Iterator[Callable[..., Workspace]]:
    """Start workspaces; all are stopped at the end."""
    started: list[tuple[Workspace, threading.Thread]] = []

    def start(project: Path | None = None, *, network: bool = False) -> Workspace:
        workspace = Workspace(
            project or tmp_path / "crew.shotwright",
            network=network,
            network_host=PHONE_HOST if network else None,
            remember_phones=False,
        )
        thread = threading.Thread(target=workspace.run, daemon=True)
        thread.start()
        deadline = time.monotonic() + 20
        while not workspace.ready:
            assert time.monotonic() < deadline, "the server did not start"
            time.sleep(0.02)
        started.append((workspace, thread))
        return workspace

    yield start
    for workspace, thread in started:
        workspace.stop()
        thread.join(10)
        assert not thread.is_alive(), "the server did not end"


def make_yard(folder: Path) -> Path:
    """Make a project with an invented game and simulated marks, seven for each of three prototypes."""
    project = folder / "yard.shotwright"
    create_project(project, name="Yard (simulated)", game=YARD / "game.toml")
    import_into(project, YARD / "prototypes.toml")
    import_into(project, YARD / "trials.toml")
    import_into(project, YARD / "drive.toml")
    rng = np.random.default_rng(8)
    rows = ["trial,shot,ball,along (m),left (m)"]
    for trial, reach, sd in (
        ("hood at 56", 5.2, 0.13),
        ("twin at 55", 5.5, 0.2),
        ("piston at 52", 5.3, 0.12),
    ):
        rows += [
            f"{trial},{k + 1},{k % 3 + 1},{reach + sd * rng.normal():.3f},{0.6 * sd * rng.normal():.3f}"
            for k in range(7)
        ]
    table = folder / "shots.csv"
    table.write_text("\n".join(rows), encoding="utf-8")
    report = import_into(project, table)
    assert report.new_shots == 21
    return project


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A project of its own, with shots."""
    return make_yard(tmp_path)


@pytest.fixture(scope="module")
def yard_site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """One workspace with shots for a whole file of tests that only look; its address."""
    project = make_yard(tmp_path_factory.mktemp("yard"))
    import_into(project, YARD / "robot.toml")
    workspace = Workspace(project, remember_phones=False)
    thread = threading.Thread(target=workspace.run, daemon=True)
    thread.start()
    while not workspace.ready:
        time.sleep(0.02)
    yield workspace.url
    workspace.stop()
    thread.join(10)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests."""
    if CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("no Chromium; install Debian's package or name one in CHROMIUM")
        pytest.skip("no Chromium on this machine; CHROMIUM can name one")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=ARGUMENTS)
        yield browser
        browser.close()


@pytest.fixture
def send() -> Callable[..., tuple[int, str, dict[str, str]]]:
    """Post a form to a workspace as its own page would, without a browser."""

    def post(url: str, path: str, fields: dict[str, str]) -> tuple[int, str, dict[str, str]]:
        connection = http.client.HTTPConnection(url.removeprefix("http://"), timeout=60)
        headers = {"Origin": url, "Content-Type": "application/x-www-form-urlencoded"}
        try:
            connection.request("POST", path, urllib.parse.urlencode(fields), headers)
            answer = connection.getresponse()
            return answer.status, answer.read().decode(), dict(answer.getheaders())
        finally:
            connection.close()

    return post


class Visitor:
    """A page that notes what a careful person would: errors, and requests to anywhere else.

    Parameters
    ----------
    context : BrowserContext
        Cookies and window of its own.
    home : str
        The address it starts from.
    """

    def __init__(self, context: BrowserContext, home: str) -> None:
        self.context = context
        self.page: Page = context.new_page()
        self.home = home
        self.complaints: list[str] = []
        self.page.on("pageerror", lambda error: self.complaints.append(f"error: {error}"))
        self.page.on(
            "console",
            lambda said: self.complaints.append(said.text) if said.type in {"error", "warning"} else None,
        )
        self.page.on(
            "request",
            lambda asked: (
                None
                if asked.url.startswith((self.home, "data:", "blob:"))
                else self.complaints.append(f"left the house: {asked.url}")
            ),
        )

    def go(self, path: str = "/") -> Page:
        """Open a page of the workspace."""
        self.page.goto(self.home + path)
        return self.page


@pytest.fixture
def visit(browser: Browser) -> Iterator[Callable[..., Visitor]]:
    """Open windows; at the end none may have complained."""
    visitors: list[Visitor] = []

    def open_window(home: str, *, phone: bool = False, dark: bool = False, silent: bool = False) -> Visitor:
        context = browser.new_context(
            viewport={"width": 390, "height": 844} if phone else {"width": 1280, "height": 850},
            has_touch=phone,
            color_scheme="dark" if dark else "light",
        )
        context.set_default_timeout(15_000)
        visitor = Visitor(context, home)
        if not silent:
            visitors.append(visitor)
        else:
            loose.append(visitor)
        return visitor

    loose: list[Visitor] = []
    yield open_window
    for visitor in [*visitors, *loose]:
        with contextlib.suppress(Exception):
            visitor.context.close()
    assert [c for v in visitors for c in v.complaints] == []
