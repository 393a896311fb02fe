"""The sample site against statements of the trade (common practice, no source) and against its own soil map."""

import numpy as np
import pytest
import shapely

import zone_files as files

# Places in the grid's CRS, by what lies there.
RIDGE = (431350, 4987790)
SEEP = (431300, 4987262)
WOOD = (432060, 4987900)
MEADOW = (431150, 4987900)
DRY_IN_SUN = {"schizachyrium-scoparium", "asclepias-tuberosa", "bouteloua-curtipendula"}
WET = {"carex-stricta", "asclepias-incarnata", "cephalanthus-occidentalis", "eutrochium-maculatum"}


@pytest.fixture(scope="module")
def listed_at(sample_output):
    """The ids of the species listed in the zone at a place."""
    zones = files.zones_of_gpkg(sample_output)
    lists = {
        feature["properties"]["zone"]: {species["id"] for species in feature["properties"]["species"]}
        for feature in files.geojson(sample_output)["features"]
    }

    def look_up(place):
        inside = np.flatnonzero(shapely.covers(zones.shapes, shapely.Point(place)))
        assert len(inside) == 1
        return lists[zones.numbers[inside[0]]]

    return look_up


def test_dry_site_sun_plants_are_listed_on_the_meadow(listed_at):
    assert DRY_IN_SUN <= listed_at(MEADOW)


@pytest.mark.parametrize("place", [WOOD, SEEP], ids=["closed canopy", "very poorly drained"])
def test_dry_site_sun_plants_are_not_listed(listed_at, place):
    assert not DRY_IN_SUN & listed_at(place)


@pytest.mark.parametrize("place", [RIDGE, MEADOW], ids=["gravel ridge", "meadow"])
def test_wet_site_plants_are_not_listed(listed_at, place):
    assert not WET & listed_at(place)


def test_every_species_suits_some_ground(sample_output):
    """The site shows all of the catalogue."""
    ratings = files.ratings(sample_output)
    nowhere = [name for name, suits in zip(ratings.names, ratings.suits(0.60), strict=True) if not suits.any()]
    assert nowhere == []
