// The species table compares the species over the whole site and opens their profiles.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage, zonesOf } = require("./harness");

function speciesRows(page) {
  return page.locator("#species-table tbody tr").evaluateAll((all) =>
    all.map((row) => [...row.cells].map((cell) => cell.innerText.trim())));
}

/** How many zones of the file list each species. */
function zonesListing(name) {
  const counts = new Map();
  for (const { properties } of zonesOf(name)) {
    for (const species of properties.species) counts.set(species.name, (counts.get(species.name) ?? 0) + 1);
  }
  return counts;
}

test("it counts the zones that the files list each species in", () =>
  withPage("sample", {}, async (page) => {
    const counts = zonesListing("sample");
    const rows = await speciesRows(page);
    assert.ok(rows.length > 1);
    for (const [species, , zones] of rows) {
      const name = /\(([^)]*)\)$/.exec(species)[1];
      assert.equal(Number(zones), counts.get(name) ?? 0, species);
    }
  }));

test("it sorts by area and narrows down by form", () =>
  withPage("sample", {}, async (page) => {
    const heading = page.locator("#species-table th button", { hasText: "Suits" });
    await heading.click();
    await heading.click();
    const areas = (await speciesRows(page)).map((cells) => Number(cells[3]));
    assert.deepEqual(areas, [...areas].sort((one, other) => other - one));
    await page.fill("#species-filter", "fern");
    const forms = (await speciesRows(page)).map((cells) => cells.join(" "));
    assert.ok(forms.length > 0 && forms.every((text) => text.includes("fern")));
  }));

test("a name opens the profile with its sources", () =>
  withPage("sample", {}, async (page) => {
    const link = page.locator("#species-table tbody a").nth(3);
    const name = await link.innerText();
    await link.click();
    // The view follows the address, which the browser tells of a moment later.
    const heading = page.locator("#species-view h3", { hasText: name });
    await heading.waitFor();
    assert.equal(await heading.innerText(), name);
    await page.locator("#species-view > details > summary").click();
    const marks = page.locator("#species-view a[href^='#source-']");
    assert.ok((await marks.count()) > 0);
    const source = await marks.first().getAttribute("href");
    assert.ok((await page.locator(source).innerText()).length > 10);
  }));
