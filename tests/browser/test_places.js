// What the map tells of a place is what zones.geojson has there.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage, zoneInAddress, zonesOf } = require("./harness");

/** Whether a ring of positions goes around a place (crossings of a ray to the east). */
function isAround(ring, [x, y]) {
  let inside = false;
  for (let at = 0, last = ring.length - 1; at < ring.length; last = at++) {
    const [[x1, y1], [x2, y2]] = [ring[at], ring[last]];
    if (y1 > y !== y2 > y && x < x1 + ((y - y1) * (x2 - x1)) / (y2 - y1)) inside = !inside;
  }
  return inside;
}

/** The stable id of the zone at a longitude and latitude, or nothing. */
function zoneAt(zones, place) {
  const zone = zones.find(({ geometry: { type, coordinates } }) => {
    const polygons = type === "Polygon" ? [coordinates] : coordinates;
    return polygons.some((rings) => rings.filter((ring) => isAround(ring, place)).length === 1);
  });
  return zone?.id ?? "";
}

/** The longitude and latitude that the page tells of the pointer. */
async function placeTold(page) {
  const told = await page.innerText("#coordinates");
  const [, latitude, south, longitude, west] = /([\d.]+)° ([NS]), ([\d.]+)° ([WE])/.exec(told);
  return [west === "W" ? -longitude : Number(longitude), south === "S" ? -latitude : Number(latitude)];
}

test("coordinates and zones under 60 places of the map are those of the files", () =>
  withPage("sample", {}, async (page) => {
    const zones = zonesOf("sample");
    const { width, height } = await page.locator("canvas#map").boundingBox();
    // Told places are rounded to about a metre, and close to a border that may be in the next zone.
    const nudges = [[0, 0], [2e-5, 0], [-2e-5, 0], [0, 2e-5], [0, -2e-5]];
    const met = new Set();
    for (let nth = 0; nth < 60; nth++) {
      // Steps of the golden section spread the places evenly.
      // The buttons on the map keep to its corners.
      const position = { x: width * (0.1 + 0.8 * ((nth + 0.5) / 60)), y: height * (0.12 + 0.8 * ((nth * 0.618034) % 1)) };
      await page.evaluate(() => history.replaceState(null, "", "#"));
      await page.click("canvas#map", { position });
      const shown = zoneInAddress(page);
      // A zone that is small is brought closer: the next click goes to the whole site again.
      const [x, y] = await placeTold(page);
      const there = nudges.map(([east, north]) => zoneAt(zones, [x + east, y + north]));
      assert.ok(there.includes(shown), `at ${x}, ${y} the map has ${shown || "no zone"}, the file ${there}`);
      met.add(shown);
      await page.click("#whole-site");
    }
    assert.ok(met.size > 10, `only ${met.size} zones were met`);
  }));
