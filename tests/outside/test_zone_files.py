"""zones.geojson and zones.gpkg: RFC 7946 (2016), OGC simple features by GEOS, geodesic areas by PROJ."""

import numpy as np
import pyproj
import pytest
import shapely

import zone_files as files


@pytest.fixture(params=["sample", "exact"])
def folder(request):
    """Both the run with default smoothing and the one without any."""
    return request.getfixturevalue(f"{request.param}_output")


def test_geojson_keeps_to_rfc_7946(folder):
    document = files.geojson(folder)
    assert document["type"] == "FeatureCollection"
    assert "crs" not in document
    assert files.coordinate_decimals(folder) <= set(range(8))
    points = files.all_points(files.zones_of_geojson(folder).shapes)
    assert (np.abs(points[:, 0]) <= 180).all() and (np.abs(points[:, 1]) <= 90).all()


def test_exterior_rings_turn_counter_clockwise_and_holes_clockwise(folder):
    for part in files.polygons(files.zones_of_geojson(folder).shapes):
        assert part.exterior.is_ccw
        assert not any(ring.is_ccw for ring in part.interiors)


def test_every_feature_has_an_id_of_its_own_and_flat_columns_first(folder):
    features = files.geojson(folder)["features"]
    ids = [feature["id"] for feature in features]
    assert len(set(ids)) == len(ids)
    for feature in features:
        keys = list(feature["properties"])
        flat = [not isinstance(value, (list, dict)) for value in feature["properties"].values()]
        assert flat == sorted(flat, reverse=True), f"nested columns stand before flat ones: {keys}"
        assert feature["properties"]["listed"] == len(feature["properties"]["species"])


@pytest.mark.parametrize("read", [files.zones_of_geojson, files.zones_of_gpkg])
def test_polygons_are_valid_and_form_a_coverage(folder, read):
    shapes = read(folder).shapes
    valid = shapely.is_valid(shapes)
    assert valid.all(), shapely.is_valid_reason(shapes[~valid])
    assert shapely.coverage_is_valid(shapes)


def test_both_files_hold_the_same_zones(folder):
    lon_lat, grid = files.zones_of_geojson(folder), files.zones_of_gpkg(folder)
    assert (lon_lat.numbers == grid.numbers).all()
    # GeoJSON may round what people read; four decimals of a hectare are a square metre.
    assert np.allclose(lon_lat.area_ha, grid.area_ha, atol=1e-4)
    back = pyproj.Transformer.from_crs(lon_lat.crs, grid.crs, always_xy=True)
    moved = shapely.transform(lon_lat.shapes, lambda xy: np.column_stack(back.transform(xy[:, 0], xy[:, 1])))
    # 7 decimals of a degree are 11 mm; a straight edge between two vertices may bend by a tenth of a cell.
    distance = shapely.hausdorff_distance(shapely.boundary(moved), shapely.boundary(grid.shapes))
    assert distance.max() < 0.5, f"outlines lie up to {distance.max():.3f} m apart"


def test_areas_are_geodesic_areas_of_the_outlines(exact_output):
    zones = files.zones_of_gpkg(exact_output)
    measured = files.geodesic_ha(zones, step_m=5.0)
    # The file has eight decimals of a hectare, which is more than a millionth of a single cell.
    off = np.abs(zones.area_ha - measured) - 5.1e-9
    assert (off / measured).max() < 1e-6, f"off by up to {(off / measured).max():.2e}"


def test_areas_add_up_to_the_rated_area(folder):
    zones, record = files.zones_of_gpkg(folder), files.run_record(folder)
    rated = files.ratings(folder).known.any(axis=0).sum()
    assert record["counts"]["rated_cells"] == rated
    assert record["counts"]["zones"] == len(zones.numbers)
    # All zones together against the geodesic area of their common outline.
    whole = files.Zones(
        zones.numbers[:1], zones.area_ha[:1], np.array([shapely.union_all(zones.shapes)]), zones.crs
    )
    limit = 1e-6 if folder.parent.name.startswith("exact") else 1e-3  # simplified outlines cut corners
    assert zones.area_ha.sum() == pytest.approx(files.geodesic_ha(whole, step_m=5.0)[0], rel=limit)


def test_every_rated_cell_lies_in_one_zone(exact_output):
    rated = files.ratings(exact_output).known.any(axis=0)
    burnt = files.burnt(files.zones_of_gpkg(exact_output), exact_output / "ratings.tif")
    assert ((burnt > 0) == rated).all()


def test_listed_species_are_known_on_half_the_zone_and_suit_half_of_that(exact_output):
    """The lists of zone_species against the cells of ratings.tif (list_share 0.5, wanted class S2)."""
    ratings = files.ratings(exact_output)
    suits, known = ratings.suits(0.60), ratings.known
    zones = files.zones_of_gpkg(exact_output)
    burnt = files.burnt(zones, exact_output / "ratings.tif")
    for feature in files.geojson(exact_output)["features"]:
        inside = burnt == feature["properties"]["zone"]
        cells = inside.sum()
        known_cells = known[:, inside].sum(axis=1)
        listed = (
            (2 * known_cells >= cells) & (2 * suits[:, inside].sum(axis=1) >= known_cells) & (known_cells > 0)
        )
        names = {name for name, is_listed in zip(ratings.names, listed, strict=True) if is_listed}
        assert {species["id"] for species in feature["properties"]["species"]} == names
