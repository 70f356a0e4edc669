"""Start the server: addresses, sockets, browser."""

from __future__ import annotations

import contextlib
import socket
import threading
import webbrowser
from collections.abc import Callable
from pathlib import Path

import uvicorn

from shotwright.base.errors import BadInput, ProjectProblem
from shotwright.bench.projects import create_project
from shotwright.bench.workbook import opened
from shotwright.web.pages import PAGES, STATIONS
from shotwright.web.site import Site, application

LOOPBACK = "127.0.0.1"
# An address set aside for documentation: asking for the way to it sends nothing.
NOWHERE = "192.0.2.1"


class Workspace:
    """A server that is ready to run.

    Parameters
    ----------
    project : Path
        The project file; made when it is not there.
    port : int
        Port on the laptop; 0 takes any that is free.
    network : bool
        Let phones on the same network reach it.
    network_host : str, optional
        The laptop's address on that network; found by itself when left out.
    remember_phones : bool
        Keep the list of phones over a restart.
    """

    def __init__(
        self,
        project: Path,
        *,
        port: int = 0,
        network: bool = False,
        network_host: str | None = None,
        remember_phones: bool = True,
    ) -> None:
        if not project.exists():
            create_project(project)
        self.sockets = [_bound(LOOPBACK, port)]
        port = self.sockets[0].getsockname()[1]
        hosts = [f"{LOOPBACK}:{port}", f"localhost:{port}"]
        reached = None
        if network:
            address = network_host or own_address()
            self.sockets.append(_bound(address, port))
            reached = f"{address}:{port}"
            hosts.append(reached)
        self.url = f"http://{LOOPBACK}:{port}"
        self.site = Site(project, network=reached, remember_phones=remember_phones)
        self.site.stations = STATIONS
        routes = [r for page in PAGES for r in page]
        self._server = uvicorn.Server(
            uvicorn.Config(
                application(self.site, hosts, LOOPBACK, routes),
                log_level="warning",
                proxy_headers=False,
                server_header=False,
                ws_ping_interval=10,
                timeout_graceful_shutdown=2,
                lifespan="on",
            )
        )

    def run(self, when_ready: Callable[[], None] | None = None) -> None:
        """Serve until stopped."""
        if when_ready is not None:
            threading.Thread(target=self._announce, args=(when_ready,), daemon=True).start()
        # One connection stays open, so that the journal is not folded up after every single page.
        with contextlib.ExitStack() as held:
            with contextlib.suppress(ProjectProblem):
                held.enter_context(opened(self.site.project))
            self._server.run(sockets=self.sockets)

    def stop(self) -> None:
        """Ask the server to end."""
        self._server.should_exit = True

    @property
    def ready(self) -> bool:
        """Whether it answers."""
        return bool(self._server.started)

    def _announce(self, when_ready: Callable[[], None]) -> None:
        pause = threading.Event()
        for _ in range(400):
            if self.ready:
                when_ready()
                return
            pause.wait(0.025)


def _bound(host: str, port: int) -> socket.socket:
    # Named by its protocol, an answer is sent at once; else each waits 40 ms for the other side.
    taken = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    taken.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        taken.bind((host, port))
    except OSError as reason:
        taken.close()
        raise BadInput(
            f"{host}:{port} can't be used ({reason.strerror}); is the workspace open already? "
            "Give another port with --port",
            field="port",
        ) from reason
    return taken


def own_address() -> str:
    """Return the laptop's address on the network it is on; no packet is sent.

    Raises
    ------
    BadInput
        It is on no network.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect((NOWHERE, 9))
            return str(asked.getsockname()[0])
        except OSError as reason:
            raise BadInput(
                "this laptop is on no network; join the workshop's Wi-Fi or a phone's hotspot first",
                field="network",
            ) from reason


def open_browser(url: str) -> None:
    """Show the workspace in the person's browser, where there is one."""
    with contextlib.suppress(webbrowser.Error):
        webbrowser.open(url)
