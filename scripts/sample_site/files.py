"""Writes the layers: each in a format, CRS and cell size of its own."""

import json
import os
from pathlib import Path

import numpy as np
import pyogrio
import pyproj
import rasterio
import shapely
from rasterio.transform import from_origin
from shapely import to_wkb

from . import canopy, land, lines, regions, soils, survey

GRID_CRS = "EPSG:26915"
CANOPY_CRS = "EPSG:5070"
# Where local 0, 0 lies. The coordinates are plausible; nothing there is as drawn here.
EAST_M = 431_000.0
NORTH_M = 4_987_000.0
ELEVATION_CELL_M = 10.0
CANOPY_CELL_M = 8.0
MARGIN_M = 60.0
# GeoPackages carry a date; this one keeps the bytes the same on every run.
WRITTEN_ON = "2024-01-01T00:00:00.000Z"


def write_all(folder: Path, seed: int) -> list[Path]:
    """Writes every layer and gives their paths."""
    folder.mkdir(parents=True, exist_ok=True)
    os.environ["OGR_CURRENT_DATE"] = WRITTEN_ON
    pyogrio.set_gdal_config_options({"OGR_CURRENT_DATE": WRITTEN_ON})
    return [
        write_elevation(folder / "elevation.tif", seed),
        write_canopy(folder / "canopy.tif", seed),
        write_soils(folder / "soils.gpkg"),
        write_survey(folder / "survey.gpkg"),
        write_water(folder / "water.gpkg"),
        write_roads(folder / "roads.geojson"),
        write_boundary(folder / "boundary.geojson"),
        write_counties(folder / "counties.geojson"),
        write_records(folder / "records.geojson"),
    ]


def write_elevation(path: Path, seed: int) -> Path:
    """Elevation in metres, in the grid's CRS."""
    cell = ELEVATION_CELL_M
    columns = round((land.WIDTH_M + 2 * MARGIN_M) / cell)
    rows = round((land.HEIGHT_M + 2 * MARGIN_M) / cell)
    x = -MARGIN_M + (np.arange(columns) + 0.5) * cell
    y = land.HEIGHT_M + MARGIN_M - (np.arange(rows) + 0.5) * cell
    metres = land.elevation_m(*np.meshgrid(x, y), seed)
    # Centimetres: the last bits of sines differ between processors.
    metres = np.round(metres, 2).astype(np.float32)
    corner = from_origin(EAST_M - MARGIN_M, NORTH_M + land.HEIGHT_M + MARGIN_M, cell, cell)
    write_raster(path, metres, corner, GRID_CRS, nodata=-9999.0, unit="metre", name="elevation")
    return path


def write_canopy(path: Path, seed: int) -> Path:
    """Canopy cover in per cent, in a CRS and cell size that are not the grid's."""
    cell = CANOPY_CELL_M
    there = pyproj.Transformer.from_crs(GRID_CRS, CANOPY_CRS, always_xy=True)
    back = pyproj.Transformer.from_crs(CANOPY_CRS, GRID_CRS, always_xy=True)
    left, bottom, right, top = there.transform_bounds(
        EAST_M - MARGIN_M,
        NORTH_M - MARGIN_M,
        EAST_M + land.WIDTH_M + MARGIN_M,
        NORTH_M + land.HEIGHT_M + MARGIN_M,
        densify_pts=21,
    )
    left, bottom = np.floor(left / cell) * cell, np.floor(bottom / cell) * cell
    right, top = np.ceil(right / cell) * cell, np.ceil(top / cell) * cell
    columns, rows = round((right - left) / cell), round((top - bottom) / cell)
    x, y = np.meshgrid(left + (np.arange(columns) + 0.5) * cell, top - (np.arange(rows) + 0.5) * cell)
    east, north = back.transform(x, y)
    percent = canopy.noisy_pct(np.round(east, 3) - EAST_M, np.round(north, 3) - NORTH_M, seed)
    write_raster(
        path,
        percent,
        from_origin(left, top, cell, cell),
        CANOPY_CRS,
        nodata=255,
        unit="percent",
        name="canopy cover",
    )
    return path


def write_raster(path, values, corner, crs, nodata, unit, name):
    """One band, with nodata, unit and name."""
    shape = {"height": values.shape[0], "width": values.shape[1], "count": 1}
    predictor = 3 if values.dtype == np.float32 else 2
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        dtype=values.dtype.name,
        crs=crs,
        transform=corner,
        nodata=nodata,
        compress="deflate",
        predictor=predictor,
        zlevel=9,
        **shape,
    ) as file:
        file.write(values, 1)
        file.units = [unit]
        file.descriptions = [name]


