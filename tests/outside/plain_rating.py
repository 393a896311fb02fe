"""A second, plain reading of a project: layers, catalogue and rule, cell by cell with numpy.

Shares no code with the program. Knows the rule `limiting` and what the sample site and the checks use:
polygon attributes, a measured raster, slope from elevation, classes cut from a distance, road salt (in
plain_road_salt.py).

Methods: slope after Horn, Hill shading and the reflectance map, 1981; threshold and slope after Maas and
Hoffman, Crop salt tolerance: current assessment, 1977.
"""

import csv
import json
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pyogrio
import pyproj
import rasterio
import rasterio.warp
import shapely

import plain_road_salt as salt

DRAINAGE = [
    "excessively drained",
    "somewhat excessively drained",
    "well drained",
    "moderately well drained",
    "somewhat poorly drained",
    "poorly drained",
    "very poorly drained",
]
FREQUENCY = ["none", "very rare", "rare", "occasional", "frequent", "very frequent"]
SPRAY = ["none", "slight", "moderate", "heavy", "severe"]
CLASSES = {"drainage": DRAINAGE, "flooding": FREQUENCY, "ponding": FREQUENCY, "spray_salt": SPRAY}
DECISIVE = {"moisture", "drainage", "ph", "soil_salinity", "spray_salt", "canopy", "sun_hours"}
WANTED_S2 = 0.60


@dataclass
class Cells:
    """The centres of a grid's cells, rows x columns, in its CRS."""

    corner: rasterio.Affine
    rows: int
    columns: int
    crs: str

    @property
    def centres(self):
        column, row = np.meshgrid(np.arange(self.columns) + 0.5, np.arange(self.rows) + 0.5)
        return self.corner @ (column, row)

    @property
    def cell_m(self) -> float:
        return self.corner.a


@dataclass
class Plain:
    """States and ratings of every species, species x rows x columns."""

    names: list[str]
    suits: np.ndarray
    unknown: np.ndarray
    rating: np.ndarray
    factors: dict[str, np.ndarray]
    rated: np.ndarray


def rate(project_file: Path, cells: Cells) -> Plain:
    """Rates every cell of a grid."""
    project = tomllib.loads(project_file.read_text(encoding="utf-8"))
    folder = project_file.parent
    sections = project["factors"]
    salted = {name for name, keys in sections.items() if keys.get("from") == "road_salt"}
    read = {name: factor_values(folder, name, keys, cells) for name, keys in sections.items() if name not in salted}
    if salted:
        read |= road_salt(folder, project["road_salt"], salted, cells, read)
    factors = {name: read[name] for name in sections}
    rated = inside_boundary(folder, project["area"], cells)
    for keys in project.get("exclude", []):
        rated &= ~excluded(folder, keys, cells)

    names, tolerances = catalogue(folder / project["catalogue"]["folder"])
    shape = (len(names), cells.rows, cells.columns)
    rating, missing = np.ones(shape), np.zeros(shape, dtype=bool)
    for index, name in enumerate(names):
        for factor, values in factors.items():
            score, lacks = factor_score(tolerances.get((name, factor), []), factor, values, factors)
            rating[index] = np.where(np.isnan(score), rating[index], np.minimum(rating[index], score))
            missing[index] |= lacks
    below = rating < WANTED_S2
    unknown = (missing & ~below) | ~rated
    suits = ~below & ~unknown
    return Plain(names, suits, unknown, rating, factors, rated)


# --- catalogue ---------------------------------------------------------------


