"""How both peer scripts read the county: vectors as arrays, rasters whole, roads to classes of spray salt."""

from pathlib import Path

import numpy as np
import pyogrio.raw
import rasterio
import shapely
from scipy import ndimage

from . import place
from .soils import DRAINAGE
from .tolerances import SALT_BY_DISTANCE, SALT_ENDS_M


def polygons(county: Path) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The soil polygons, the number of each one's drainage class (255: none) and its pH (not a number: none).

    pH stays in double precision: a soil of pH 7.3 lies exactly on a limit of 7.3.
    """
    _, _, shapes, fields = pyogrio.raw.read(county / "soils.gpkg", layer="soils", columns=["drain", "ph"])
    numbers = {name: number for number, name in enumerate(DRAINAGE)}
    drainage = np.array([numbers.get(word, 255) for word in fields[0]], dtype=np.uint8)
    return shapely.from_wkb(shapes), drainage, fields[1].astype(np.float64)


def raster(path: Path) -> np.ndarray:
    """All cells of a raster."""
    with rasterio.open(path, num_threads="ALL_CPUS") as file:
        return file.read(1)


def burned(shapes, values, fill, kind, shape) -> np.ndarray:
    """A raster of the values of shapes."""
    pairs = zip(shapes, values)
    return rasterio.features.rasterize(pairs, shape, fill=fill, transform=place.transform(), dtype=kind)


def salt_classes(county: Path, shape) -> np.ndarray:
    """Classes of spray salt by the distance from roads: an exact distance transform of the burned roads."""
    _, _, lines, _ = pyogrio.raw.read(county / "roads.gpkg", columns=[])
    roads = burned(shapely.from_wkb(lines), np.ones(len(lines)), 0, "uint8", shape)
    distance_m = ndimage.distance_transform_edt(roads == 0, sampling=place.CELL_M)
    return np.array(SALT_BY_DISTANCE, dtype=np.uint8)[np.digitize(distance_m, SALT_ENDS_M)]


def inside(county: Path, shape) -> np.ndarray:
    """1 where the boundary holds the centre."""
    _, _, areas, _ = pyogrio.raw.read(county / "boundary.gpkg", columns=[])
    return burned(shapely.from_wkb(areas), np.ones(len(areas)), 0, "uint8", shape)