def write_soils(path: Path) -> Path:
    """The soil map with the words of a survey and codes of its own."""
    rows = soils.soil_map()
    units = [unit for unit, _ in rows]
    columns = {
        "unit": [unit.code for unit in units],
        "unit_name": [unit.name for unit in units],
        "drain_class": [unit.drainage for unit in units],
        "texture_code": [unit.texture for unit in units],
        "flood_code": [unit.flooding for unit in units],
        "ph_water": [np.nan if unit.ph is None else unit.ph for unit in units],
    }
    write_layer(path, "soils", [placed(shape) for _, shape in rows], columns, "Polygon")
    return path


def write_survey(path: Path) -> Path:
    """The soil map as a survey publishes it: polygons, and tables of soils and horizons."""
    shapes, columns = survey.polygons()
    write_layer(path, "mupolygon", [placed(shape) for shape in shapes], columns, "Polygon")
    for name, columns in survey.tables().items():
        # Keys and words are text, all else numbers; nothing is no number.
        data = [
            np.array(cells, dtype=object)
            if any(isinstance(cell, str) for cell in cells)
            else np.array([np.nan if cell is None else cell for cell in cells], dtype=float)
            for cells in columns.values()
        ]
        pyogrio.raw.write(
            path,
            geometry=None,
            field_data=data,
            fields=list(columns),
            layer=name,
            driver="GPKG",
            geometry_type=None,
            crs=None,
            append=True,
        )
    return path


def write_water(path: Path) -> Path:
    """Creek and pond, two layers of one file."""
    write_layer(
        path, "creek", [placed(lines.creek())], {"name": ["Quillfen Creek"], "width_m": [4.0]}, "LineString"
    )
    write_layer(path, "pond", [placed(lines.pond())], {"name": ["the pond"]}, "Polygon", append=True)
    return path


def write_layer(path, layer, shapes, columns, kind, append=False):
    """One layer of a GeoPackage in the grid's CRS."""
    if not append:
        path.unlink(missing_ok=True)
    fields = list(columns)
    data = [
        np.array(columns[field], dtype=object if isinstance(columns[field][0], str) else float)
        for field in fields
    ]
    pyogrio.raw.write(
        path,
        geometry=to_wkb(np.array(shapes, dtype=object)),
        field_data=data,
        fields=fields,
        layer=layer,
        driver="GPKG",
        crs=GRID_CRS,
        geometry_type=kind,
        append=append,
    )


def write_roads(path: Path) -> Path:
    """Roads of two classes in longitude and latitude; what is spread on a kilometre of lane is in kilograms."""
    highway = {"name": "the highway", "class": "highway", "lanes": 2, "speed_kmh": 90.0, "salt_kg_lane_km": 9000.0}
    lane = {"name": "Fen Lane", "class": "local", "lanes": 2, "speed_kmh": 40.0, "salt_kg_lane_km": 0.0}
    highway["width_m"], lane["width_m"] = 12.0, 6.0
    return write_geojson(path, "roads", [(highway, lines.highway()), (lane, lines.lane())])


def write_boundary(path: Path) -> Path:
    """The site's boundary in longitude and latitude."""
    return write_geojson(path, "boundary", [({"name": "Quillfen Bend (invented)"}, lines.boundary())])


def write_counties(path: Path) -> Path:
    """Counties by key, in longitude and latitude."""
    rows = [({"county": key, "name": name}, shape) for key, name, shape in regions.counties()]
    return write_geojson(path, "counties", rows)


def write_records(path: Path) -> Path:
    """Records of plants, in longitude and latitude."""
    return write_geojson(path, "records", [({"species": name}, place) for name, place in regions.records()])


def write_geojson(path, name, rows):
    """Features by RFC 7946: longitude and latitude, 7 decimals, no crs member."""
    to_lon_lat = pyproj.Transformer.from_crs(GRID_CRS, "EPSG:4326", always_xy=True)
    features = []
    for properties, shape in rows:
        lon_lat = shapely.transform(
            placed(shape), lambda xy: np.column_stack(to_lon_lat.transform(xy[:, 0], xy[:, 1])).round(7)
        )
        if lon_lat.geom_type == "Polygon":
            lon_lat = shapely.orient_polygons(lon_lat)
        features.append(
            {"type": "Feature", "properties": properties, "geometry": json.loads(shapely.to_geojson(lon_lat))}
        )
    body = ",\n".join(json.dumps(feature) for feature in features)
    path.write_text(
        f'{{"type": "FeatureCollection", "name": "{name}", "features": [\n{body}\n]}}\n', encoding="utf-8"
    )
    return path


def placed(shape):
    """A local shape in the grid's CRS, to the centimetre."""
    return shapely.transform(shape, lambda xy: np.round(xy + (EAST_M, NORTH_M), 2))