def catalogue(folder: Path):
    """Species ids in order, and for each species and factor its responses with their conditions."""
    with open(folder / "species.csv", encoding="utf-8", newline="") as file:
        names = [row["id"] for row in csv.DictReader(file)]
    tolerances = {}
    with open(folder / "tolerances.csv", encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            key = (row["species"], row["factor"])
            tolerances.setdefault(key, []).append((condition(row["given"]), row["response"]))
    return names, tolerances


def condition(text: str):
    """A factor and the values of it under which a response holds, or None."""
    if not text.strip():
        return None
    factor, classes = text.split(":", 1)
    factor = factor.strip()
    return factor, [CLASSES[factor].index(name.strip().lower()) for name in classes.split(",")]


def respond(text: str, factor: str, values: np.ndarray) -> np.ndarray:
    """Scores of a response; NaN where it has none."""
    kind, _, rest = text.strip().partition(" ")
    if kind == "classes":
        table = np.full(len(CLASSES[factor]), np.nan)
        for part in rest.split(";"):
            name, _, score = part.rpartition("=")
            table[CLASSES[factor].index(name.strip().lower())] = float(score)
        known = ~np.isnan(values)
        return np.where(known, table[np.where(known, values, 0).astype(int)], np.nan)
    if kind == "curve":
        points = np.array([[float(number) for number in part.split(":")] for part in rest.split()])
        return np.interp(values, points[:, 0], points[:, 1])
    if kind == "threshold":
        threshold, slope = float(rest.split()[0]), float(rest.split()[2])
        return np.clip(1.0 - slope / 100.0 * np.maximum(values - threshold, 0.0), 0.0, 1.0)
    if kind == "range":
        lowest, best_from, best_to, highest = (
            None if word in ("-", "..", "open") else float(word) for word in rest.split()
        )
        score = np.ones_like(values)
        if lowest is not None:
            score = np.minimum(
                score, np.where(values >= best_from, 1.0, np.interp(values, [lowest, best_from], [0.0, 1.0]))
            )
        if highest is not None:
            score = np.minimum(
                score, np.where(values <= best_to, 1.0, np.interp(values, [best_to, highest], [1.0, 0.0]))
            )
        return np.where(np.isnan(values), np.nan, score)
    raise ValueError(f"response {text!r} is not one this reading knows")


def factor_score(responses, factor, values, factors):
    """The score of one species on one factor (NaN: none), and where that leaves it unknown."""
    score = np.full(values.shape, np.nan)
    for given, response in responses:
        holds = np.ones(values.shape, dtype=bool)
        if given is not None:
            other, classes = given
            holds = np.isin(factors.get(other, np.full(values.shape, np.nan)), classes)
        score = np.where(holds, respond(response, factor, values), score)
    if not responses and factor not in DECISIVE:
        return score, np.zeros(values.shape, dtype=bool)
    lacks = np.isnan(score)
    if factor == "spray_salt":
        lacks &= ~(values <= SPRAY.index("slight"))
    if factor == "soil_salinity":
        lacks &= ~(values < 2.0)
    return score, lacks


# --- layers ------------------------------------------------------------------


def factor_values(folder: Path, name: str, keys: dict, cells: Cells) -> np.ndarray:
    """Class indices or measured values of a factor in every cell, NaN where missing."""
    if "attribute" in keys:
        shapes, fields = vector(folder / keys["layer"], keys, cells)
        owner = polygon_at(shapes, cells)
        values = np.array(
            [class_or_number(value, name, keys.get("words", {})) for value in fields[keys["attribute"]]]
        )
        return np.where(owner >= 0, values[owner], np.nan)
    if "distance_to" in keys:
        metres = distance(folder / keys["distance_to"], keys, cells)
        return cut_classes(metres, name, keys["cuts"])
    if "elevation" in keys:
        return slope_pct(folder / keys["elevation"], cells)
    return warped(folder / keys["layer"], keys.get("band", 1), cells)


def road_salt(folder: Path, keys: dict, wanted: set[str], cells: Cells, factors: dict) -> dict[str, np.ndarray]:
    """The factors computed from salted roads."""
    shapes, fields = vector(folder / keys["roads"], keys, cells)
    pieces, pavement = salt.pieces_of(shapes, fields, keys)
    spray = salt.means(pieces, pavement, cells, salt.Piece.spray, salt.REACH_M)
    values = {"spray_dose": spray, "spray_salt": salt.bands(spray)}
    if "soil_salinity" in wanted:
        margin = 8
        heights = warped(folder / keys["root_zone"]["elevation"], 1, cells, margin).astype(float)
        values["soil_salinity"] = salt.soil_salinity(
            pieces, pavement, cells, keys, spray, factors["drainage"], heights, margin
        )
    return {name: values[name] for name in wanted}


def class_or_number(value, factor, words):
    """The index of a class word, a number, or NaN."""
    if value is None or (isinstance(value, float) and np.isnan(value)):
        return np.nan
    if factor not in CLASSES:
        return float(value)
    word = str(words.get(str(value), value)).strip().lower()
    return float(CLASSES[factor].index(word))


def vector(path: Path, keys: dict, cells: Cells):
    """Geometries in the grid's CRS and their fields."""
    meta, _, shapes, fields = pyogrio.raw.read(path, layer=keys.get("sublayer"), where=keys.get("filter"))
    to_grid = pyproj.Transformer.from_crs(meta["crs"], cells.crs, always_xy=True)
    flat = shapely.force_2d(shapely.from_wkb(shapes))
    moved = shapely.transform(flat, lambda xy: np.column_stack(to_grid.transform(xy[:, 0], xy[:, 1])))
    return moved, dict(zip(meta["fields"], fields, strict=True))


def polygon_at(shapes, cells: Cells) -> np.ndarray:
    """The index of the polygon that holds each centre, -1 for none or several."""
    x, y = cells.centres
    owner = np.full(x.shape, -1)
    times = np.zeros(x.shape, dtype=int)
    for index, shape in enumerate(shapes):
        inside = shapely.contains_xy(shape, x, y)
        owner[inside] = index
        times += inside
    return np.where(times == 1, owner, -1)


def inside_boundary(folder: Path, area: dict, cells: Cells) -> np.ndarray:
    """The cells whose centre lies within the site."""
    shapes, _ = vector(folder / area["boundary"], area, cells)
    return shapely.contains_xy(shapely.union_all(shapes), *cells.centres)


def distance(path: Path, keys: dict, cells: Cells) -> np.ndarray:
    """Metres from each centre to the nearest edge of a line by its width, infinite beyond the reach."""
    shapes, fields = vector(path, keys, cells)
    x, y = cells.centres
    nearest = np.full(x.shape, np.inf)
    for index, shape in enumerate(shapes):
        half = 0.0
        if "width_attribute" in keys:
            half = float(fields[keys["width_attribute"]][index]) / 2.0
        elif "width_m" in keys:
            half = keys["width_m"] / 2.0
        shapely.prepare(shape)
        nearest = np.minimum(nearest, np.maximum(shapely.distance(shapely.points(x, y), shape) - half, 0.0))
    return np.where(nearest <= keys.get("reach_m", np.inf), nearest, np.inf)


def excluded(folder: Path, keys: dict, cells: Cells) -> np.ndarray:
    """The cells whose centre an excluded feature covers, by its width and setback."""
    reach = keys.get("setback_m", 0.0)
    return distance(folder / keys["layer"], keys, cells) <= reach


def cut_classes(metres: np.ndarray, factor: str, cuts: list[dict]) -> np.ndarray:
    """Classes cut from a distance, nearest first; a cut ends before its `to`, the last has no end."""
    values = np.full(metres.shape, np.nan)
    for cut in reversed(cuts):
        holds = metres < cut["to"] if "to" in cut else ~np.isnan(metres)
        values[holds] = CLASSES[factor].index(cut["class"])
    return values


def warped(path: Path, band: int, cells: Cells, margin: int = 0) -> np.ndarray:
    """A measured raster on the grid: bilinear from coarser cells, averaged from finer ones."""
    corner = cells.corner @ rasterio.Affine.translation(-margin, -margin)
    out = np.full((cells.rows + 2 * margin, cells.columns + 2 * margin), np.nan, dtype=np.float32)
    with rasterio.open(path) as file:
        finer = abs(file.transform.a) < cells.cell_m
        values = file.read(band).astype(np.float32)
        values[file.read_masks(band) == 0] = np.nan
        rasterio.warp.reproject(
            values,
            out,
            src_transform=file.transform,
            src_crs=file.crs,
            src_nodata=np.nan,
            dst_transform=corner,
            dst_crs=cells.crs,
            dst_nodata=np.nan,
            resampling=rasterio.warp.Resampling.average if finer else rasterio.warp.Resampling.bilinear,
        )
    return out


def slope_pct(path: Path, cells: Cells) -> np.ndarray:
    """Slope in per cent by Horn's weights on the elevation brought to the grid."""
    z = warped(path, 1, cells, margin=1).astype(float)
    left = z[:-2, :-2] + 2 * z[1:-1, :-2] + z[2:, :-2]
    right = z[:-2, 2:] + 2 * z[1:-1, 2:] + z[2:, 2:]
    top = z[:-2, :-2] + 2 * z[:-2, 1:-1] + z[:-2, 2:]
    bottom = z[2:, :-2] + 2 * z[2:, 1:-1] + z[2:, 2:]
    return 100.0 * np.hypot(right - left, top - bottom) / (8 * cells.cell_m)


def grid_of(raster: Path) -> Cells:
    """The grid that a raster lies on."""
    with rasterio.open(raster) as file:
        return Cells(file.transform, file.height, file.width, file.crs.to_string())


if __name__ == "__main__":
    import sys

    plain = rate(Path(sys.argv[1]), grid_of(Path(sys.argv[2])))
    print(
        json.dumps(
            {name: int(suits.sum()) for name, suits in zip(plain.names, plain.suits, strict=True)}, indent=1
        )
    )
