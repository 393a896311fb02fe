// Writes an invented site of many zones: patches of unlike canopy and pH, as plain text layers and a project file.
"use strict";

const fs = require("node:fs");
const path = require("node:path");

const CELL_M = 5;
const PATCH_CELLS = 4;
const WEST = 430_000;
const SOUTH = 4_980_000;
const CRS = { type: "name", properties: { name: "urn:ogc:def:crs:EPSG::26915" } };

/** A site that is cut to so many zones; gives the path of its project file. */
function writeSite(folder, zones, catalogue) {
  // Patches beside each other may suit the same species and are then one zone: more are drawn than are asked for.
  const patches = Math.ceil(Math.sqrt(zones * 2.2));
  const side = patches * PATCH_CELLS;
  const random = randomNumbers(20_261);
  const seeds = Array.from({ length: patches * patches }, () => ({
    east: random(),
    north: random(),
    canopy: Math.floor(random() * 96),
  }));
  fs.mkdirSync(folder, { recursive: true });
  fs.writeFileSync(path.join(folder, "canopy.asc"), canopyGrid(seeds, patches, side));
  fs.writeFileSync(path.join(folder, "boundary.geojson"), collection([[rectangle(0, 0, side, side), {}]]));
  fs.writeFileSync(path.join(folder, "soils.geojson"), collection(soils(side, zones, random)));
  const project = path.join(folder, "project.toml");
  fs.writeFileSync(project, projectFile(zones, catalogue));
  return project;
}

/** The canopy of the nearest seed for each cell, north first, as an ESRI ASCII grid. */
function canopyGrid(seeds, patches, side) {
  const rows = [`ncols ${side}`, `nrows ${side}`, `xllcorner ${WEST}`, `yllcorner ${SOUTH}`, `cellsize ${CELL_M}`];
  rows.push("NODATA_value -9999");
  for (let row = side - 1; row >= 0; row--) {
    const values = [];
    for (let column = 0; column < side; column++) values.push(nearest(seeds, patches, column, row).canopy);
    rows.push(values.join(" "));
  }
  return rows.join("\n") + "\n";
}

/** The seed nearest to the middle of a cell; seeds lie one to a square, so the eight squares around are enough. */
function nearest(seeds, patches, column, row) {
  const x = (column + 0.5) / PATCH_CELLS;
  const y = (row + 0.5) / PATCH_CELLS;
  let best;
  let least = Infinity;
  for (let north = Math.floor(y) - 1; north <= Math.floor(y) + 1; north++) {
    for (let east = Math.floor(x) - 1; east <= Math.floor(x) + 1; east++) {
      if (east < 0 || north < 0 || east >= patches || north >= patches) continue;
      const seed = seeds[north * patches + east];
      const distance = (east + seed.east - x) ** 2 + (north + seed.north - y) ** 2;
      if (distance < least) [least, best] = [distance, seed];
    }
  }
  return best;
}

/** Soil polygons: a rectangle for some 16 zones, with a drainage class and a pH. */
function soils(side, zones, random) {
  const drainage = ["excessively drained", "well drained", "somewhat poorly drained", "very poorly drained"];
  const parts = Math.ceil(Math.sqrt(zones) / 4);
  const edge = side / parts;
  const features = [];
  for (let north = 0; north < parts; north++) {
    for (let east = 0; east < parts; east++) {
      const shape = rectangle(east * edge, north * edge, (east + 1) * edge, (north + 1) * edge);
      const drain = drainage[Math.floor(random() * drainage.length)];
      features.push([shape, { drain, ph: Math.round(50 + random() * 30) / 10 }]);
    }
  }
  return features;
}

function rectangle(west, south, east, north) {
  const corners = [[west, south], [east, south], [east, north], [west, north], [west, south]];
  return [corners.map(([x, y]) => [WEST + x * CELL_M, SOUTH + y * CELL_M])];
}

function collection(rows) {
  const features = rows.map(([coordinates, properties]) => ({
    type: "Feature",
    properties,
    geometry: { type: "Polygon", coordinates },
  }));
  return JSON.stringify({ type: "FeatureCollection", crs: CRS, features });
}

function projectFile(zones, catalogue) {
  return `title = "An invented site of ${zones} zones"

[area]
boundary = "boundary.geojson"
grid_crs = "EPSG:26915"
cell_m = ${CELL_M}

[catalogue]
folder = ${JSON.stringify(catalogue)}

[factors.drainage]
layer = "soils.geojson"
attribute = "drain"

[factors.ph]
layer = "soils.geojson"
attribute = "ph"

[factors.canopy]
layer = "canopy.asc"
crs = "EPSG:26915"

[zones]
vote = 0
smallest_ha = 0
keep = 0
number = ${zones}
`;
}

/** Numbers from 0 to 1 that are the same at each run (Park and Miller 1988, multiplier 48271). */
function randomNumbers(seed) {
  const modulus = 2 ** 31 - 1;
  let state = seed;
  return () => {
    state = (state * 48_271) % modulus;
    return state / modulus;
  };
}

module.exports = { writeSite };
