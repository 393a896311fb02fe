"""A made-up parcel: a meadow, a wood, a salted road and a small wet corner."""

from pathlib import Path

import numpy as np
import shapely

from program import CATALOGUE
from small_site import square, write_project, write_raster, write_vector

WIDE_M, HIGH_M = 400.0, 300.0
ROAD_Y = 12.0


def write_parcel(
    folder: Path,
    corner_ha: float = 0.15,
    road_soil: str = "Well drained",
    high_m: float = HIGH_M,
    seed: int = 5,
) -> Path:
    """Writes the parcel's layers and a project file with default zone settings.

    The road runs along the south edge; the wood takes the north; the wet corner lies in the meadow's
    north-west, clear of road and wood. `road_soil` is the drainage of all ground but the corner. A
    smaller `high_m` leaves only the verge along the road.
    """
    cell_m = 5.0
    folder.mkdir(parents=True, exist_ok=True)
    rng = np.random.default_rng(seed)
    site = square(0, 0, WIDE_M, HIGH_M)
    write_vector(folder / "boundary.gpkg", "boundary", [({"name": "parcel"}, square(0, 0, WIDE_M, high_m))])
    write_vector(folder / "soils.gpkg", "soils", [
        ({"drain": road_soil, "ph": 6.5}, site.difference(wet_corner(corner_ha))),
        ({"drain": "Very poorly drained", "ph": 6.5}, wet_corner(corner_ha)),
    ])  # fmt: skip
    road = shapely.LineString([(-50, ROAD_Y), (WIDE_M + 50, ROAD_Y)])
    write_vector(folder / "roads.gpkg", "roads", [({"class": "highway", "width_m": 8.0}, road)], "LineString")

    x, y = np.meshgrid(np.arange(cell_m / 2, WIDE_M, cell_m), np.arange(HIGH_M - cell_m / 2, 0, -cell_m))
    cover = np.where(in_wood(x, y), 86.0, 4.0) + rng.normal(0.0, 3.0, x.shape)
    write_raster(folder / "canopy.tif", np.clip(np.rint(cover), 0, 100).astype(np.uint8), cell_m, nodata=255)

    return write_project(folder, {
        "area": {"boundary": "boundary.gpkg", "grid_crs": "EPSG:26915", "cell_m": cell_m},
        "catalogue": {"folder": CATALOGUE},
        "factors": {
            "drainage": {"layer": "soils.gpkg", "attribute": "drain"},
            "ph": {"layer": "soils.gpkg", "attribute": "ph"},
            "canopy": {"layer": "canopy.tif"},
            "spray_salt": {
                "distance_to": "roads.gpkg",
                "reach_m": 100,
                "cuts": [
                    {"to": 12, "class": "severe"},
                    {"to": 20, "class": "heavy"},
                    {"to": 35, "class": "moderate"},
                    {"to": 100, "class": "slight"},
                    {"class": "none"},
                ],
            },
        },
        "exclude": [{"name": "pavement", "layer": "roads.gpkg", "width_attribute": "width_m"}],
        "outputs": {"folder": "out", "ratings": True},
    })  # fmt: skip


def wet_corner(area_ha: float):
    """A square in the west of the meadow, clear of the spray."""
    side = round((area_ha * 10_000.0) ** 0.5 / 5.0) * 5.0
    return square(10, 140, 10 + side, 140 + side)


def in_wood(x, y):
    """The wood in the north, with an uneven edge."""
    return y > 215 + 12 * np.sin(x / 40.0)
