"""The county's rasters: elevation and canopy, written strip by strip."""

from pathlib import Path

import numpy as np
import rasterio

from . import place
from .waves import Waves

STRIP = 512
ELEVATION, CANOPY, NOISE = 1, 2, 3


def write(folder: Path, side: int, noise: float, seed: int) -> None:
    """Writes elevation.tif (metres, 32-bit) and canopy.tif (per cent, a byte, with noise of so many points a cell)."""
    hills = Waves(side, seed + ELEVATION, longest=1280, shortest=20, roughness=1.0)
    woods = Waves(side, seed + CANOPY, longest=1280, shortest=5, roughness=0.7)
    layers = [("elevation.tif", "float32", -9999, 3), ("canopy.tif", "uint8", 255, 1)]
    files = [_create(folder / name, side, kind, nodata, predictor) for name, kind, nodata, predictor in layers]
    for first in range(0, side, STRIP):
        rows = min(STRIP, side - first)
        window = rasterio.windows.Window(0, first, side, rows)
        elevation = 250 + 55 * hills.strip(first, rows)
        # Heights come in centimetres, as survey agencies give them.
        files[0].write(np.round(elevation, 2).astype(np.float32), 1, window=window)
        canopy = 50 + 50 * woods.strip(first, rows)
        if noise > 0:
            shake = np.random.default_rng([seed, NOISE, first]).standard_normal(canopy.shape, dtype=np.float32)
            canopy = np.clip(canopy, 0, 100) + np.float32(noise) * shake
        files[1].write(np.round(np.clip(canopy, 0, 100)).astype(np.uint8), 1, window=window)
    for file in files:
        file.close()


def _create(path: Path, side: int, kind: str, nodata: float, predictor: int):
    return rasterio.open(
        path,
        "w",
        driver="GTiff",
        height=side,
        width=side,
        count=1,
        dtype=kind,
        crs=place.CRS,
        transform=place.transform(),
        nodata=nodata,
        tiled=True,
        blockxsize=512,
        blockysize=512,
        compress="deflate",
        predictor=predictor,
        num_threads="ALL_CPUS",
        bigtiff="IF_SAFER",
    )
