"""The invented county: all layers, a catalogue and the project files, made from one seed.

    python -m bench_parts.county --side 3000 --noise 5 --into FOLDER
"""

import argparse
import json
from pathlib import Path

import numpy as np
import pyogrio.raw
import shapely

from . import catalogue, land, place, roads, soils

SEED = 7
VERSION = 1

PROJECT = """title = "An invented county of {side} x {side} cells"

[area]
boundary = "boundary.gpkg"
grid_crs = "EPSG:26915"
cell_m = 5

[catalogue]
folder = "catalogue"

[factors.drainage]
layer = "soils.gpkg"
sublayer = "soils"
attribute = "drain"

[factors.ph]
layer = "soils.gpkg"
sublayer = "soils"
attribute = "ph"

[factors.canopy]
layer = "canopy.tif"

[factors.spray_salt]
distance_to = "roads.gpkg"
reach_m = 121
cuts = [
  {{ to = 11, class = "severe" }},
  {{ to = 21, class = "heavy" }},
  {{ to = 46, class = "moderate" }},
  {{ to = 121, class = "slight" }},
  {{ class = "none" }},
]

[factors.slope]
elevation = "elevation.tif"
vertical_unit = "m"

[outputs]
folder = "out"
"""

AS_RATED = """ratings = true

[zones]
vote = 0
"""


def make(folder: Path, side: int, noise: float, species: int, seed: int = SEED) -> dict[str, int]:
    """Writes the county into a folder and gives what it holds; one that is there already is kept."""
    wanted = {"version": VERSION, "side": side, "noise": noise, "species": species, "seed": seed}
    mark = folder / "county.json"
    if mark.exists() and (held := json.loads(mark.read_text()))["made_with"] == wanted:
        return held["counts"]
    mark.unlink(missing_ok=True)
    folder.mkdir(parents=True, exist_ok=True)
    land.write(folder, side, noise, seed)
    counts = {
        "soil polygons": soils.write(folder, side, seed),
        "roads": roads.write(folder, side, seed),
        "species": species,
    }
    edge_m = side * place.CELL_M
    boundary = shapely.box(place.WEST, place.NORTH - edge_m, place.WEST + edge_m, place.NORTH)
    pyogrio.raw.write(
        folder / "boundary.gpkg",
        geometry=np.array([shapely.to_wkb(boundary)], dtype=object),
        field_data=[np.array([1], dtype=np.int32)],
        fields=np.array(["number"]),
        layer="boundary",
        driver="GPKG",
        geometry_type="Polygon",
        crs=place.CRS,
    )
    catalogue.write(folder / "catalogue", species, seed)
    (folder / "project.toml").write_text(PROJECT.format(side=side))
    (folder / "as_rated.toml").write_text(PROJECT.format(side=side) + AS_RATED)
    mark.write_text(json.dumps({"made_with": wanted, "counts": counts}))
    return counts


if __name__ == "__main__":
    options = argparse.ArgumentParser(description="Writes the invented county.")
    options.add_argument("--side", type=int, required=True)
    options.add_argument("--noise", type=float, default=0)
    options.add_argument("--species", type=int, default=60)
    options.add_argument("--seed", type=int, default=SEED)
    options.add_argument("--into", type=Path, required=True)
    chosen = options.parse_args()
    print(make(chosen.into, chosen.side, chosen.noise, chosen.species, chosen.seed))
