"""Olinda (three grids, three CRS, one place) and the Meuse flood plain, held against the packages' own tables."""

import numpy as np
import pyogrio
import pyproj
import pytest
import rasterio
import rdata
import shapely

import open_data
import zone_files as files
from program import ground, groundfit, map_project, why_at
from small_site import write_features, write_project
from tiny_catalogue import write_catalogue


def available(fetch):
    """The data, or a skip that says why there is none."""
    try:
        return fetch()
    except open_data.Unavailable as error:
        pytest.skip(f"not downloaded: {error}")


# --- Meuse -------------------------------------------------------------------

MEUSE_CRS = "EPSG:28992"
# The table's classes 1 to 3: flooded once in two, ten, fifty years. The words chosen for them are the check's own.
FLOODING = {"1": "frequent", "2": "occasional", "3": "rare"}


@pytest.fixture(scope="module")
def meuse(tmp_path_factory):
    """The Meuse grid as GeoTIFF and as polygons, with a project for each."""
    table = rdata.read_rda(available(open_data.meuse_tables) / "meuse.grid.rda")["meuse.grid"]
    folder = tmp_path_factory.mktemp("meuse")
    x, y = table["x"].to_numpy(), table["y"].to_numpy()
    column, row = ((x - x.min()) / 40).astype(int), ((y.max() - y) / 40).astype(int)
    corner = rasterio.Affine(40, 0, x.min() - 20, 0, -40, y.max() + 20)

    def raster(name, values, dtype, nodata):
        grid = np.full((row.max() + 1, column.max() + 1), nodata, dtype=dtype)
        grid[row, column] = values
        with rasterio.open(
            folder / name, "w", driver="GTiff", dtype=dtype, count=1, height=grid.shape[0], width=grid.shape[1],
            crs=MEUSE_CRS, transform=corner, nodata=nodata,
        ) as file:  # fmt: skip
            file.write(grid, 1)

    soil, flooding = table["soil"].astype(int).to_numpy(), table["ffreq"].astype(int).to_numpy()
    raster("soil.tif", soil, "uint8", 255)
    raster("flooding.tif", flooding, "uint8", 255)
    raster("dist.tif", table["dist"].to_numpy(), "float32", -1.0)

    cells = shapely.box(x - 20, y - 20, x + 20, y + 20)
    write_features(
        folder / "site.gpkg",
        "site",
        [{"name": "Meuse"}],
        np.array([shapely.union_all(cells)], dtype=object),
        "Unknown",
        MEUSE_CRS,
    )
    pairs = sorted(set(zip(soil.tolist(), flooding.tolist(), strict=True)))
    fields = [{"soil": str(one), "flood": str(other)} for one, other in pairs]
    shapes = [shapely.union_all(cells[(soil == one) & (flooding == other)]) for one, other in pairs]
    write_features(
        folder / "ground.gpkg", "ground", fields, np.array(shapes, dtype=object), "Unknown", MEUSE_CRS
    )

    write_catalogue(folder / "catalogue", {
        "carex-stricta": {"flooding": "classes none=0; very rare=0; rare=0; occasional=0.5; frequent=1; very frequent=1"},
        "panicum-virgatum": {"soil_kind": "classes kind 1=1; kind 2=0.7; kind 3=0", "river": "range - - 0.4 0.6"},
        "asclepias-tuberosa": {"flooding": "classes none=1; very rare=1; rare=0.9; occasional=0.3; frequent=0; very frequent=0"},
    })  # fmt: skip
    kinds = {"kind": "classes", "classes": ["kind 1", "kind 2", "kind 3"], "decisive": True}
    soil_words = {"1": "kind 1", "2": "kind 2", "3": "kind 3"}

    def project(name, flooding_source, soil_source):
        return write_project(folder / name, {
            "area": {"boundary": "../site.gpkg", "grid_crs": MEUSE_CRS, "cell_m": 40},
            "catalogue": {"folder": "../catalogue"},
            "factors": {
                "flooding": {**flooding_source, "words": FLOODING, "decisive": False},
                "soil_kind": {**kinds, **soil_source, "words": soil_words, "decisive": False},
                "river": {"kind": "measured", "unit": "index", "layer": "../dist.tif"},
            },
            "zones": {"vote": 0, "smallest_ha": 0.0, "simplify_m": 0.0},
            "outputs": {"ratings": True},
        })  # fmt: skip

    projects = {
        "rasters": project("rasters", {"layer": "../flooding.tif"}, {"layer": "../soil.tif"}),
        "polygons": project("polygons", {"layer": "../ground.gpkg", "attribute": "flood"}, {"layer": "../ground.gpkg", "attribute": "soil"}),
    }  # fmt: skip
    return table, projects, folder


