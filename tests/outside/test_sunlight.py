"""The sun's course and hours of direct sun against the NREL algorithm, as pvlib has it."""

import subprocess

import numpy as np
import pandas as pd
import pytest
from pvlib.solarposition import get_solarposition

from program import CATALOGUE, ROOT, ground, why_at
from small_site import square, write_project, write_raster, write_vector

JULIAN_DAY_OF_1970 = 2440587.5


@pytest.mark.parametrize(("latitude", "longitude"), [(45.0, -93.0), (-33.9, 18.4), (68.0, 20.0), (2.0, 101.7)])
def test_the_sun_stands_where_the_nrel_algorithm_has_it(latitude, longitude):
    """A year of hours: within 0.003 degrees across the sky."""
    times = pd.date_range("2026-01-01", periods=365 * 24, freq="h", tz="UTC")
    first = times[0].timestamp() / 86400 + JULIAN_DAY_OF_1970
    command = ["cargo", "run", "--quiet", "--example", "sun_positions", "--"]
    numbers = [str(number) for number in (latitude, longitude, first, len(times))]
    printed = subprocess.run(command + numbers, check=True, capture_output=True, text=True, cwd=ROOT).stdout
    found = np.array([[float(cell) for cell in line.split(",")] for line in printed.splitlines()])
    wanted = get_solarposition(times, latitude, longitude, method="nrel_numpy", delta_t=69.0)

    def directions(height, azimuth):
        height, azimuth = np.radians(height), np.radians(azimuth)
        return np.array([np.cos(height) * np.sin(azimuth), np.cos(height) * np.cos(azimuth), np.sin(height)])

    apart = directions(found[:, 1], found[:, 2]) - directions(wanted.elevation.values, wanted.azimuth.values)
    apart = np.degrees(np.linalg.norm(apart, axis=0))
    height = np.abs(found[:, 1] - wanted.elevation.values)
    print(f"latitude {latitude}: at most {apart.max():.5f} degrees, height {height.max():.5f}")
    assert len(found) == len(times) and apart.max() < 0.003


def site(folder, slope, settings):
    """A valley along the meridian whose sides rise evenly from its middle, 100 m from the west."""
    write_vector(folder / "site.gpkg", "site", [({"name": "site"}, square(95, 95, 105, 105))])
    east = (np.arange(220) + 0.5) * 5 - 450
    heights = np.tile(np.abs(east - 102.5) * slope, (220, 1)).astype("float32")
    write_raster(folder / "elevation.tif", heights, 5, -9999.0, west=-450, north=650)
    sun = {"elevation": "elevation.tif", "vertical_unit": "m", "reach_m": 400, **settings}
    area = {"boundary": "site.gpkg", "grid_crs": "EPSG:26915", "cell_m": 5}
    return write_project(
        folder,
        {"area": area, "catalogue": {"folder": str(CATALOGUE)}, "factors": {"sun_hours": sun}},
    )


@pytest.mark.parametrize("slope", [0.0, 0.3, 0.8])
@pytest.mark.parametrize("season", [("2026-05-01", "2026-09-30"), ("2026-11-01", "2027-02-28")])
def test_hours_in_a_valley_are_those_of_every_minute(tmp_path, slope, season):
    """Minutes on which the sun stands above six degrees and above the sides of the valley."""
    settings = {"season_from": season[0], "season_to": season[1], "least_irradiance": 0, "least_sun_height": 6.0}
    place = why_at(site(tmp_path, slope, settings), 430_102.5, 4_980_102.5)
    latitude, longitude = place["lat"], place["lon"]
    times = pd.date_range(season[0], pd.Timestamp(season[1]) + pd.Timedelta(days=1), freq="2min", tz="UTC")[:-1]
    sun = get_solarposition(times, latitude, longitude, pressure=101325, temperature=15)
    # The valley follows the grid, which there is turned from true north by the convergence of the meridians.
    turn = np.degrees(np.arctan(np.tan(np.radians(longitude + 93)) * np.sin(np.radians(latitude))))
    side = np.degrees(np.arctan(slope * np.abs(np.sin(np.radians(sun.azimuth - turn)))))
    days = len(times) / 720
    wanted = ((sun.apparent_elevation > 6.0) & (sun.apparent_elevation > side)).sum() * 2 / 60 / days
    found = ground(place, "sun_hours")["value"]
    print(f"slope {slope}, {season[0]}: {found:.3f} h, {wanted:.3f} h, {60 * (found - wanted):.2f} min")
    assert found == pytest.approx(wanted, abs=4 / 60)
