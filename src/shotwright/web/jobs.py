"""Long work: runs beside the pages, tells how far it is, can be cancelled, keeps its result for a while."""

from __future__ import annotations

import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from shotwright.base.errors import Cancelled, ShotwrightError
from shotwright.base.progress import Progress

MOST_KEPT = 20


@dataclass(slots=True)
class Job:
    """One piece of long work.

    Parameters
    ----------
    title : str
        What it does, for the person.
    name : str
        By which pages ask for it.
    fraction : float
        Done so far, 0 to 1.
    step : str
        What it is doing.
    state : str
        ``"running"``, ``"done"``, ``"cancelled"`` or ``"failed"``.
    result : object
        What the work returned.
    message : str
        Why it failed.
    """

    title: str
    name: str = field(default_factory=lambda: secrets.token_urlsafe(9))
    fraction: float = 0.0
    step: str = ""
    state: str = "running"
    result: Any = None
    message: str = ""
    stop: threading.Event = field(default_factory=threading.Event)

    def to_dict(self) -> dict[str, Any]:
        """What a page needs to draw the bar."""
        return {
            "name": self.name,
            "title": self.title,
            "fraction": round(self.fraction, 4),
            "step": self.step,
            "state": self.state,
            "message": self.message,
        }


class Jobs:
    """All long work of this server; one job runs at a time, so that logging a shot never waits for a core."""

    def __init__(self) -> None:
        self._jobs: dict[str, Job] = {}
        self._turn = threading.Lock()
        self._book = threading.Lock()

    def start(self, title: str, work: Callable[[Progress], Any]) -> Job:
        """Start `work` in a thread of its own; it is given a progress function that raises when cancelled."""
        job = Job(title)
        with self._book:
            self._jobs[job.name] = job
            finished = [name for name, j in self._jobs.items() if j.state != "running"]
            for name in finished[: max(0, len(self._jobs) - MOST_KEPT)]:
                del self._jobs[name]
        threading.Thread(target=self._run, args=(job, work), daemon=True, name=f"job {job.name}").start()
        return job

    def find(self, name: str) -> Job | None:
        """Return a job by its name."""
        return self._jobs.get(name)

    def running(self, title: str) -> list[Job]:
        """Return the jobs of that title which have not ended."""
        return [job for job in tuple(self._jobs.values()) if job.title == title and job.state == "running"]

    def cancel(self, name: str) -> None:
        """Ask a job to stop at its next report."""
        job = self._jobs.get(name)
        if job is not None:
            job.stop.set()

    def cancel_all(self) -> None:
        """Ask everything to stop, and wait a moment for it."""
        for job in tuple(self._jobs.values()):
            job.stop.set()
        deadline = time.monotonic() + 1.0
        while any(j.state == "running" for j in self._jobs.values()) and time.monotonic() < deadline:
            time.sleep(0.02)

    def _run(self, job: Job, work: Callable[[Progress], Any]) -> None:
        def report(fraction: float, what: str = "") -> None:
            if job.stop.is_set():
                raise Cancelled("stopped")
            job.fraction = min(max(fraction, job.fraction), 1.0)
            job.step = what or job.step

        with self._turn:
            try:
                report(0.0)
                job.result = work(report)
                job.fraction, job.state = 1.0, "done"
            except Cancelled:
                job.state = "cancelled"
            except ShotwrightError as wrong:
                job.message, job.state = str(wrong), "failed"
            except BaseException:
                job.message, job.state = (
                    "something broke inside; the server's window has the details",
                    "failed",
                )
                raise
