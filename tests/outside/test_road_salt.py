"""Spray and soil salinity of the sample site against the plain quadrature in plain_road_salt.py."""

import tomllib

import numpy as np
import pytest

import plain_rating
import plain_road_salt as salt
import program

PROJECT = program.SAMPLE / "project.toml"


@pytest.fixture(scope="module")
def plain(sample_output):
    """Grams and dS/m in every cell, by plain sums, and the grid."""
    cells = plain_rating.grid_of(sample_output / "ratings.tif")
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))
    drainage = plain_rating.factor_values(program.SAMPLE, "drainage", project["factors"]["drainage"], cells)
    wanted = {"spray_dose", "spray_salt", "soil_salinity"}
    keys = project["road_salt"]
    values = plain_rating.road_salt(program.SAMPLE, keys, wanted, cells, {"drainage": drainage})
    _, pavement = salt.pieces_of(*plain_rating.vector(program.SAMPLE / keys["roads"], keys, cells), keys)
    return values, cells, salt.edge_m(pavement, cells)


def test_places_beside_the_highway_have_what_plain_sums_give(plain):
    """In the lee and to windward, from the pavement's edge to beyond the reach, on sand and on clay."""
    values, cells, edge = plain
    seen = 0
    for column in (30, 54, 120, 200):
        middle = int(np.argmin(edge[:, column]))
        for off in (-20, -8, -3, -2, 2, 3, 6, 15):
            row = middle + off
            if not 0 <= row < cells.rows:
                continue
            x, y = cells.corner @ (column + 0.5, row + 0.5)
            here = program.why_at(PROJECT, x, y)
            # The mean over a cell that the pavement cuts hangs on how finely it is sampled.
            near = 0.06 if edge[row, column] < 4.0 else 0.005
            dose = program.ground(here, "spray_dose")["value"]
            assert dose == pytest.approx(values["spray_dose"][row, column], rel=near, abs=0.01), (row, column)
            ece = values["soil_salinity"][row, column]
            found = program.ground(here, "soil_salinity")["value"]
            if found is None:
                assert np.isnan(ece)
            else:
                assert found == pytest.approx(ece, rel=near, abs=0.02), (row, column)
            assert "g NaCl per m2 and winter" in program.ground(here, "spray_salt")["behind"]
            seen += 1
    assert seen >= 20


def test_the_lee_gets_more_than_the_windward_side(plain):
    """Common practice, no source: with a north-west wind the south side of the highway is worse off."""
    values, _, edge = plain
    spray, middle = values["spray_dose"], np.argmin(edge, axis=0)
    columns = np.arange(spray.shape[1])
    for off in (3, 8, 15):
        south, north = np.clip(middle + off, 0, len(spray) - 1), np.clip(middle - off, 0, None)
        assert np.median(spray[south, columns] / spray[north, columns]) > 1.2
