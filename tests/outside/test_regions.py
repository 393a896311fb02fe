"""Regions against scipy.ndimage.label: 4-connected cells of one set (suits, unknown)."""

import json

import numpy as np
import pytest
import rasterio.features
import shapely
from scipy import ndimage

import zone_files as files


@pytest.fixture(scope="module")
def regions(exact_output):
    """A number for each region of the cells as rated, 0 where nothing is rated."""
    ratings = files.ratings(exact_output)
    rated = ratings.known.any(axis=0)
    words = np.concatenate([ratings.suits(0.60), ratings.known]).reshape(2 * len(ratings.names), -1).T
    _, sets = np.unique(words, axis=0, return_inverse=True)
    sets = sets.reshape(rated.shape)
    numbers = np.zeros(rated.shape, dtype=int)
    for one in np.unique(sets[rated]):
        labels, _ = ndimage.label((sets == one) & rated)
        numbers[labels > 0] = labels[labels > 0] + numbers.max()
    return numbers


def test_the_run_counts_as_many_regions(exact_output, regions):
    assert files.run_record(exact_output)["counts"]["regions"] == regions.max()


def test_gdal_draws_as_many_polygons_of_the_same_areas(regions):
    """GDAL's polygonize with 4-connectivity, on the regions' numbers."""
    drawn = rasterio.features.shapes(regions.astype("int32"), mask=regions > 0, connectivity=4)
    area = {int(number): shapely.from_geojson(json.dumps(outline)).area for outline, number in drawn}
    assert area == {number: cells for number, cells in enumerate(np.bincount(regions.ravel())) if number > 0}


def test_zones_are_made_of_whole_regions(exact_output, regions):
    """Without vote and phase 1 no region is cut."""
    zones = files.burnt(files.zones_of_gpkg(exact_output), exact_output / "ratings.tif")
    rated = regions > 0
    pairs = np.unique(np.stack([regions[rated], zones[rated]]), axis=1)
    assert len(np.unique(pairs[0])) == pairs.shape[1], "a region lies in more than one zone"


def test_zones_with_fidelity_1_lose_nothing(exact_output):
    assert files.run_record(exact_output)["fidelity"]["fidelity"] == pytest.approx(1.0, abs=1e-12)


def test_fidelity_is_the_sorensen_similarity_of_lists_and_cells(sample_output):
    """2 TP / (2 TP + FP + FN) over known cells and species (Sorensen 1948), lists as in zone_species."""
    ratings = files.ratings(sample_output)
    suits, known = ratings.suits(0.60), ratings.known
    listed = np.zeros_like(suits)
    # Simplified outlines do not give the cells back: those near a border are counted with a wider limit.
    zones = files.burnt(files.zones_of_gpkg(sample_output), sample_output / "ratings.tif")
    for feature in files.geojson(sample_output)["features"]:
        names = {species["id"] for species in feature["properties"]["species"]}
        on_list = np.array([name in names for name in ratings.names])
        inside = zones == feature["properties"]["zone"]
        listed[:, inside] = on_list[:, None]
    found = (listed & suits & known).sum()
    wrong = (listed & ~suits & known).sum()
    lost = (~listed & suits & known).sum()
    ours = files.run_record(sample_output)["fidelity"]["fidelity"]
    assert ours == pytest.approx(2 * found / (2 * found + wrong + lost), abs=0.01)
