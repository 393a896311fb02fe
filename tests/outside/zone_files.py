"""Reads the files of a run with libraries that are not the program's."""

import json
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyogrio
import pyproj
import rasterio
import rasterio.features
import shapely

NUMBER_IN_PAIR = re.compile(r"-?\d+(?:\.(\d+))?(?:[eE][-+]?\d+)?")


@dataclass
class Zones:
    """Zones of one file, sorted by their number."""

    numbers: np.ndarray
    area_ha: np.ndarray
    shapes: np.ndarray
    crs: pyproj.CRS


def geojson(folder: Path) -> dict:
    """zones.geojson as it stands."""
    return json.loads((folder / "zones.geojson").read_text(encoding="utf-8"))


def coordinate_decimals(folder: Path) -> set[int]:
    """How many decimals the coordinates of zones.geojson have."""
    document = json.loads(
        (folder / "zones.geojson").read_text(encoding="utf-8"), parse_float=str, parse_int=str
    )
    found = set()

    def walk(node):
        if isinstance(node, list):
            for item in node:
                walk(item)
        else:
            found.add(len(NUMBER_IN_PAIR.fullmatch(node).group(1) or ""))

    for feature in document["features"]:
        walk(feature["geometry"]["coordinates"])
    return found


def zones_of_geojson(folder: Path) -> Zones:
    """The zones in longitude and latitude."""
    features = sorted(geojson(folder)["features"], key=lambda feature: feature["properties"]["zone"])
    return Zones(
        np.array([feature["properties"]["zone"] for feature in features]),
        np.array([feature["properties"]["area_ha"] for feature in features]),
        np.array(
            [shapely.from_geojson(json.dumps(feature["geometry"])) for feature in features], dtype=object
        ),
        pyproj.CRS("OGC:CRS84"),
    )


def zones_of_gpkg(folder: Path) -> Zones:
    """The zones in the grid's CRS."""
    meta, _, shapes, fields = pyogrio.raw.read(folder / "zones.gpkg", layer="zones")
    column = dict(zip(meta["fields"], fields, strict=True))
    order = np.argsort(column["zone"])
    return Zones(
        column["zone"][order],
        column["area_ha"][order],
        shapely.from_wkb(shapes)[order],
        pyproj.CRS(meta["crs"]),
    )


def zone_species_rows(folder: Path) -> dict[str, np.ndarray]:
    """The related table of zones.gpkg, by column."""
    meta, _, _, fields = pyogrio.raw.read(folder / "zones.gpkg", layer="zone_species", read_geometry=False)
    return dict(zip(meta["fields"], fields, strict=True))


def run_record(folder: Path) -> dict:
    """run.json."""
    return json.loads((folder / "run.json").read_text(encoding="utf-8"))


def polygons(shapes) -> np.ndarray:
    """The single polygons of all shapes."""
    return shapely.get_parts(shapes)


def all_points(shapes) -> np.ndarray:
    """Every vertex, row by row."""
    return shapely.get_coordinates(shapes)


def geodesic_ha(zones: Zones, step_m: float) -> np.ndarray:
    """Geodesic areas: edges are cut into steps first, because they are straight in the grid's CRS."""
    geod = zones.crs.get_geod()
    to_lon_lat = pyproj.Transformer.from_crs(zones.crs, zones.crs.geodetic_crs, always_xy=True)

    def area_of(shape):
        fine = shapely.segmentize(shape, step_m)
        lon_lat = shapely.transform(
            fine, lambda xy: np.column_stack(to_lon_lat.transform(xy[:, 0], xy[:, 1]))
        )
        return sum(
            abs(geod.geometry_area_perimeter(part)[0])
            for part in shapely.get_parts(shapely.orient_polygons(lon_lat))
        )

    return np.array([area_of(shape) for shape in zones.shapes]) / 10_000.0


def burnt(zones: Zones, like: Path) -> np.ndarray:
    """The number of the zone that holds each cell's centre, 0 outside, on the grid of a raster."""
    with rasterio.open(like) as file:
        return rasterio.features.rasterize(
            zip(zones.shapes, zones.numbers, strict=True),
            out_shape=(file.height, file.width),
            transform=file.transform,
            fill=0,
            dtype="int32",
        )


@dataclass
class Ratings:
    """ratings.tif: bytes of all species, rows x columns each, and their names."""

    names: list[str]
    bytes: np.ndarray
    corner: rasterio.Affine
    crs: str

    @property
    def known(self) -> np.ndarray:
        return self.bytes != 255

    def suits(self, at_least: float) -> np.ndarray:
        return self.known & (self.bytes >= round(at_least * 200))


def ratings(folder: Path) -> Ratings:
    """The ratings of every species in every cell."""
    with rasterio.open(folder / "ratings.tif") as file:
        assert set(file.dtypes) == {"uint8"} and set(file.nodatavals) == {255.0}
        assert np.allclose(file.scales, 0.005), f"scales are {set(file.scales)}"
        names = [species_ids(folder).get(name, name) for name in file.descriptions]
        return Ratings(names, file.read(), file.transform, file.crs.to_string())


def species_ids(folder: Path) -> dict[str, str]:
    """Ids by scientific name, as the related table has them."""
    rows = zone_species_rows(folder)
    return dict(zip(rows["scientific_name"], rows["species_id"], strict=True))
