"""The county's roads: long lines that follow the section lines of a land survey.

They run level or upright from cell centre to cell centre, so that the nearest point of a road is always the centre of
a cell. Only then is the distance transform of a raster, which the peer scripts use, exact as well, and recommended sets
can be compared on all cells.
"""

from pathlib import Path

import numpy as np
import pyogrio.raw
import shapely

from . import place

ROADS_AT_6000 = 74
LENGTH_IN_SIDES = 1.33
LEG_CELLS = (20, 61)


def write(folder: Path, side: int, seed: int) -> int:
    """Writes roads.gpkg, and gives the number of roads. Their length on a square kilometre is that of any size."""
    random = np.random.default_rng([seed, 12])
    count = max(2, round(ROADS_AT_6000 * side / 6000))
    roads = [shapely.LineString(place.centres(_road(side, random))) for _ in range(count)]
    pyogrio.raw.write(
        folder / "roads.gpkg",
        geometry=np.array(shapely.to_wkb(roads), dtype=object),
        field_data=[np.arange(count, dtype=np.int32)],
        fields=np.array(["number"]),
        layer="roads",
        driver="GPKG",
        geometry_type="LineString",
        crs=place.CRS,
    )
    return count


def _road(side: int, random: np.random.Generator) -> np.ndarray:
    """The corners of one road as (row, column): legs along its course and across it by turns."""
    at = random.integers(0, side, size=2)
    course = random.integers(0, 2)
    ahead = random.choice([-1, 1])
    corners, length, along = [at.copy()], 0, True
    while length < LENGTH_IN_SIDES * side:
        axis = course if along else 1 - course
        sign = ahead if along else random.choice([-1, 1])
        leg = int(random.integers(*LEG_CELLS))
        if not 0 <= at[axis] + sign * leg < side:
            sign = -sign
            ahead = sign if along else ahead
        at[axis] = np.clip(at[axis] + sign * leg, 0, side - 1)
        corners.append(at.copy())
        length += leg
        along = not along
    return np.array(corners)
