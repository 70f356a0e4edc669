"""Parts: preview against 0.2 s; each file, the part made anew for it, against 2 s, also in a fresh process.

Processor time of the one thread that does the work: on an idle machine that is the time one waits.

python benchmarks/parts.py [--rounds 5]
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from functools import partial

PREVIEW, PART = 0.2, 2.0  # s; the limits
COLD = """
import sys
from shotwright.bench.part_files import part_bytes
from shotwright.bench.parts import make_part
for sheet in make_part(sys.argv[1], {}).sheets:
    part_bytes(sheet, sys.argv[2])
"""


def main() -> None:
    """Measure every kind of part with its defaults and print a table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--rounds", type=int, default=5)
    rounds = parser.parse_args().rounds
    from shotwright.bench.part_files import ENDINGS
    from shotwright.bench.part_kinds import KINDS
    from shotwright.bench.part_pages import view_part
    from shotwright.bench.parts import make_part

    print(f"medians of {rounds} rounds; limits: preview {PREVIEW} s, part {PART} s")
    columns = "part|preview|share|exact|DXF|SVG|PDF|STL|DXF, fresh process|share"
    print(f"| {' | '.join(columns.split('|'))} |")
    print("| --- " * 10 + "|")
    for kind in KINDS:
        for ending in ENDINGS:
            written(kind, ending)
        times: dict[str, list[float]] = {}
        for _ in range(rounds):
            timed(times, "preview", partial(view_part, kind, {}))
            timed(times, "exact", partial(make_part, kind, {}))
            for ending in ENDINGS:
                timed(times, ending, partial(written, kind, ending))
            before = os.times()
            subprocess.run([sys.executable, "-c", COLD, kind, ".dxf"], check=True)
            after = os.times()
            used = after.children_user - before.children_user + after.children_system - before.children_system
            times.setdefault("cold", []).append(used)
        middle = {name: statistics.median(values) for name, values in times.items()}
        cells = [f"{middle['preview']:.3f} s", f"{middle['preview'] / PREVIEW:.2f}"]
        cells += [f"{middle[name]:.3f} s" for name in ("exact", *ENDINGS, "cold")]
        print(f"| {kind} | {' | '.join(cells)} | {middle['cold'] / PART:.2f} |")


def written(kind: str, ending: str) -> list[bytes]:
    """Make a part and all its files of one form."""
    from shotwright.bench.part_files import part_bytes
    from shotwright.bench.parts import make_part

    return [part_bytes(sheet, ending) for sheet in make_part(kind, {}).sheets]


def timed(times: dict[str, list[float]], name: str, work: Callable[[], object]) -> None:
    """Run once and note the processor time it took."""
    start = time.process_time()
    work()
    times.setdefault(name, []).append(time.process_time() - start)


if __name__ == "__main__":
    main()
