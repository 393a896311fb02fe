"""The sample site on other grids, and with other numbers of threads."""

import filecmp

import numpy as np
import pytest
import shapely

import zone_files as files
from program import SAMPLE, map_project
from small_site import edited_sample


@pytest.mark.parametrize(("crs", "cell_m"), [("EPSG:32615", 7.0), ("EPSG:5070", 10.0), ("EPSG:26916", 4.0)])
def test_another_grid_finds_the_same_ground(sample_output, tmp_path, crs, cell_m):
    """Rated area within a per cent (the rim of roads and water is cut anew), most species on as much ground."""
    output = map_project(edited_sample(tmp_path, area={"grid_crs": crs, "cell_m": cell_m}), tmp_path / "out")
    here, there = files.zones_of_gpkg(sample_output), files.zones_of_gpkg(output)
    assert there.crs.to_epsg() == int(crs.split(":")[1])
    assert there.area_ha.sum() == pytest.approx(here.area_ha.sum(), rel=0.01)
    assert shapely.is_valid(there.shapes).all() and shapely.coverage_is_valid(there.shapes)

    def shares(folder):
        ratings = files.ratings(folder)
        return ratings.suits(0.60).sum(axis=(1, 2)) / ratings.known.any(axis=0).sum()

    # Cells are areas of equal size on one grid; scale distortion within the site is far below this limit.
    assert np.abs(shares(output) - shares(sample_output)).max() < 0.02


def test_the_same_bytes_come_out_for_any_number_of_threads(tmp_path):
    one = map_project(SAMPLE / "project.toml", tmp_path / "one", "--threads", 1)
    three = map_project(SAMPLE / "project.toml", tmp_path / "three", "--threads", 3)
    names = sorted(path.name for path in one.iterdir())
    assert names == sorted(path.name for path in three.iterdir())
    names.remove("run.json")  # it tells the seconds and the memory the run took
    same, differ, odd = filecmp.cmpfiles(one, three, names, shallow=False)
    assert not differ and not odd and len(same) == len(names)
    records = [files.run_record(folder) for folder in (one, three)]
    for record in records:
        del record["measured"]
    assert records[0] == records[1]
