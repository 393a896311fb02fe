// On a telephone and on a wide screen nothing sticks out to the side.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage, zoneShown, zonesOf } = require("./harness");

for (const width of [320, 390, 1440]) {
  for (const name of ["sample", "marked-up", "zones-20000"]) {
    test(`${name}: ${width} pixels are wide enough`, () => {
      const fragment = `#zone=${zonesOf(name)[0].id}`;
      return withPage(name, { viewport: { width, height: 844 }, fragment }, async (page) => {
        await zoneShown(page);
        const wide = await page.evaluate(() => document.documentElement.scrollWidth);
        assert.ok(wide <= width, `the page is ${wide} pixels wide`);
        const map = await page.locator("canvas#map").boundingBox();
        assert.ok(map.width > width / 3 && map.x >= 0 && map.x + map.width <= width, JSON.stringify(map));
      });
    });
  }
}

test("on a telephone the map says which zone was tapped, and leads to its card", () =>
  withPage("sample", { viewport: { width: 390, height: 844 } }, async (page) => {
    await page.locator("canvas#map").scrollIntoViewIfNeeded();
    await page.click("canvas#map", { position: { x: 100, y: 250 } });
    const status = page.locator("#map-status");
    assert.match(await status.innerText(), /^Zone \d+: /);
    assert.ok((await status.boundingBox()).height > 10);
    await page.click("#to-card");
    assert.equal(await page.evaluate(() => document.activeElement.id), "zone-heading");
    const { y } = await page.locator("#zone-heading").boundingBox();
    assert.ok(y >= 0 && y < 200, `the card is at ${y}`);
  }));