@pytest.mark.parametrize("kind", ["rasters", "polygons"])
def test_meuse_cells_are_counted_as_in_the_table(meuse, kind, tmp_path):
    """3,103 cells: ffreq 1, 2, 3 in 779, 1,335, 989 of them; soil 1, 2, 3 in 1,665, 1,084, 354."""
    table, projects, _ = meuse
    ratings = files.ratings(map_project(projects[kind], tmp_path / "out"))
    assert ratings.known.any(axis=0).sum() == len(table) == 3103
    suits = dict(zip(ratings.names, ratings.suits(0.60).sum(axis=(1, 2)).tolist(), strict=True))
    assert suits["carex-stricta"] == (table["ffreq"] == "1").sum() == 779
    assert suits["asclepias-tuberosa"] == (table["ffreq"] == "3").sum() == 989
    near = table["dist"].astype("float32") <= 0.48
    assert abs(suits["panicum-virgatum"] - (near & table["soil"].isin(["1", "2"])).sum()) <= 2


@pytest.mark.parametrize("kind", ["rasters", "polygons"])
def test_check_takes_meuse_and_writes_nothing(meuse, kind):
    _, projects, folder = meuse
    before = sorted(folder.rglob("*"))
    groundfit("check", projects[kind])
    assert sorted(folder.rglob("*")) == before


def test_why_gives_the_values_of_the_meuse_table(meuse):
    table, projects, _ = meuse
    for _, cell in table.iloc[::620].iterrows():
        why = why_at(projects["rasters"], cell["x"], cell["y"])
        assert ground(why, "flooding")["found"] == FLOODING[cell["ffreq"]]
        assert ground(why, "soil_kind")["found"] == f"kind {cell['soil']}"
        assert ground(why, "river")["value"] == pytest.approx(cell["dist"], abs=1e-5)


# --- Olinda ------------------------------------------------------------------

OLINDA_CRS = "EPSG:31985"


@pytest.fixture(scope="module")
def olinda(tmp_path_factory):
    """Census tracts (geographic), elevation (UTM 25 S on GRS 1980), a satellite band (SIRGAS 2000)."""
    tracts, rasters = available(open_data.olinda_tracts), available(open_data.olinda_rasters)
    folder = tmp_path_factory.mktemp("olinda")
    write_catalogue(folder / "catalogue", {
        "panicum-virgatum": {"slope": "range - - 5 20", "residents": "range 0 400 - -"},
        "carex-stricta": {"slope": "range - - 2 8", "red": "range - - 60 90"},
    })  # fmt: skip
    measured = {"kind": "measured", "unit": "index"}
    project = write_project(folder, {
        "area": {"boundary": tracts, "grid_crs": OLINDA_CRS, "cell_m": 30},
        "catalogue": {"folder": "catalogue"},
        "factors": {
            "slope": {"elevation": rasters / "olinda_dem_utm25s.tif", "vertical_unit": "m"},
            "residents": {**measured, "layer": tracts, "attribute": "V014"},
            "red": {**measured, "layer": rasters / "L7_ETMs.tif", "band": 3},
        },
        "zones": {"vote": 0, "smallest_ha": 0.5},
        "outputs": {"ratings": True},
    })  # fmt: skip
    return project, tracts, rasters


@pytest.fixture(scope="module")
def olinda_output(olinda, tmp_path_factory):
    return map_project(olinda[0], tmp_path_factory.mktemp("olinda_out") / "out")


