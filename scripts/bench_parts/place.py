"""Where the invented county lies: a plain corner of a projected CRS, in cells of 5 m."""

import numpy as np
from rasterio.transform import from_origin

CRS = "EPSG:26915"
CELL_M = 5
WEST = 400_000
NORTH = 5_000_000


def transform():
    """The affine transform of the county's rasters."""
    return from_origin(WEST, NORTH, CELL_M, CELL_M)


def centres(cells: np.ndarray) -> np.ndarray:
    """Map coordinates of the centres of cells given as (row, column)."""
    return np.stack([WEST + (cells[:, 1] + 0.5) * CELL_M, NORTH - (cells[:, 0] + 0.5) * CELL_M], axis=1)
