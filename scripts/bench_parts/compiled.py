"""The compiled peer: what an expert writes, with parallel compiled kernels for the rating and for the patches.

    python -m bench_parts.compiled COUNTY FOLDER [--sets]

Every factor but slope becomes a table of scores of all species, soil tables by polygon. Compiling is not timed.
GeoJSON is in longitude and latitude with seven decimals, as groundfit's.
"""

import argparse
import itertools
import json
from pathlib import Path

import numpy as np
import pyproj
import rasterio
import rasterio.features
import shapely

from . import kernels, layers, place
from .clock import Clock, hand_over, hand_over_sets
from .tolerances import Tolerance, along, read

NO_DRAINAGE = 7
BATCH = 50_000


def main() -> None:
    arguments = argparse.ArgumentParser()
    arguments.add_argument("county", type=Path)
    arguments.add_argument("folder", type=Path)
    arguments.add_argument("--sets", action="store_true")
    chosen = arguments.parse_args()
    county, folder = chosen.county, chosen.folder
    kernels.compile_all()

    clock = Clock()
    species = read(county)
    shapes, drainage_of, ph_of = layers.polygons(county)
    canopy = layers.raster(county / "canopy.tif")
    elevation = layers.raster(county / "elevation.tif")
    clock.lap("reading layers")
    inside = layers.inside(county, canopy.shape)
    soil = layers.burned(shapes, np.arange(1, len(shapes) + 1), 0, "int32", canopy.shape)
    clock.lap("burning soils")
    salt = layers.salt_classes(county, canopy.shape)
    clock.lap("distance from roads")
    tables = Tables(species, drainage_of, ph_of)
    suits, unknown, class_cells = kernels.rate(
        inside, soil, canopy, salt, elevation, float(place.CELL_M), *tables.all()
    )
    clock.lap("slope and rating")
    labels, firsts, sizes = kernels.patches(suits, unknown)
    clock.lap("patches")
    polygons = write_polygons(folder / "zones.geojson", labels, firsts, sizes, suits, unknown, species)
    clock.lap("polygons and GeoJSON")

    hand_over(folder, clock, polygons, class_cells)
    if chosen.sets:
        hand_over_sets(folder, suits, unknown)


class Tables:
    """Scores of all species by soil polygon, canopy and salt, and which species are unknown there."""

    def __init__(self, species: list[Tolerance], drainage_of: np.ndarray, ph_of: np.ndarray):
        ground = np.where(drainage_of == 255, NO_DRAINAGE, drainage_of)
        # Soil polygon 0 is no polygon: nothing is known there.
        self.ground = np.append(NO_DRAINAGE, ground).astype(np.uint8)
        ph = np.append(np.nan, ph_of)
        by_drainage = np.stack([np.append(one.drainage, np.nan)[self.ground] for one in species], axis=1)
        by_ph = np.stack([along(one.ph, ph) for one in species], axis=1)
        self.soil_lacks = _sets(np.isnan(by_drainage) | np.isnan(by_ph))
        self.soil_scores = np.fmin(np.fmin(by_drainage, by_ph), 1.0)
        self.canopy_scores = np.stack([along(one.canopy, np.arange(256)) for one in species], axis=1)
        by_salt = np.stack([one.salt for one in species], axis=2)
        self.salt_lacks = _sets(np.isnan(by_salt))
        self.salt_scores = np.fmin(by_salt, 1.0)
        steep = [(number, one.slope) for number, one in enumerate(species) if one.slope is not None]
        self.with_slope = np.array([number for number, _ in steep], dtype=np.int64)
        longest = max((len(values) for _, (values, _) in steep), default=1)
        self.slope_curves = np.zeros((len(steep), 2, longest))
        for row, (_, (values, scores)) in enumerate(steep):
            # A curve is flat beyond its last point.
            self.slope_curves[row, 0] = np.append(values, np.full(longest - len(values), np.inf))
            self.slope_curves[row, 1] = np.append(scores, np.full(longest - len(scores), scores[-1]))

    def all(self) -> tuple:
        """In the order in which the kernel takes them."""
        return (
            self.ground,
            self.soil_scores,
            self.soil_lacks,
            self.canopy_scores,
            self.salt_scores,
            self.salt_lacks,
            self.with_slope,
            self.slope_curves,
        )


def _sets(lacks: np.ndarray) -> np.ndarray:
    """The species, along the last axis, that are unknown, as bits of one word."""
    bits = np.uint64(1) << np.arange(lacks.shape[-1], dtype=np.uint64)
    return np.where(lacks, bits, np.uint64(0)).sum(axis=-1, dtype=np.uint64)


def write_polygons(path: Path, labels, firsts, sizes, suits, unknown, species: list[Tolerance]) -> int:
    """Writes each patch with names and area, and gives how many there are."""
    nothing = (1 << len(species)) - 1
    sets = suits.ravel()[firsts].tolist()
    rated = (unknown.ravel()[firsts] != np.uint64(nothing)).tolist()
    cell_ha = place.CELL_M**2 / 10_000
    names: dict[int, str] = {}
    to_degrees = pyproj.Transformer.from_crs(place.CRS, "EPSG:4326", always_xy=True)
    polygons = 0
    with path.open("w", buffering=1 << 20) as out:
        out.write('{"type":"FeatureCollection","features":[')
        shapes = rasterio.features.shapes(labels, connectivity=4, transform=place.transform())
        rated_shapes = ((geometry, int(label)) for geometry, label in shapes if rated[int(label)])
        while batch := list(itertools.islice(rated_shapes, BATCH)):
            outlines = polygons_of([geometry["coordinates"] for geometry, _ in batch])
            x, y = to_degrees.transform(*shapely.get_coordinates(outlines).T)
            outlines = shapely.set_coordinates(outlines, np.round(np.stack([x, y], axis=1), 7))
            for text, (_, patch) in zip(shapely.to_geojson(outlines), batch):
                held = sets[patch]
                if held not in names:
                    names[held] = json.dumps([s.name for bit, s in enumerate(species) if held >> bit & 1])
                out.write(
                    f'{"," if polygons else ""}\n{{"type":"Feature","properties":{{"area_ha":{sizes[patch] * cell_ha:.4f},'
                    f'"recommended":{names[held]}}},"geometry":{text}}}'
                )
                polygons += 1
        out.write("\n]}\n")
    return polygons


def polygons_of(outlines: list) -> np.ndarray:
    """Polygons of lists of rings, all at once."""
    rings = [ring for outline in outlines for ring in outline]
    lengths = [len(ring) for ring in rings]
    points = np.array([point for ring in rings for point in ring])
    lines = shapely.linearrings(points, indices=np.repeat(np.arange(len(rings)), lengths))
    return shapely.polygons(lines, indices=np.repeat(np.arange(len(outlines)), [len(rings) for rings in outlines]))


if __name__ == "__main__":
    main()