def test_check_takes_olinda(olinda):
    text = groundfit("check", olinda[0]).text
    for layer in ("olinda1.shp", "olinda_dem_utm25s.tif", "L7_ETMs.tif"):
        assert layer in text


def test_olinda_zones_cover_the_tracts(olinda, olinda_output):
    _, tracts, _ = olinda
    meta, _, shapes, _ = pyogrio.raw.read(tracts)
    to_grid = pyproj.Transformer.from_crs(meta["crs"], OLINDA_CRS, always_xy=True)
    town = shapely.transform(
        shapely.union_all(shapely.from_wkb(shapes)),
        lambda xy: np.column_stack(to_grid.transform(xy[:, 0], xy[:, 1])),
    )
    zones = files.zones_of_gpkg(olinda_output)
    assert shapely.coverage_is_valid(zones.shapes)
    # Not all of the town lies within the satellite picture and the elevation model.
    covered = shapely.union_all(zones.shapes)
    assert covered.difference(town.buffer(45)).area == pytest.approx(0.0, abs=1.0)
    assert covered.area > 0.8 * town.area


def test_why_gives_the_values_of_olindas_own_files(olinda):
    project, tracts, rasters = olinda
    meta, _, shapes, fields = pyogrio.raw.read(tracts)
    residents = dict(zip(meta["fields"], fields, strict=True))["V014"]
    to_grid = pyproj.Transformer.from_crs(meta["crs"], OLINDA_CRS, always_xy=True)
    with rasterio.open(rasters / "L7_ETMs.tif") as file:
        red, inverse = file.read(3), ~file.transform
    checked = 0
    for index in range(20, 470, 90):
        inside = shapely.from_wkb(shapes[index]).representative_point()
        x, y = to_grid.transform(inside.x, inside.y)
        # The value is that of the cell's centre: the tract must be wide enough to hold it.
        column, row = inverse @ (x, y)
        around = red[int(row) - 2 : int(row) + 3, int(column) - 2 : int(column) + 3]
        why = why_at(project, inside.x, inside.y)
        if around.shape == (5, 5):
            assert around.min() <= ground(why, "red")["value"] <= around.max()
        if shapely.from_wkb(shapes[index]).buffer(-0.0003).contains(inside):
            assert ground(why, "residents")["value"] == residents[index]
            checked += 1
    assert checked >= 2


# --- files that must meet a clear error --------------------------------------


def project_with(folder, factor, keys, boundary):
    """A project whose one factor comes from the layer in question."""
    write_catalogue(folder / "catalogue", {"panicum-virgatum": {factor: "range - - 5 20"}})
    area = boundary if isinstance(boundary, dict) else {"boundary": boundary}
    return write_project(
        folder,
        {"area": {**area, "cell_m": 100}, "catalogue": {"folder": "catalogue"}, "factors": {factor: keys}},
    )


COUNT = {"kind": "measured", "unit": "index"}


def refused(project, *words):
    """`check` and `map` refuse a project with exit code 1 or 3 and say the words."""
    for command in (["check", project], ["map", project, "--output", project.parent / "never"]):
        run = groundfit(*command, expect=None)
        assert run.code in (1, 3), f"{command[0]} left with {run.code}\n{run.text}"
        assert "panicked" not in run.text
        for word in words:
            assert word.lower() in run.text.lower(), f"{command[0]} does not say {word!r}:\n{run.text}"
    assert not (project.parent / "never").exists()


def test_an_elevation_model_without_crs_is_refused(tmp_path):
    elevation = available(open_data.elevation_without_crs)
    site = np.array([shapely.box(679000, 245000, 684000, 250000)], dtype=object)
    boundary = write_features(tmp_path / "site.gpkg", "site", [{"name": "site"}], site, crs="EPSG:21781")
    project = project_with(tmp_path, "slope", {"elevation": elevation, "vertical_unit": "m"}, boundary)
    refused(project, "zh_dem_25.tif", "coordinate reference system", "crs")


