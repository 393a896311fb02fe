"""The plain peer: what a GIS analyst writes with rasterio, numpy and scipy.

    python -m bench_parts.plain COUNTY FOLDER [--sets]

Rates the county as groundfit does before any vote, and writes each patch of one set as a polygon with names and area.
GeoJSON is in longitude and latitude with seven decimals, as groundfit's.
"""

import argparse
import itertools
import json
from pathlib import Path

import numpy as np
import rasterio
import rasterio.features
import rasterio.warp
import shapely.geometry

from . import layers, place
from .clock import Clock, hand_over, hand_over_sets
from .tolerances import CLASS_LIMITS, WANTED, Tolerance, along, read

ROWS = 256
NO_DRAINAGE = 7
BATCH = 10_000


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("county", type=Path)
    arguments.add_argument("folder", type=Path)
    arguments.add_argument("--sets", action="store_true")
    chosen = arguments.parse_args()
    county, folder = chosen.county, chosen.folder

    clock = Clock()
    species = read(county)
    shapes, drainage_of, ph_of = layers.polygons(county)
    canopy = layers.raster(county / "canopy.tif")
    elevation = layers.raster(county / "elevation.tif")
    clock.lap("reading layers")
    inside = layers.inside(county, canopy.shape)
    with_drainage, with_ph = drainage_of != 255, ~np.isnan(ph_of)
    drainage = layers.burned(shapes[with_drainage], drainage_of[with_drainage], NO_DRAINAGE, "uint8", canopy.shape)
    ph = layers.burned(shapes[with_ph], ph_of[with_ph], np.nan, "float64", canopy.shape)
    clock.lap("burning soils")
    salt = layers.salt_classes(county, canopy.shape)
    clock.lap("distance from roads")
    slope = slope_pct(elevation)
    clock.lap("slope")
    suits, unknown, class_cells = rate(species, inside, drainage, ph, canopy, salt, slope)
    clock.lap("rating")
    numbers, sets = numbered(suits, unknown)
    clock.lap("numbering sets")
    polygons = write_polygons(folder / "zones.geojson", numbers, sets, species)
    clock.lap("polygons and GeoJSON")

    hand_over(folder, clock, polygons, class_cells)
    if chosen.sets:
        hand_over_sets(folder, suits, unknown)


def slope_pct(elevation: np.ndarray) -> np.ndarray:
    """Slope after Horn 1981 in per cent; not a number on the outermost cells, which lack a neighbour."""
    slope = np.full(elevation.shape, np.nan, dtype=np.float32)
    for first in range(1, elevation.shape[0] - 1, ROWS):
        end = min(first + ROWS, elevation.shape[0] - 1)
        z = elevation[first - 1 : end + 1].astype(np.float64)
        up, level, down = z[:-2], z[1:-1], z[2:]
        east = (up[:, 2:] + 2 * level[:, 2:] + down[:, 2:]) - (up[:, :-2] + 2 * level[:, :-2] + down[:, :-2])
        south = (down[:, :-2] + 2 * down[:, 1:-1] + down[:, 2:]) - (up[:, :-2] + 2 * up[:, 1:-1] + up[:, 2:])
        east, south = east / (8.0 * place.CELL_M), south / (8.0 * place.CELL_M)
        slope[first:end, 1:-1] = 100.0 * np.sqrt(east * east + south * south)
    return slope


def rate(species: list[Tolerance], inside, drainage, ph, canopy, salt, slope):
    """The sets of each cell and, for each species, its cells by class (N, S3, S2, S1)."""
    suits = np.zeros(canopy.shape, dtype=np.uint64)
    unknown = np.zeros(canopy.shape, dtype=np.uint64)
    class_cells = np.zeros((len(species), len(CLASS_LIMITS) + 1), dtype=np.int64)
    for first in range(0, canopy.shape[0], ROWS):
        block = slice(first, first + ROWS)
        for number, tolerance in enumerate(species):
            scores = [
                np.append(tolerance.drainage, np.nan)[drainage[block]],
                along(tolerance.ph, ph[block]),
                along(tolerance.canopy, canopy[block]),
                tolerance.salt[drainage[block], salt[block]],
            ]
            steepness = tolerance.slope_scores(slope[block])
            if steepness is not None:
                scores.append(steepness)
            lowest = scores[0]
            lacks = np.isnan(scores[0])
            for score in scores[1:]:
                lowest = np.fmin(lowest, score)
                lacks |= np.isnan(score)
            # One known factor below the wanted class settles it, whatever lacks.
            is_unknown = (lacks & ~(lowest < WANTED)) | (inside[block] == 0)
            classes = np.digitize(lowest, CLASS_LIMITS)
            class_cells[number] += np.bincount(classes[~is_unknown], minlength=4)
            bit = np.uint64(number)
            suits[block] |= ((classes >= 2) & ~is_unknown).astype(np.uint64) << bit
            unknown[block] |= is_unknown.astype(np.uint64) << bit
    return suits, unknown, class_cells


def numbered(suits: np.ndarray, unknown: np.ndarray) -> tuple[np.ndarray, list[tuple[int, int]]]:
    """A raster with a number for each distinct pair of sets, and the pairs."""
    numbers = np.empty(suits.shape, dtype=np.int32)
    known: dict[tuple[int, int], int] = {}
    for first in range(0, suits.shape[0], ROWS):
        some, lack = suits[first : first + ROWS], unknown[first : first + ROWS]
        mixed = some ^ (lack * np.uint64(0x9E3779B97F4A7C15))
        _, cells, inverse = np.unique(mixed, return_index=True, return_inverse=True)
        pairs = list(zip(some.ravel()[cells].tolist(), lack.ravel()[cells].tolist()))
        assert (some.ravel()[cells][inverse.ravel()] == some.ravel()).all(), "two pairs of sets fell together"
        here = np.array([known.setdefault(pair, len(known)) for pair in pairs], dtype=np.int32)
        numbers[first : first + ROWS] = here[inverse].reshape(some.shape)
    return numbers, list(known)


def write_polygons(path: Path, numbers: np.ndarray, sets: list[tuple[int, int]], species: list[Tolerance]) -> int:
    """Writes each 4-connected patch of one set, and gives how many there are."""
    nothing = (1 << len(species)) - 1
    names = [[s.name for bit, s in enumerate(species) if suits >> bit & 1] for suits, _ in sets]
    rated = np.array([unknown != nothing for _, unknown in sets])[numbers]
    polygons = 0
    with path.open("w") as out:
        out.write('{"type":"FeatureCollection","features":[')
        patches = rasterio.features.shapes(numbers, mask=rated, connectivity=4, transform=place.transform())
        while batch := list(itertools.islice(patches, BATCH)):
            geometries = rasterio.warp.transform_geom(
                place.CRS, "EPSG:4326", [geometry for geometry, _ in batch], precision=7
            )
            for (on_map, number), geometry in zip(batch, geometries):
                area_ha = shapely.geometry.shape(on_map).area / 10_000
                properties = {"area_ha": area_ha, "recommended": names[int(number)]}
                feature = {"type": "Feature", "properties": properties, "geometry": geometry}
                out.write((",\n" if polygons else "\n") + json.dumps(feature))
                polygons += 1
        out.write("\n]}\n")
    return polygons


if __name__ == "__main__":
    main()
