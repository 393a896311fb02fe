"""The made-up parcel: what is small but different stays a zone of its own.

Statements of the trade (common practice, no source): wet ground takes other plants than the meadow around it; the
salted road's edge takes salt-hardy ones; shade plants belong under the wood; what is unknown is not unsuitable.
"""

import numpy as np
import pytest
import shapely

import zone_files as files
from parcel import ROAD_Y, WIDE_M, wet_corner, write_parcel
from program import map_project
from small_site import placed


class Parcel:
    """A mapped parcel and the lists at its places."""

    def __init__(self, folder, **settings):
        self.output = map_project(write_parcel(folder, **settings), folder / "out")
        self.zones = files.zones_of_gpkg(self.output)
        self.features = {
            feature["properties"]["zone"]: feature["properties"]
            for feature in files.geojson(self.output)["features"]
        }

    def zone_at(self, x, y):
        """The number and outline of the zone at a place in local metres."""
        inside = np.flatnonzero(shapely.covers(self.zones.shapes, placed(shapely.Point(x, y))))
        assert len(inside) == 1, f"{len(inside)} zones at {x}, {y}"
        return self.zones.numbers[inside[0]], self.zones.shapes[inside[0]]

    def listed_at(self, x, y):
        """The ids of the species listed at a place."""
        return {species["id"] for species in self.features[self.zone_at(x, y)[0]]["species"]}

    def rows_at(self, x, y):
        """How each species stands there: listed, in parts, not listed, not known."""
        rows = files.zone_species_rows(self.output)
        number = self.zone_at(x, y)[0]
        return {
            species: status
            for zone, species, status in zip(rows["zone"], rows["species_id"], rows["listing"], strict=True)
            if zone == number
        }


@pytest.fixture(scope="module", params=[0.12, 0.15, 0.3], ids=lambda area: f"corner_{area}_ha")
def parcel(request, tmp_path_factory):
    made = Parcel(tmp_path_factory.mktemp("parcel"), corner_ha=request.param)
    made.corner = wet_corner(request.param)
    return made


def test_the_wet_corner_is_a_zone_of_its_own(parcel):
    centre = parcel.corner.centroid
    _, zone = parcel.zone_at(centre.x, centre.y)
    wanted = placed(parcel.corner)
    shared = zone.intersection(wanted).area
    assert shared / wanted.area > 0.9 and shared / zone.area > 0.9


def test_the_wet_corner_has_a_list_of_its_own(parcel):
    corner = parcel.listed_at(parcel.corner.centroid.x, parcel.corner.centroid.y)
    meadow = parcel.listed_at(250, 120)
    assert {"carex-stricta", "asclepias-incarnata"} <= corner
    assert not {"carex-stricta", "asclepias-tuberosa", "schizachyrium-scoparium"} & (corner & meadow)
    assert "schizachyrium-scoparium" in meadow and "schizachyrium-scoparium" not in corner


def test_the_roads_edge_is_a_zone_of_its_own(parcel):
    """A long thin zone beside the pavement, not the meadow behind it."""
    number, zone = parcel.zone_at(200, ROAD_Y + 7)
    assert number != parcel.zone_at(250, 120)[0]
    west, south, east, north = zone.bounds
    assert east - west > 0.9 * WIDE_M and north - south < 60


def test_the_roads_edge_has_salt_hardy_plants_only(parcel):
    edge, meadow = parcel.listed_at(200, ROAD_Y + 7), parcel.listed_at(250, 120)
    assert edge != meadow
    assert not {"acer-saccharum", "quercus-macrocarpa"} & edge


def test_a_species_without_an_opinion_on_salt_is_not_known_at_the_roads_edge(parcel):
    rows = parcel.rows_at(200, ROAD_Y + 7)
    assert rows["asclepias-tuberosa"] == "not known" and rows["bouteloua-curtipendula"] == "not known"


def test_shade_and_sun_plants_part_at_the_woods_edge(parcel):
    wood, meadow = parcel.listed_at(200, 280), parcel.listed_at(250, 120)
    assert "adiantum-pedatum" in wood and "adiantum-pedatum" not in meadow
    assert "schizachyrium-scoparium" not in wood


def test_conditional_salt_tolerance_shows_along_the_road(tmp_path):
    """Shrubby cinquefoil on the verge of the same road: listed on well drained ground, not on a poorly drained flat."""
    sand = Parcel(tmp_path / "sand", road_soil="Well drained", high_m=60.0)
    flat = Parcel(tmp_path / "flat", road_soil="Poorly drained", high_m=60.0)
    beside = (200, ROAD_Y + 22)
    assert "dasiphora-fruticosa" in sand.listed_at(*beside)
    assert "dasiphora-fruticosa" not in flat.listed_at(*beside)
    meadow = Parcel(tmp_path / "meadow", road_soil="Poorly drained")
    assert "dasiphora-fruticosa" in meadow.listed_at(250, 120), (
        "it is the salt, not the flat, that keeps it out"
    )
