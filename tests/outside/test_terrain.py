"""Filled depressions and catchments against pysheds and scikit-image."""

import subprocess

import numpy as np
import pytest
from affine import Affine
from pysheds.grid import Grid
from pysheds.view import Raster, ViewFinder
from skimage.morphology import reconstruction

from program import ROOT

CELL_M = 5.0


def rough(side, seed, noise):
    """Hills with pits, in whole centimetres, so that both sides read the same numbers."""
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:side, 0:side]
    heights = 10 * np.sin(x / 7) + 8 * np.cos(y / 9) + 0.1 * x + rng.normal(0, noise, (side, side))
    return np.round(heights, 2).astype("float32")


def catchments(heights, cell_m=CELL_M):
    """Filled heights, catchments in cells, slopes, and where water may come from beyond."""
    rows, cols = heights.shape
    words = [str(rows), str(cols), str(cell_m), *(repr(float(height)) for height in heights.ravel())]
    command = ["cargo", "run", "--quiet", "--example", "catchments"]
    run = subprocess.run(
        command, input=" ".join(words), check=True, capture_output=True, text=True, cwd=ROOT
    )
    columns = np.array([[float(cell) for cell in line.split(",")] for line in run.stdout.splitlines()])
    return [column.reshape(rows, cols) for column in columns.T]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_depressions_fill_to_where_they_overflow(seed):
    """The morphological reconstruction by erosion from the border is the filled surface."""
    heights = rough(60, seed, 1.5)
    filled = catchments(heights)[0]
    border = heights.astype(float).copy()
    border[1:-1, 1:-1] = heights.max()
    wanted = reconstruction(border, heights.astype(float), method="erosion", footprint=np.ones((3, 3)))
    assert np.abs(filled - wanted).max() < 1e-6
    grid = np.asarray(pysheds(heights)[0].fill_depressions(pysheds(heights)[1]))
    assert np.abs(filled - grid)[1:-1, 1:-1].max() < 1e-4
    assert (filled > heights + 0.5).any()


def pysheds(heights, cell_m=CELL_M):
    """A grid of pysheds with its heights."""
    view = ViewFinder(
        affine=Affine(cell_m, 0, 0, 0, -cell_m, 0), shape=heights.shape, nodata=np.float64(-9999)
    )
    return Grid(viewfinder=view), Raster(heights.astype(float), viewfinder=view)


@pytest.mark.parametrize("seed", [4, 5])
def test_catchments_are_those_of_pysheds(seed):
    """D-infinity over ground without pits, where no water comes in from the edge."""
    side = 50
    y, x = np.mgrid[0:side, 0:side]
    rng = np.random.default_rng(seed)
    bumps = sum(
        rng.uniform(0.5, 1.5) * np.sin(x * rng.uniform(0.05, 0.2) + rng.uniform(0, 6))
        + np.cos(y * rng.uniform(0.05, 0.2) + rng.uniform(0, 6))
        for _ in range(4)
    )
    heights = (200 - 0.02 * ((x - 24.3) ** 2 + (y - 25.6) ** 2) + 0.5 * bumps).astype("float32")
    filled, cells, slopes, beyond = catchments(heights)
    grid, dem = pysheds(filled)
    directions = grid.flowdir(dem, routing="dinf")
    theirs = np.asarray(grid.accumulation(directions, routing="dinf"))
    inside = (beyond == 0) & np.isfinite(theirs)
    assert inside.sum() > side * side * 0.8
    apart = np.abs(cells - theirs)[inside] / theirs[inside]
    print(f"{inside.sum()} cells, most {apart.max():.2e}, mean {apart.mean():.2e}")
    assert apart.max() < 1e-6
