"""ratings.tif against the plain reading in plain_rating.py (another GDAL, GEOS and PROJ than the program's)."""

import numpy as np
import pytest
from scipy import ndimage

import plain_rating
import zone_files as files
from program import SAMPLE

PROJECT = SAMPLE / "project.toml"


@pytest.fixture(scope="module")
def both(sample_output):
    """The program's ratings and the plain ones, species in the same order."""
    ours = files.ratings(sample_output)
    cells = plain_rating.grid_of(sample_output / "ratings.tif")
    plain = plain_rating.rate(PROJECT, cells)
    assert sorted(ours.names) == sorted(plain.names)
    ours.bytes = ours.bytes[[ours.names.index(name) for name in plain.names]]
    ours.names = plain.names
    return ours, plain, cells


def test_the_grid_is_the_one_asked_for(both):
    """Edges on whole multiples of the cell, no row or column more than the boundary needs."""
    _, _, cells = both
    assert cells.crs == "EPSG:26915" and cells.corner.a == 5.0 and cells.corner.e == -5.0
    assert cells.corner.c % 5.0 == 0.0 and cells.corner.f % 5.0 == 0.0
    inside = plain_rating.inside_boundary(SAMPLE, {"boundary": "boundary.geojson"}, cells)
    # The outline reaches into a border row or column even where no centre lies within.
    assert inside[:2].any() and inside[-2:].any() and inside[:, :2].any() and inside[:, -2:].any()


def test_the_same_cells_are_rated(both):
    ours, plain, _ = both
    known = ~plain.unknown.all(axis=0)
    differ = (ours.known.any(axis=0) != known).sum()
    assert differ <= 0.001 * known.sum(), f"{differ} cells are rated by one alone"


def test_states_agree_in_999_of_1000_cells(both):
    ours, plain, _ = both
    rated = plain.rated
    same = (ours.suits(0.60) == plain.suits) & (~ours.known == plain.unknown)
    shares = same[:, rated].mean(axis=1)
    assert shares.min() >= 0.999, dict(zip(plain.names, shares.round(5).tolist(), strict=True))


def test_states_differ_only_at_borders(both):
    """Where the two differ, the plain states differ among the cell's neighbours too."""
    ours, plain, _ = both
    for index, name in enumerate(plain.names):
        state = np.where(plain.unknown[index], 2, np.where(plain.suits[index], 1, 0))
        our_state = np.where(~ours.known[index], 2, np.where(ours.suits(0.60)[index], 1, 0))
        window = np.ones((3, 3))
        mixed = ndimage.maximum_filter(state, footprint=window) != ndimage.minimum_filter(
            state, footprint=window
        )
        # A value at the wanted score itself may fall to either side by the last bits of a warp.
        borderline = np.abs(plain.rating[index] - plain_rating.WANTED_S2) < 0.02
        assert not ((our_state != state) & ~mixed & ~borderline).any(), name


def test_ratings_agree_to_a_few_hundredths(both):
    """Bytes are floor(rating x 200); warping by another GDAL moves noisy canopy by parts of a per cent."""
    ours, plain, _ = both
    known = ours.known & ~plain.unknown
    difference = np.abs(ours.bytes.astype(int) - np.floor(plain.rating * 200 + 1e-9))[known]
    assert np.median(difference) == 0
    assert (difference <= 1).mean() >= 0.97, f"{(difference <= 1).mean():.4f} within one step"
    assert (difference <= 8).mean() >= 0.999, f"{(difference <= 8).mean():.4f} within 0.04"
