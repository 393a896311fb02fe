"""ratings.tif of the sample's soil survey against a plain reading of its tables: each soil of a map unit on all
its factors together, then the share of soils that suit. Shares no code with the program."""

import csv
import tomllib

import numpy as np
import pyogrio
import pytest

import plain_rating
import zone_files as files
from program import SAMPLE, map_project

PROJECT = SAMPLE / "soil-survey.toml"
SURVEY = SAMPLE / "survey.gpkg"
DEPTH_CM = 50.0
WANTED = plain_rating.WANTED_S2
NEEDED = 0.5
SOIL_FACTORS = ["drainage", "ph", "soil_salinity"]


def table(name):
    """The rows of a table of the survey."""
    _, _, _, fields = pyogrio.raw.read(SURVEY, layer=name, read_geometry=name == "mupolygon")
    names = pyogrio.read_info(SURVEY, layer=name)["fields"]
    return [dict(zip(names, row, strict=True)) for row in zip(*fields, strict=True)]


def mean_of(horizons, column):
    """The mean down to the depth by thickness; NaN where less than half of it is told."""
    parts = [
        (min(row["hzdepb_r"], DEPTH_CM) - row["hzdept_r"], row[column])
        for row in horizons
        if row["hzdept_r"] < DEPTH_CM and not np.isnan(row[column])
    ]
    known = sum(thickness for thickness, _ in parts)
    # No horizon of the sample ends in rock above half the depth.
    return sum(thickness * value for thickness, value in parts) / known if known >= DEPTH_CM / 2 else np.nan


def soils_by_unit():
    """For each map unit its soils: share and values of the soil factors."""
    horizons = table("chorizon")
    soils = {}
    for row in table("component"):
        own = [horizon for horizon in horizons if horizon["cokey"] == row["cokey"]]
        word = row["drainagecl"]
        values = {
            "drainage": np.nan if not word else float(plain_rating.DRAINAGE.index(word.lower())),
            "ph": mean_of(own, "ph1to1h2o_r"),
            "soil_salinity": mean_of(own, "ec_r"),
        }
        soils.setdefault(row["mukey"], []).append((row["comppct_r"] / 100.0, values))
    for parts in soils.values():
        rest = 1.0 - sum(share for share, _ in parts)
        if rest > 1e-9:
            parts.append((rest, dict.fromkeys(SOIL_FACTORS, np.nan)))
    return soils


def soil_says(tolerances, name, values):
    """The lowest score of one soil, and whether it is known."""
    single = {factor: np.array([value]) for factor, value in values.items()}
    lowest, lacks = 1.0, False
    for factor in SOIL_FACTORS:
        score, missing = plain_rating.factor_score(
            tolerances.get((name, factor), []), factor, single[factor], single
        )
        lowest = min(lowest, 1.0 if np.isnan(score[0]) else score[0])
        lacks |= bool(missing[0])
    return lowest, not lacks or lowest < WANTED


def unit_says(tolerances, name, parts):
    """What a unit is for a species: the score at which the share needed is full, NaN where unknown."""
    said = [(share, *soil_says(tolerances, name, values)) for share, values in parts]
    suits = sum(share for share, score, known in said if known and score >= WANTED)
    unknown = sum(share for share, _, known in said if not known)
    if suits < NEEDED - 1e-6 <= suits + unknown:
        return np.nan
    taken = 0.0 if suits >= NEEDED - 1e-6 else 1.0
    reached = 0.0
    for score, share in sorted(((score if known else taken, share) for share, score, known in said), reverse=True):
        reached += share
        if reached >= NEEDED - 1e-6:
            return score
    raise AssertionError("shares do not come to one")


@pytest.fixture(scope="module")
def both(tmp_path_factory):
    """The program's ratings, and for each species the plain ones: NaN where unknown."""
    output = map_project(PROJECT, tmp_path_factory.mktemp("survey") / "out")
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))
    ours = files.ratings(output)
    cells = plain_rating.grid_of(output / "ratings.tif")
    shapes, fields = plain_rating.vector(SURVEY, {"sublayer": "mupolygon"}, cells)
    owner = plain_rating.polygon_at(shapes, cells)
    soils = soils_by_unit()
    units = sorted(soils)
    unit = np.array([units.index(key) for key in fields["MUKEY"]])[owner]
    rated = plain_rating.inside_boundary(SAMPLE, project["area"], cells) & (owner >= 0)
    for keys in project["exclude"]:
        rated &= ~plain_rating.excluded(SAMPLE, keys, cells)
    canopy = {"canopy": plain_rating.factor_values(SAMPLE, "canopy", project["factors"]["canopy"], cells)}
    names, tolerances = plain_rating.catalogue(SAMPLE / "catalogue")
    plain = []
    for name in names:
        soil = np.array([unit_says(tolerances, name, soils[key]) for key in units])[unit]
        score, lacks = plain_rating.factor_score(
            tolerances.get((name, "canopy"), []), "canopy", canopy["canopy"], canopy
        )
        lowest = np.fmin(soil, score)
        unknown = (np.isnan(soil) | lacks) & ~(lowest < WANTED)
        plain.append(np.where(unknown, np.nan, lowest))
    ours.bytes = ours.bytes[[ours.names.index(name) for name in names]]
    return ours, names, np.array(plain), rated


