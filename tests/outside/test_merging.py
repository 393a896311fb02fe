"""Phase 2 of the merging against scikit-learn's Ward under connectivity (Ward 1963) on small sites.

Scikit-learn starts from cells, the program from regions; merges inside a region cost nothing, so both come to
the same regions first. With `keep = 0` nothing but the cost decides.
"""

import numpy as np
import pytest
import shapely
from sklearn.cluster import AgglomerativeClustering
from sklearn.feature_extraction.image import grid_to_graph
from sklearn.metrics import adjusted_rand_score

import zone_files as files
from plain_rating import DRAINAGE
from program import CATALOGUE, cut, map_project
from small_site import square, write_project, write_raster, write_vector

CELL_M = 10.0
ROWS, COLUMNS = 24, 31


def patchwork(folder, seed):
    """A site of irregular patches of drainage, pH and canopy; no two merges are meant to cost the same."""
    rng = np.random.default_rng(seed)
    folder.mkdir(parents=True, exist_ok=True)
    wide, high = COLUMNS * CELL_M, ROWS * CELL_M
    site = square(0, 0, wide, high)
    write_vector(folder / "boundary.gpkg", "boundary", [({"name": "patchwork"}, site)])

    seeds = shapely.MultiPoint(rng.uniform((0, 0), (wide, high), size=(14, 2)).round(2))
    faces = [face.intersection(site) for face in shapely.voronoi_polygons(seeds, extend_to=site).geoms]
    faces = [shapely.set_precision(face, 0.01) for face in faces if face.intersects(site)]
    soils = [
        ({"drain": str(rng.choice(DRAINAGE)), "ph": float(rng.choice([4.2, 5.5, 6.5, 7.2, 7.9]))}, face)
        for face in faces
    ]
    write_vector(folder / "soils.gpkg", "soils", soils)
    canopy = np.kron(rng.choice([0, 15, 35, 55, 75, 92], size=(6, 8)), np.ones((4, 4)))[:ROWS, :COLUMNS]
    write_raster(folder / "canopy.tif", canopy.astype(np.uint8), CELL_M, nodata=255)

    project = {
        "area": {"boundary": "boundary.gpkg", "grid_crs": "EPSG:26915", "cell_m": CELL_M},
        "catalogue": {"folder": CATALOGUE},
        "factors": {
            "drainage": {"layer": "soils.gpkg", "attribute": "drain"},
            "ph": {"layer": "soils.gpkg", "attribute": "ph"},
            "canopy": {"layer": "canopy.tif"},
        },
        "rating": {"rule": "limiting"},
        "zones": {"vote": 0, "smallest_ha": 0.0, "keep": 0.0, "fidelity": 1.0, "simplify_m": 0.0},
        "outputs": {"folder": "out", "ratings": True},
    }
    return map_project(write_project(folder, project), folder / "out")


@pytest.fixture(scope="module", params=[11, 12, 13])
def site(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp(f"patchwork{request.param}")
    return folder, patchwork(folder, request.param)


@pytest.mark.parametrize("number", [2, 3, 5, 8, 12])
def test_the_partition_is_that_of_connected_ward(site, number):
    folder, output = site
    ratings = files.ratings(output)
    rated = ratings.known.any(axis=0)
    assert rated.shape == (ROWS, COLUMNS) and rated.all()
    shares = np.where(ratings.known, ratings.suits(0.60), 0.5).reshape(len(ratings.names), -1).T
    ward = AgglomerativeClustering(
        n_clusters=number, linkage="ward", connectivity=grid_to_graph(ROWS, COLUMNS)
    )
    expected = ward.fit_predict(shares.astype(float))

    zones = files.zones_of_gpkg(cut(folder / "project.toml", output, number, folder / f"cut{number}"))
    ours = files.burnt(zones, output / "ratings.tif").ravel()
    assert len(np.unique(ours)) == number
    assert adjusted_rand_score(expected, ours) == 1.0