def test_an_elevation_model_with_its_crs_told_is_taken(tmp_path):
    elevation = available(open_data.elevation_without_crs)
    site = np.array([shapely.box(679000, 245000, 684000, 250000)], dtype=object)
    boundary = write_features(tmp_path / "site.gpkg", "site", [{"name": "site"}], site, crs="EPSG:21781")
    keys = {"elevation": elevation, "vertical_unit": "m", "crs": "EPSG:21781"}
    groundfit(
        "check", project_with(tmp_path, "slope", keys, {"boundary": boundary, "grid_crs": "EPSG:21781"})
    )


def test_a_shapefile_without_prj_is_refused(tmp_path):
    layer = available(open_data.columbus)
    project = project_with(tmp_path, "count", {**COUNT, "layer": layer, "attribute": "AREA"}, layer)
    refused(project, "columbus.shp", "coordinate reference system")


def test_a_shapefile_without_index_is_refused(tmp_path):
    """A .shp whose .shx is missing."""
    layer = available(open_data.odd_shapefiles) / "latin1.shp"
    project = project_with(tmp_path, "count", {**COUNT, "layer": layer, "attribute": "NAME"}, layer)
    refused(project, "latin1.shp")


def test_a_corrupt_shapefile_is_no_boundary(tmp_path):
    """Its header tells another length than the file has, it holds lines, and it tells no CRS."""
    layer = available(open_data.odd_shapefiles) / "corrupt_too_long.shp"
    project = project_with(tmp_path, "count", {**COUNT, "layer": layer, "attribute": "test"}, layer)
    refused(project, "corrupt_too_long.shp")


def test_counties_without_crs_are_refused(tmp_path):
    layer = available(open_data.counties)
    area = {"boundary": layer, "sublayer": "counties", "filter": "id = '24045'"}
    project = project_with(
        tmp_path, "count", {**COUNT, "layer": layer, "sublayer": "counties", "attribute": "id"}, area
    )
    refused(project, "counties-10m.json", "coordinate reference system")


def test_invalid_counties_are_repaired_and_the_change_of_area_is_told(tmp_path):
    """24045 crosses itself at -75.75, 38.2."""
    layer = available(open_data.counties)
    area = {
        "boundary": layer,
        "sublayer": "counties",
        "filter": "id = '24045'",
        "crs": "EPSG:4326",
        "grid_crs": "EPSG:26918",
    }
    keys = {**COUNT, "layer": layer, "sublayer": "counties", "attribute": "id", "crs": "EPSG:4326"}
    run = groundfit("check", project_with(tmp_path, "count", keys, area))
    assert "counties-10m.json" in run.text and "repaired" in run.text.lower()


def test_a_latin_1_shapefile_keeps_its_words(tmp_path):
    """Written by another library in Latin-1, its words are found in the project's table."""
    site = np.array([shapely.box(430000, 4980000, 430400, 4980300)], dtype=object)
    layer = tmp_path / "boden.shp"
    words = np.array(["mäßig entwässert"], dtype=object)
    pyogrio.raw.write(
        layer, shapely.to_wkb(site), [words], ["klasse"], driver="ESRI Shapefile", crs="EPSG:26915", geometry_type="Polygon", encoding="ISO-8859-1"
    )  # fmt: skip
    write_catalogue(tmp_path / "catalogue", {
        "panicum-virgatum": {"drainage": "classes excessively drained=1; somewhat excessively drained=1; well drained=1; moderately well drained=1; somewhat poorly drained=1; poorly drained=0; very poorly drained=0"}
    })  # fmt: skip
    project = write_project(tmp_path, {
        "area": {"boundary": layer, "grid_crs": "EPSG:26915", "cell_m": 10},
        "catalogue": {"folder": "catalogue"},
        "factors": {"drainage": {"layer": layer, "attribute": "klasse", "words": {"mäßig entwässert": "moderately well drained"}}},
    })  # fmt: skip
    zones = files.geojson(map_project(project, tmp_path / "out"))["features"]
    assert [zone["properties"]["listed"] for zone in zones] == [1]
