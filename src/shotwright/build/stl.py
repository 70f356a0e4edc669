"""A drawing as a solid for a printer: binary STL, millimetres."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from shotwright.base.errors import BadInput
from shotwright.build.outline import Drawing, Loop, pieces_of

_RECORD = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])


def stl_bytes(drawing: Drawing) -> bytes:
    """Write a drawing as a plate of its material's thickness, lying on z = 0.

    Parameters
    ----------
    drawing : Drawing
        Checked. A kerf has no place in a print: leave it out.

    Returns
    -------
    bytes
        Binary STL; by custom its unit is the millimetre. The same drawing gives the same bytes.

    Raises
    ------
    BadInput
        A material without thickness.
    """
    thickness = 1000 * drawing.title.thickness_m
    if not thickness > 0:
        raise BadInput(f"{thickness:g} mm is no thickness; it must be greater than 0", field="thickness")
    faces = np.concatenate([_prism(outer, holes, thickness) for outer, holes in pieces_of(drawing)])
    record = np.zeros(len(faces), dtype=_RECORD)
    record["corners"] = faces
    normal = np.cross(faces[:, 1] - faces[:, 0], faces[:, 2] - faces[:, 0])
    length = np.linalg.norm(normal, axis=1, keepdims=True)
    record["normal"] = normal / np.where(length > 0, length, 1.0)
    name = f"part, mm: {drawing.title.part}".encode("ascii", "replace")[:80].ljust(80)
    return name + np.uint32(len(faces)).tobytes() + record.tobytes()


def _prism(outer: Loop, holes: tuple[Loop, ...], thickness: float) -> NDArray[np.float64]:
    """Triangles of one piece, seen anticlockwise from outside; shape (n, 3, 3). [mm]"""
    import shapely

    rings = [outer.turned(True).points, *(hole.turned(False).points for hole in holes)]
    rings = [1000 * ring for ring in rings]
    corners = np.concatenate(rings)
    found = shapely.constrained_delaunay_triangles(shapely.Polygon(rings[0], rings[1:]))
    places = shapely.get_coordinates(found).reshape(-1, 4, 2)[:, :3].reshape(-1, 2)
    number = {place: k for k, place in enumerate(map(tuple, corners.tolist()))}
    cap = np.array([number[place] for place in map(tuple, places.tolist())]).reshape(-1, 3)
    a, b, c = (corners[cap[:, k]] for k in range(3))
    turn = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    cap = np.where((turn < 0)[:, None], cap[:, ::-1], cap)
    low = np.column_stack([corners, np.zeros(len(corners))])
    high = np.column_stack([corners, np.full(len(corners), thickness)])
    # Walls stand on the edges of the cap that belong to one triangle only, so that cap and walls always meet.
    edges = np.concatenate([cap[:, [0, 1]], cap[:, [1, 2]], cap[:, [2, 0]]])
    count = len(corners)
    back = np.isin(edges[:, 0] * count + edges[:, 1], edges[:, 1] * count + edges[:, 0])
    start, end = edges[~back].T
    walls = [
        np.stack([low[start], low[end], high[end]], axis=1),
        np.stack([low[start], high[end], high[start]], axis=1),
    ]
    return np.concatenate([low[cap[:, ::-1]], high[cap], *walls])
