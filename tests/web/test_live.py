"""What was computed holds for as long as the project holds the same, however its file is tidied."""

from __future__ import annotations

import sqlite3
from pathlib import Path

from shotwright.bench.workbook import opened
from shotwright.trials.records import Prototype
from shotwright.web.live import Live


def test_housekeeping_of_the_file_is_no_change(yard: Path) -> None:
    live = Live(yard)
    before, traces = live.mark(), {yard.stat().st_mtime_ns}
    with opened(yard):
        # Opened for writing by somebody who then writes nothing: the file is put in order all the same.
        assert live.mark() == before
    connection = sqlite3.connect(yard)
    connection.execute("vacuum")
    connection.close()
    traces.add(yard.stat().st_mtime_ns)
    assert len(traces) == 2
    assert live.mark() == before


def test_a_change_from_elsewhere_is_seen(yard: Path) -> None:
    live = Live(yard)
    before = live.mark()
    with opened(yard) as file:
        file.put_prototypes([Prototype("another")])
        assert live.mark() != before


def test_a_project_that_is_gone_is_a_change(yard: Path) -> None:
    live = Live(yard)
    before = live.mark()
    yard.unlink()
    assert live.mark() != before
