// Every sample project's page opens without an error, draws its map, and asks for nothing but itself.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage } = require("./harness");

const SECTIONS = ["map-section", "zones", "species", "charts", "field-sheet", "method", "run-record"];

for (const name of ["sample", "ground", "soil-survey", "documented", "zones-2000", "zones-20000"]) {
  test(`${name}: it opens without an error and asks for nothing`, () =>
    withPage(name, {}, async (page) => {
      assert.ok((await page.title()).length > 0);
      assert.equal(await page.getAttribute("html", "lang"), "en");
      for (const id of SECTIONS) assert.equal(await page.locator(`section#${id}`).count(), 1, id);
      const inks = await page.evaluate(() => {
        const map = document.querySelector("canvas#map");
        const bytes = map.getContext("2d").getImageData(0, 0, map.width, map.height).data;
        return new Set(new Uint32Array(bytes.buffer)).size;
      });
      assert.ok(inks > 2, `the map has ${inks} colours`);
    }));
}
