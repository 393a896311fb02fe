"""Writes small project folders for the checks: layers, project file, catalogue.

Sites lie in EPSG:26915 with their south-west corner at 430000, 4980000.
"""

import tomllib
from pathlib import Path

import numpy as np
import pyogrio
import rasterio
import shapely
from rasterio.transform import from_origin

from program import CATALOGUE, SAMPLE

CRS = "EPSG:26915"
EAST_M, NORTH_M = 430_000.0, 4_980_000.0


def toml_value(value) -> str:
    """A Python value as TOML writes it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (str, Path)):
        return '"' + str(value).replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(map(toml_value, value)) + "]"
    if isinstance(value, dict):
        return (
            "{ " + ", ".join(f"{toml_value(key)} = {toml_value(item)}" for key, item in value.items()) + " }"
        )
    return repr(value)


def toml_text(project: dict) -> str:
    """A project as text: tables for sections and factors, inline tables below."""
    lines = []

    def table(head, content):
        lines.append(head)
        lines.extend(f"{key} = {toml_value(value)}" for key, value in content.items())
        lines.append("")

    # Keys of the file itself must stand before its first table.
    for key, value in project.items():
        if not isinstance(value, (dict, list)):
            lines.append(f"{key} = {toml_value(value)}")
    for section, content in project.items():
        if not isinstance(content, (dict, list)):
            continue
        if section == "factors":
            for factor, keys in content.items():
                table(f"[factors.{factor}]", keys)
        elif isinstance(content, list):
            for keys in content:
                table(f"[[{section}]]", keys)
        else:
            table(f"[{section}]", content)
    return "\n".join(lines)


def write_project(folder: Path, project: dict) -> Path:
    """Writes a project file and gives its path."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "project.toml"
    path.write_text(toml_text(project), encoding="utf-8")
    return path


def edited_sample(folder: Path, zones: dict | None = None, area: dict | None = None) -> Path:
    """The project of the sample site with other zone or area settings, in another folder."""
    project = tomllib.loads((SAMPLE / "project.toml").read_text(encoding="utf-8"))
    project["zones"].update(zones or {})
    project["area"].update(area or {})
    project["outputs"]["folder"] = "out"
    project = with_files_of_the_sample(project)
    project["catalogue"]["folder"] = CATALOGUE
    return write_project(folder, project)


def with_files_of_the_sample(value):
    """The same settings with every name of a file of the sample as its whole path."""
    if isinstance(value, dict):
        return {key: with_files_of_the_sample(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [with_files_of_the_sample(inner) for inner in value]
    return SAMPLE / value if isinstance(value, str) and (SAMPLE / value).is_file() else value


def square(west, south, east, north):
    """A rectangle in local metres."""
    return shapely.box(west, south, east, north)


def placed(shape):
    """A local shape in the CRS of the sites."""
    return shapely.transform(shape, lambda xy: xy + (EAST_M, NORTH_M))


def write_vector(
    path: Path, layer: str, rows: list[tuple[dict, shapely.Geometry]], kind="Polygon", crs=CRS, append=False
):
    """Features with their fields as a layer of a file; the local shapes are put in place."""
    shapes = np.array([placed(shape) for _, shape in rows], dtype=object)
    return write_features(path, layer, [fields for fields, _ in rows], shapes, kind, crs, append)


def write_features(path, layer, fields, shapes, kind="Polygon", crs=CRS, append=False):
    """Features in map coordinates with their fields."""
    names = list(fields[0])
    is_text = {name: any(isinstance(row[name], str) for row in fields) for name in names}
    columns = [
        np.array([row[name] for row in fields], dtype=object)
        if is_text[name]
        else np.array([np.nan if row[name] is None else row[name] for row in fields], dtype=float)
        for name in names
    ]
    driver = {".gpkg": "GPKG", ".geojson": "GeoJSON", ".shp": "ESRI Shapefile"}[path.suffix]
    pyogrio.raw.write(
        path,
        shapely.to_wkb(shapes),
        columns,
        names,
        layer=layer,
        driver=driver,
        crs=crs,
        geometry_type=kind,
        append=append,
    )
    return path


def write_raster(path: Path, values, cell_m: float, nodata, west=0.0, north=None, crs=CRS):
    """One band; `north` is the local height of the upper edge (the lower edge at 0 unless given)."""
    values = np.asarray(values)
    north = values.shape[0] * cell_m if north is None else north
    corner = from_origin(EAST_M + west, NORTH_M + north, cell_m, cell_m)
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        dtype=values.dtype.name,
        count=1,
        height=values.shape[0],
        width=values.shape[1],
        crs=crs,
        transform=corner,
        nodata=nodata,
    ) as file:
        file.write(values, 1)
    return path
