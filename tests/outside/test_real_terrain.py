"""The elevation model of Debian's r-cran-terra through the whole chain: GDAL, pysheds, pvlib and a plain march beside it.

Its heights are in degrees of longitude and latitude, half a minute apart (Luxembourg); the program brings them to a
grid in metres, and GDAL's own warper brings them there for the check.
"""

import subprocess

import numpy as np
import pandas as pd
import pyproj
import pytest
import rasterio
import shapely
from pvlib.solarposition import get_solarposition

import open_data
from program import CATALOGUE, ground, why_at
from small_site import write_features, write_project
from test_open_data import available
from test_terrain import catchments, pysheds

CRS, CELL_M = "EPSG:32632", 500.0
# Grid of the site, and around it the heights that water and sun are followed over, all in whole cells.
WEST, SOUTH, EAST, NORTH = 285_000.0, 5_508_000.0, 303_000.0, 5_532_000.0
AROUND = 16
SEASON = ("2026-05-01", "2026-09-30")
REACH_M = AROUND * CELL_M


@pytest.fixture(scope="module")
def terrain(tmp_path_factory):
    """A project over the model, and the model warped by GDAL onto the same cells with a margin."""
    elevation = available(open_data.luxembourg_elevation)
    folder = tmp_path_factory.mktemp("terrain")
    site = np.array([shapely.box(WEST, SOUTH, EAST, NORTH)], dtype=object)
    boundary = write_features(folder / "site.gpkg", "site", [{"name": "site"}], site, crs=CRS)
    heights = {"elevation": elevation, "vertical_unit": "m"}
    sun = {"season_from": SEASON[0], "season_to": SEASON[1], "least_irradiance": 0, "least_sun_height": 3.0}
    project = write_project(
        folder,
        {
            "area": {"boundary": boundary, "grid_crs": CRS, "cell_m": CELL_M},
            "catalogue": {"folder": str(CATALOGUE)},
            "factors": {
                "slope": heights,
                "aspect": heights,
                "heat_load": heights,
                "wetness_index": {**heights, "catchment_m": REACH_M},
                "sun_hours": {**heights, "reach_m": REACH_M, "unknown_heights": "open", **sun},
            },
        },
    )
    margin = AROUND * CELL_M
    extent = [WEST - margin, SOUTH - margin, EAST + margin, NORTH + margin]
    warped = {}
    for name, pixels in (("exact", "0"), ("as the program warps", "0.125")):
        warped[name] = folder / f"warped-{pixels}.tif"
        subprocess.run(
            ["gdalwarp", "-q", "-t_srs", CRS, "-te", *map(str, extent), "-tr", str(CELL_M), str(CELL_M)]
            + ["-r", "bilinear", "-et", pixels, "-ot", "Float32", "-dstnodata", "-9999"]
            + [str(elevation), str(warped[name])],
            check=True,
        )
    return project, warped["exact"], warped["as the program warps"]


def opened(path):
    with rasterio.open(path) as file:
        return file.read(1, masked=True).astype(float).filled(np.nan)


def demmed(warped, kind, *options):
    path = warped.with_name(f"{kind}.tif")
    subprocess.run(["gdaldem", kind, str(warped), str(path), "-q", *options], check=True)
    return opened(path)


@pytest.fixture(scope="module")
def samples(terrain):
    """What the program says at cells spread over the site, with their rows and columns in GDAL's grid."""
    heights = opened(terrain[1])
    known = np.array([np.roll(heights, at, (0, 1)) for at in np.ndindex(3, 3)])
    known = np.isfinite(np.roll(known, (-1, -1), (1, 2))).all(axis=0)[AROUND:-AROUND, AROUND:-AROUND]
    places = np.argwhere(known)
    places = places[np.random.default_rng(7).permutation(len(places))[:24]]
    found = []
    for row, col in places.tolist():
        x, y = WEST + (col + 0.5) * CELL_M, NORTH - (row + 0.5) * CELL_M
        found.append((row + AROUND, col + AROUND, x, y, why_at(terrain[0], x, y)))
    return found


def test_slope_and_aspect_are_those_of_gdal(terrain, samples):
    """Horn's method in gdaldem; its aspect counts from the grid's north, ours from true north."""
    slopes, aspects = demmed(terrain[1], "slope", "-p"), demmed(terrain[1], "aspect")
    to_globe = pyproj.Proj(CRS)
    apart = []
    for row, col, _, _, why in samples:
        turn = to_globe.get_factors(why["lon"], why["lat"]).meridian_convergence

        def gradient(slope, aspect):
            return slope * np.exp(1j * np.radians(aspect))

        theirs = gradient(slopes[row, col], aspects[row, col] + turn)
        ours = gradient(ground(why, "slope")["value"], ground(why, "aspect")["value"])
        apart.append(abs(theirs - ours))
    # The program's warper may be off by an eighth of a cell, GDAL's was told to be exact: decimetres of height.
    print(f"{len(apart)} cells: gradients at most {max(apart):.3f} %, mean {np.mean(apart):.3f} %")
    assert len(apart) == 24 and max(apart) < 0.1


