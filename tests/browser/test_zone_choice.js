// Zones are chosen on the map, by the address and from the table, and each way tells the same zone.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage, zoneInAddress, zoneShown, zonesOf } = require("./harness");

/** The zone of a stable id as the card heads it, from the GeoJSON of the same run. */
function headingOf(name, id) {
  const zone = zonesOf(name).find((feature) => feature.id === id);
  assert.ok(zone, `${id} is no zone of the run`);
  return `Zone ${zone.properties.zone}`;
}

test("a click in the middle of the map opens a zone, and the address names it", () =>
  withPage("zones-2000", {}, async (page) => {
    await page.click("canvas#map");
    const shown = await zoneShown(page);
    assert.equal(shown, headingOf("zones-2000", zoneInAddress(page)));
  }));

test("clicks elsewhere open other zones", () =>
  withPage("sample", {}, async (page) => {
    const { width, height } = await page.locator("canvas#map").boundingBox();
    const opened = new Set();
    for (const [east, south] of [[0.5, 0.5], [0.3, 0.4], [0.6, 0.3], [0.4, 0.7], [0.65, 0.65]]) {
      await page.click("canvas#map", { position: { x: width * east, y: height * south } });
      const id = zoneInAddress(page);
      if (!id) continue;
      assert.equal(await zoneShown(page), headingOf("sample", id));
      opened.add(id);
    }
    assert.ok(opened.size >= 3, `five clicks opened ${[...opened]}`);
  }));

for (const name of ["sample", "zones-20000"]) {
  test(`${name}: an address with a zone opens that zone`, async () => {
    const zones = zonesOf(name);
    const zone = zones[Math.floor(zones.length * 0.7)];
    await withPage(name, { fragment: `#zone=${zone.id}` }, async (page) => {
      assert.equal(await zoneShown(page), `Zone ${zone.properties.zone}`);
    });
  });
}

test("another zone in the address of an open page opens that zone", async () => {
  const [first, , third] = zonesOf("sample");
  await withPage("sample", { fragment: `#zone=${first.id}` }, async (page) => {
    const before = await zoneShown(page);
    await page.evaluate((id) => (location.hash = `zone=${id}`), third.id);
    assert.equal(await zoneShown(page, before), `Zone ${third.properties.zone}`);
  });
});

for (const fragment of ["#zone=e1n1", "#zone=", "#zone", "#zone=%", "#zone=%3Cb%3Enone%3C/b%3E", "#species=none"]) {
  test(`an address with ${fragment} is no error`, () =>
    withPage("sample", { fragment }, async (page) => {
      assert.equal(await page.locator("#zone-card b").filter({ hasText: "none" }).count(), 0);
      await page.locator("#zone-table button.zone-link").first().click();
      await zoneShown(page);
    }));
}

test("a zone of the table opens on its card", () =>
  withPage("sample", {}, async (page) => {
    await page.locator("#zone-table button.zone-link").nth(4).click();
    assert.equal(await zoneShown(page), headingOf("sample", zoneInAddress(page)));
  }));

test("the card tells the species of its zone", async () => {
  const zone = zonesOf("sample").find((feature) => feature.properties.species.length > 3);
  await withPage("sample", { fragment: `#zone=${zone.id}` }, async (page) => {
    await zoneShown(page);
    const text = await page.innerText("#zone-card");
    for (const species of zone.properties.species) {
      assert.ok(text.includes(species.name) || text.includes(species.common_name), `${species.name} is missing`);
    }
  });
});

test("a species is opened by its link as often as one likes", () =>
  withPage("sample", {}, async (page) => {
    const link = page.locator("#species-table tbody a").nth(3);
    const name = await link.innerText();
    for (let times = 0; times < 2; times++) {
      await link.click();
      await page.waitForFunction((words) => document.activeElement.textContent === words
        && document.activeElement.id === "species-heading", name);
      await page.selectOption("#species-choice", { index: 0 });
    }
  }));

for (const kind of ["zone", "species"]) {
  test(`an address of a ${kind} that is not there is told`, () =>
    withPage("sample", { fragment: `#${kind}=__proto__` }, async (page) => {
      assert.match(await page.innerText("main"), new RegExp(`has no ${kind} with the id __proto__`));
    }));
}
