"""Layers that must meet a clear error or warning naming file, value found and value needed."""

import json

import numpy as np
import pytest
import rasterio
import shapely

from program import groundfit
from small_site import CRS, EAST_M, NORTH_M, square, write_project, write_raster, write_vector
from tiny_catalogue import write_catalogue

DRAINAGE = (
    "classes excessively drained=0; somewhat excessively drained=0; well drained=1; moderately well drained=1; "
    "somewhat poorly drained=1; poorly drained=0; very poorly drained=0"
)
CANOPY = {"layer": "canopy.tif"}
SOILS = {"layer": "soils.gpkg", "attribute": "drain"}


class Site:
    """A sound site of 200 x 100 m that each check spoils in one point."""

    def __init__(self, folder):
        self.folder = folder
        self.area = {"boundary": "site.gpkg", "grid_crs": CRS, "cell_m": 10}
        write_catalogue(
            folder / "catalogue", {"panicum-virgatum": {"drainage": DRAINAGE, "canopy": "range - - 30 60"}}
        )
        write_vector(folder / "site.gpkg", "site", [({"name": "site"}, square(0, 0, 200, 100))])
        self.soils(
            [
                ({"drain": "Well drained"}, square(0, 0, 120, 100)),
                ({"drain": "Poorly drained"}, square(120, 0, 200, 100)),
            ]
        )
        self.canopy(np.full((10, 20), 12, dtype=np.uint8))

    def soils(self, rows, **how):
        (self.folder / "soils.gpkg").unlink(missing_ok=True)
        write_vector(self.folder / "soils.gpkg", "soils", rows, **how)

    def canopy(self, values, **how):
        write_raster(self.folder / "canopy.tif", values, 10.0, **{"nodata": 255, **how})

    def run(self, command="check", **factors):
        """Runs a command on the site; the factors are drainage and canopy unless given."""
        factors = factors or {"drainage": SOILS, "canopy": CANOPY}
        project = write_project(
            self.folder, {"area": self.area, "catalogue": {"folder": "catalogue"}, "factors": factors}
        )
        run = groundfit(command, project, *(["--overwrite"] if command == "map" else []), expect=None)
        assert "panicked" not in run.text, run.text
        return run

    def refused(self, *words, **factors):
        """`check` and `map` leave with 1 or 3, say the words and write nothing."""
        for command in ("check", "map"):
            run = self.run(command, **factors)
            assert run.code in (1, 3), f"{command} left with {run.code}\n{run.text}"
            said(run, *words)
        assert not (self.folder / "out").exists()

    def warned(self, *words, **factors):
        """`check` goes through and says the words."""
        run = self.run("check", **factors)
        assert run.code == 0, run.text
        said(run, *words)


def said(run, *words):
    missing = [word for word in words if word.lower() not in run.text.lower()]
    assert not missing, f"does not say {missing}:\n{run.text}"


@pytest.fixture
def site(tmp_path):
    return Site(tmp_path)


def test_the_sound_site_is_taken(site):
    assert site.run("check").code == 0 and site.run("map").code == 0


def test_a_class_word_that_no_table_knows(site):
    site.soils([({"drain": "Wettish"}, square(0, 0, 200, 100))])
    site.warned("soils.gpkg", "Wettish", "drain")


def test_a_layer_that_misses_the_area(site):
    site.canopy(np.full((10, 20), 12, dtype=np.uint8), west=50_000.0)
    run = site.run("check")
    said(run, "canopy.tif", "0")
    assert "overlap" in run.text.lower() or "outside" in run.text.lower() or "misses" in run.text.lower()


def test_a_geographic_grid_where_metres_are_needed(site):
    site.area["grid_crs"] = "EPSG:4326"
    site.refused("EPSG:4326", "projected")


def test_a_boundary_without_features(site):
    (site.folder / "site.gpkg").unlink()
    empty = {"type": "FeatureCollection", "features": []}
    (site.folder / "empty.geojson").write_text(json.dumps(empty), encoding="utf-8")
    site.area["boundary"] = "empty.geojson"
    site.refused("empty.geojson")


def test_a_byte_raster_without_nodata(site):
    site.canopy(np.full((10, 20), 12, dtype=np.uint8), nodata=None)
    site.warned("canopy.tif", "nodata")


def test_a_colour_picture_is_no_class_layer(site):
    picture = site.folder / "picture.tif"
    corner = rasterio.transform.from_origin(EAST_M, NORTH_M + 100, 10, 10)
    with rasterio.open(
        picture, "w", driver="GTiff", dtype="uint8", count=3, height=10, width=20, crs=CRS, transform=corner, photometric="RGB"
    ) as file:  # fmt: skip
        file.write(np.full((3, 10, 20), 90, dtype=np.uint8))
    words = {"90": "well drained"}
    site.refused("picture.tif", drainage={"layer": "picture.tif", "words": words}, canopy=CANOPY)


def test_overlapping_soil_polygons_are_told_with_their_area(site):
    site.soils(
        [
            ({"drain": "Well drained"}, square(0, 0, 130, 100)),
            ({"drain": "Poorly drained"}, square(110, 0, 200, 100)),
        ]
    )
    site.warned("soils.gpkg", "overlap")


def test_an_invalid_soil_polygon_is_repaired_and_told(site):
    bow_tie = shapely.Polygon([(0, 0), (200, 100), (200, 0), (0, 100)])
    site.soils([({"drain": "Well drained"}, bow_tie)])
    site.warned("soils.gpkg", "repaired")


def test_a_truncated_raster(site):
    path = site.folder / "canopy.tif"
    path.write_bytes(path.read_bytes()[:150])
    site.refused("canopy.tif")


def test_a_layer_of_points_is_no_soil_map(site):
    site.soils([({"drain": "Well drained"}, shapely.Point(50, 50))], kind="Point")
    site.refused("soils.gpkg", "polygon")


def test_an_output_folder_that_exists_is_left_alone(site):
    assert site.run("map").code == 0
    before = (site.folder / "out" / "zones.geojson").read_bytes()
    again = groundfit("map", site.folder / "project.toml", expect=None)
    assert again.code in (1, 2, 3) and "out" in again.text and "overwrit" in again.text
    assert (site.folder / "out" / "zones.geojson").read_bytes() == before
