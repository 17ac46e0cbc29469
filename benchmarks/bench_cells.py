"""Growing space of every plant of a simulated stand; peer: scipy.spatial.Voronoi and one shapely polygon a plant.

Same points, same run, one thread. 100,000 plants; EVENGROUND_BENCH_FULL=1 takes 500,000. The second row gives the peer
every advantage, all polygons made in one vectorised call; no target is set for it. No answer counts that differs by
more than 1e-9 on interior cells.
"""

from __future__ import annotations

import os
import statistics
import time
from collections.abc import Callable

import numpy as np
import shapely
from scipy.spatial import Voronoi

from evenground.basis.method import RowPattern
from evenground.numerics.growing_cells import cells_in_rectangle
from evenground.sowing.stand_simulation import SowingQuality, piece_for, simulate_stand, stand_cells

Row = dict[str, object]
TARGET_RATIO, TOLERANCE = 10.0, 1e-9


def timed(call: Callable[[], np.ndarray], repeats: int) -> tuple[float, np.ndarray]:
    """Median time [ms] and the answer."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        answer = call()
        times.append(1e3 * (time.perf_counter() - start))
    return statistics.median(times), answer


def one_by_one(points: np.ndarray) -> np.ndarray:
    """Area of every closed cell as a polygon, as one writes it down; NaN for open cells."""
    diagram = Voronoi(points)
    areas = np.full(len(points), np.nan)
    for i, region in enumerate(diagram.point_region):
        corners = diagram.regions[region]
        if corners and -1 not in corners:
            areas[i] = shapely.Polygon(diagram.vertices[corners]).area
    return areas


def all_at_once(points: np.ndarray) -> np.ndarray:
    """The same with all polygons made in one call."""
    diagram = Voronoi(points)
    closed = [i for i, r in enumerate(diagram.point_region) if diagram.regions[r] and -1 not in diagram.regions[r]]
    regions = [diagram.regions[diagram.point_region[i]] for i in closed]
    sizes = np.array([len(r) for r in regions])
    corners = diagram.vertices[np.concatenate(regions)]
    rings = shapely.linearrings(corners, indices=np.repeat(np.arange(len(sizes)), sizes))
    areas = np.full(len(points), np.nan)
    areas[closed] = shapely.area(shapely.polygons(rings))
    return areas


def run() -> list[Row]:
    """Return one row a measurement."""
    full = os.environ.get("EVENGROUND_BENCH_FULL") == "1"
    plants, repeats = (500_000, 1) if full else (100_000, 3)
    pattern, quality = RowPattern(kind="twin", twin_gap_m=0.22, staggered=True), SowingQuality()
    rows, length = piece_for(pattern, 8.5, plants, quality)
    stand = simulate_stand(pattern, 8.5, rows, length, quality, np.random.default_rng(1))
    points = stand.places_m
    stand_cells(stand)  # warm
    ours, mine = timed(lambda: stand_cells(stand).area, 5)
    inner = stand_cells(stand).interior
    out = []
    for name, peer, least in (("one by one", one_by_one, TARGET_RATIO), ("all in one call", all_at_once, 0.0)):
        theirs, areas = timed(lambda peer=peer: peer(points), repeats)
        worst = float(np.nanmax(np.abs(mine[inner] / areas[inner] - 1.0)))
        agree = bool(np.isfinite(areas[inner]).all()) and worst <= TOLERANCE
        ratio = theirs / ours
        wanted = f">= {least:g}x" if least else "none set"
        out.append(
            {
                "name": f"growing space, {len(points):,} plants; peer: polygons {name}",
                "ours_ms": ours,
                "peer_ms": theirs,
                "ratio": ratio,
                "target": f"{wanted}, same areas (worst {worst:.0e})" if agree else "areas differ",
                "reached": agree and ratio >= least,
            }
        )
    scattered = np.random.default_rng(2).random((plants, 2)) * [stand.width_m, stand.length_m]
    anywhere, _ = timed(lambda: cells_in_rectangle(scattered, stand.width_m, stand.length_m).area, 3)
    return [*out, {"name": f"cells of {plants:,} points anywhere", "ours_ms": anywhere, "target": "none set"}]