def test_heat_load_is_that_of_the_formula(samples):
    """Equation 1 of McCune and Keon 2002 over the program's own slope and aspect."""
    for _, _, _, _, why in samples:
        slope = np.arctan(ground(why, "slope")["value"] / 100)
        folded = np.radians(abs(180 - abs(ground(why, "aspect")["value"] - 225)))
        latitude = np.radians(why["lat"])
        wanted = np.exp(
            -1.467
            + 1.582 * np.cos(latitude) * np.cos(slope)
            - 1.5 * np.cos(folded) * np.sin(slope) * np.sin(latitude)
            - 0.262 * np.sin(latitude) * np.sin(slope)
            + 0.607 * np.sin(folded) * np.sin(slope)
        )
        assert ground(why, "heat_load")["value"] == pytest.approx(wanted, abs=1e-4)


def test_wetness_is_that_of_the_warped_heights(terrain, samples):
    """Catchments of pysheds where no level ground lies upstream; over all ground what the parts give."""
    heights = opened(terrain[2]).astype("float32")
    filled, cells, slopes, beyond = catchments(heights, CELL_M)
    grid, dem = pysheds(np.where(np.isnan(filled), -9999.0, filled), CELL_M)
    routed = grid.resolve_flats(dem)
    around = np.pad(np.nan_to_num(filled, nan=np.inf), 1, constant_values=np.inf)
    lowest = np.min(
        [around[1 + d : 1 + d + filled.shape[0], 1 + r : 1 + r + filled.shape[1]] for d, r in
         [(-1, -1), (-1, 0), (-1, 1), (0, -1), (0, 1), (1, -1), (1, 0), (1, 1)]],
        axis=0,
    )  # fmt: skip
    level = (lowest >= filled).astype(float)
    directions = grid.flowdir(routed, routing="dinf")
    theirs = np.asarray(grid.accumulation(directions, routing="dinf"))
    weights = type(dem)(level, viewfinder=dem.viewfinder)
    through_level = np.asarray(grid.accumulation(directions, routing="dinf", weights=weights))
    plain = (through_level == 0) & (beyond == 0) & np.isfinite(cells) & np.isfinite(theirs)
    apart = np.abs(cells - theirs)[plain] / theirs[plain]
    print(f"{plain.sum()} cells without level ground upstream, {int(level.sum())} level: most {apart.max():.2e}")
    assert plain.sum() > 500 and apart.max() < 1e-3

    compared, worst = 0, 0.0
    for row, col, _, _, why in samples:
        found = ground(why, "wetness_index")["value"]
        if beyond[row, col]:
            assert found is None
            continue
        wanted = np.log(cells[row, col] * CELL_M / max(slopes[row, col], 0.001))
        worst = max(worst, abs(found - wanted))
        compared += 1
    print(f"{compared} cells of the program: most {worst:.2e}")
    assert compared >= 12 and worst < 1e-4


def test_sun_hours_are_those_of_a_plain_march(terrain, samples):
    """Horizons by short steps over the warped heights, the sun of pvlib every ten minutes."""
    heights = opened(terrain[1])
    times = pd.date_range(SEASON[0], pd.Timestamp(SEASON[1]) + pd.Timedelta(days=1), freq="10min", tz="UTC")[:-1]
    distances = np.arange(CELL_M / 4, REACH_M, CELL_M / 4)
    worst = 0.0
    for row, col, _, _, why in samples[:8]:
        sun = get_solarposition(times, why["lat"], why["lon"], pressure=101325, temperature=15)
        turn = pyproj.Proj(CRS).get_factors(why["lon"], why["lat"]).meridian_convergence
        azimuths = np.radians(np.arange(0, 360, 2.0))
        down = row - np.cos(azimuths)[:, None] * distances / CELL_M
        right = col + np.sin(azimuths)[:, None] * distances / CELL_M
        r, c = np.floor(down).astype(int), np.floor(right).astype(int)
        v, u = down - r, right - c
        seen = (heights[r, c] * (1 - u) + heights[r, c + 1] * u) * (1 - v) + (
            heights[r + 1, c] * (1 - u) + heights[r + 1, c + 1] * u
        ) * v
        horizon = np.degrees(np.arctan(np.max(np.nan_to_num((seen - heights[row, col]) / distances, nan=-1.0), axis=1)))
        there = np.interp((sun.azimuth - turn) % 360, np.arange(0, 362, 2.0), np.append(horizon, horizon[0]))
        wanted = ((sun.apparent_elevation > 3.0) & (sun.apparent_elevation > there)).sum() / 6 / (len(times) / 144)
        found = ground(why, "sun_hours")["value"]
        worst = max(worst, abs(found - wanted) * 60)
    print(f"8 cells, at most {worst:.1f} minutes a day apart")
    assert worst < 6.0
