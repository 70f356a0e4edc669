"""Statuses of a great many other flights, at every accuracy offered, against tiny steps."""

from __future__ import annotations

import numpy as np

from anchors.workload import Case, check, draw
from anchors.workload import Ends as Found
from shotwright.flight.crossing import COARSE, FINE

SEED = 2024
PART = 50_000
_GRAZING = 1e-9  # m; an apex this near the plane is listed apart


def lines(cases: list[Case], flights: int) -> list[str]:
    """One line for each case and accuracy."""
    written = []
    for case in cases:
        wrong, apart, worst = dict.fromkeys((COARSE, FINE), 0), 0, dict.fromkeys((COARSE, FINE), 0.0)
        launches = draw(flights, SEED)
        for first in range(0, flights, PART):
            part = type(launches)(
                launches.velocity[first : first + PART], launches.spin[first : first + PART]
            )
            exact = case.fly(part, FINE, 1e-12)
            grazing = np.abs(exact.apex_height - case.point[2]) < _GRAZING if case.normal[2] else False
            for accuracy in (COARSE, FINE):
                found = case.fly(part, accuracy)
                differs = found.status != exact.status
                wrong[accuracy] += int((differs & ~np.asarray(grazing)).sum())
                apart += int((differs & grazing).sum())
                compared = check(case, Found(found.status, found.time, found.position), exact)
                worst[accuracy] = max(worst[accuracy], compared.scaled_error)
        written += [
            f"{case.name}, {accuracy:g} m: {wrong[accuracy]} of {flights:,} statuses wrong, "
            f"largest error x v_n/v {worst[accuracy]:.1e} m, grazing and wrong {apart}"
            for accuracy in (COARSE, FINE)
        ]
    return written
