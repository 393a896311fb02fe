"""The county's soil polygons: a jittered lattice whose wiggly edges neighbours share point for point."""

from pathlib import Path

import numpy as np
import pyogrio.raw
import shapely

from . import place

POLYGONS_AT_6000 = 20_000
EDGE_PIECES = 16
DRAINAGE = [
    "excessively drained",
    "somewhat excessively drained",
    "well drained",
    "moderately well drained",
    "somewhat poorly drained",
    "poorly drained",
    "very poorly drained",
]
SHARES = [0.05, 0.10, 0.30, 0.20, 0.15, 0.12, 0.08]
WITHOUT_VALUE = 0.02


def write(folder: Path, side: int, seed: int) -> int:
    """Writes soils.gpkg with drainage words and pH, and gives the number of polygons."""
    random = np.random.default_rng([seed, 11])
    across = max(3, round((POLYGONS_AT_6000 ** 0.5) * side / 6000))
    polygons = _polygons(side, across, random)
    if not shapely.is_valid(polygons).all():
        raise RuntimeError(f"a soil polygon of seed {seed} is not valid, another seed is needed")
    count = len(polygons)
    drainage = np.array(DRAINAGE, dtype=object)[random.choice(len(DRAINAGE), size=count, p=SHARES)]
    ph = np.round(random.uniform(4.5, 8.0, size=count), 1)
    missing = [random.random(count) < WITHOUT_VALUE for _ in range(2)]
    pyogrio.raw.write(
        folder / "soils.gpkg",
        geometry=np.array(shapely.to_wkb(polygons), dtype=object),
        field_data=[drainage, ph],
        field_mask=missing,
        fields=np.array(["drain", "ph"]),
        layer="soils",
        driver="GPKG",
        geometry_type="Polygon",
        crs=place.CRS,
    )
    return count


def _polygons(side: int, across: int, random: np.random.Generator) -> np.ndarray:
    step = side * place.CELL_M / across
    lattice = np.stack(np.meshgrid(np.arange(across + 1), np.arange(across + 1)), axis=-1) * step
    lattice[:, 1:-1, 0] += random.uniform(-0.25, 0.25, (across + 1, across - 1)) * step
    lattice[1:-1, :, 1] += random.uniform(-0.25, 0.25, (across - 1, across + 1)) * step
    level = _wiggled(lattice[:, :-1], lattice[:, 1:], random)
    upright = _wiggled(lattice[:-1], lattice[1:], random)
    # The county's own edge stays straight.
    for end in (0, -1):
        level[end, :, :, 1] = lattice[end, 0, 1]
        upright[:, end, :, 0] = lattice[0, end, 0]
    rings = np.concatenate(
        [
            level[:-1, :, :-1],
            upright[:, 1:, :-1],
            level[1:, :, :0:-1],
            upright[:, :-1, ::-1],
        ],
        axis=2,
    ).reshape(across * across, -1, 2)
    return shapely.polygons(rings * [1, -1] + [place.WEST, place.NORTH])


def _wiggled(starts: np.ndarray, ends: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Edges with all their points: midpoints are moved sideways, those of halves by about half as much."""
    points = np.empty((*starts.shape[:-1], EDGE_PIECES + 1, 2))
    points[..., 0, :], points[..., -1, :] = starts, ends
    along = ends - starts
    sideways = np.stack([-along[..., 1], along[..., 0]], axis=-1)
    step, reach = EDGE_PIECES, 0.07
    while step > 1:
        for middle in range(step // 2, EDGE_PIECES, step):
            halfway = (points[..., middle - step // 2, :] + points[..., middle + step // 2, :]) / 2
            points[..., middle, :] = halfway + sideways * random.uniform(-reach, reach, (*starts.shape[:-1], 1))
        step, reach = step // 2, reach * 0.45
    return points