def test_states_agree_in_999_of_1000_cells(both):
    ours, names, plain, rated = both
    same = (ours.suits(WANTED) == (plain >= WANTED)) & (ours.known == ~np.isnan(plain))
    shares = same[:, rated].mean(axis=1)
    assert shares.min() >= 0.999, dict(zip(names, shares.round(5).tolist(), strict=True))


def test_ratings_agree_to_a_byte(both):
    ours, _, plain, rated = both
    known = ours.known & ~np.isnan(plain) & rated
    apart = np.abs(ours.bytes[known] / 200.0 - plain[known])
    assert (apart <= 0.0051).mean() >= 0.999


def test_all_three_states_and_mixed_units_are_met(both):
    """Else the checks above would say little."""
    _, _, plain, rated = both
    assert (plain[:, rated] >= WANTED).any() and (plain[:, rated] < WANTED).any()
    assert np.isnan(plain[:, rated]).any()
    assert sum(len(parts) > 1 for parts in soils_by_unit().values()) >= 5


TABLES = ["mapunit", "component", "chorizon", "comonth", "cosoilmoist", "corestrictions"]


def written_as(form, folder):
    """The survey in another form, as the lines of the project that name it."""
    if form == "geodatabase":
        path = folder / "survey.gdb"
        for name in ["mupolygon", *TABLES]:
            meta, _, shapes, fields = pyogrio.raw.read(SURVEY, layer=name, read_geometry=name == "mupolygon")
            pyogrio.raw.write(
                path,
                geometry=shapes,
                field_data=fields,
                fields=meta["fields"],
                layer=name,
                driver="OpenFileGDB",
                geometry_type=meta["geometry_type"],
                crs=meta["crs"],
                append=path.exists(),
            )
        return f'polygons = "{path}"'
    tables = folder / "tabular"
    tables.mkdir()
    columns, file_names = [], []
    for name in TABLES:
        rows = table(name)
        heads = list(rows[0])
        cells = [["" if is_missing(row[head]) else row[head] for head in heads] for row in rows]
        if form == "export without names":
            columns += [[name, number + 1, head, ""] for number, head in enumerate(heads)]
            file_names.append([name, "", "", "", f"x{name}"])
            write_rows(tables / f"x{name}.txt", cells)
        else:
            write_rows(tables / f"{name}.csv", [heads, *cells])
    if form == "export without names":
        write_rows(tables / "mstab.txt", file_names)
        write_rows(tables / "mstabcol.txt", columns)
    return f'polygons = "{SURVEY}"\ntables = "{tables}"'


def is_missing(cell):
    return cell is None or (isinstance(cell, float) and np.isnan(cell))


def write_rows(path, rows):
    with open(path, "w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter="," if path.suffix == ".csv" else "|", quoting=csv.QUOTE_NONNUMERIC).writerows(rows)


@pytest.mark.parametrize("form", ["geodatabase", "delimited text", "export without names"])
def test_the_form_of_the_tables_changes_nothing(both, form, tmp_path):
    text = PROJECT.read_text(encoding="utf-8")
    for file in ["boundary.geojson", "catalogue", "canopy.tif", "roads.geojson", "water.gpkg"]:
        text = text.replace(f'"{file}"', f'"{SAMPLE / file}"')
    assert text.count('polygons = "survey.gpkg"') == 1
    project = tmp_path / "project.toml"
    project.write_text(text.replace('polygons = "survey.gpkg"', written_as(form, tmp_path)), encoding="utf-8")
    ours = files.ratings(map_project(project, tmp_path / "out"))
    first = both[0]
    bytes_of = {name: ours.bytes[index] for index, name in enumerate(ours.names)}
    for name, expected in zip(both[1], first.bytes, strict=True):
        assert np.array_equal(bytes_of[name], expected), name
