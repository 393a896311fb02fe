// Names that hold markup are text wherever they stand, and nothing in them runs.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { picture, withPage, zoneShown, zonesOf } = require("./harness");
const { OTHER_SPECIES, SPECIES, TITLE } = require("./marked_up");

/** How many elements of some kinds the page has. */
function counted(page) {
  return page.evaluate(() =>
    Object.fromEntries(["script", "style", "img", "b", "iframe"].map((kind) => [kind, document.querySelectorAll(kind).length])),
  );
}

test("markup in the title and in species' names makes no elements", async () => {
  let plain;
  await withPage("sample", {}, async (page) => (plain = await counted(page)));
  await withPage("marked-up", {}, async (page) => {
    assert.deepEqual(await counted(page), plain);
    assert.ok((await page.title()).includes(TITLE), await page.title());
    assert.ok((await page.innerText("h1")).includes(TITLE.replaceAll("  ", " ")));
  });
});

test("the zone card, the species' choice and the species' view show the names as they are", async () => {
  const zone = zonesOf("marked-up").find((feature) => {
    const names = feature.properties.species.map((species) => species.common_name);
    return names.includes(SPECIES) && names.includes(OTHER_SPECIES);
  });
  assert.ok(zone, "no zone lists both species");
  await withPage("marked-up", { fragment: `#zone=${zone.id}` }, async (page) => {
    await zoneShown(page);
    const card = await page.innerText("#zone-card");
    const choices = await page.locator("#species-choice option").allInnerTexts();
    for (const name of [SPECIES, OTHER_SPECIES]) {
      assert.ok(card.includes(name), `${name} on the card`);
      const choice = choices.find((one) => one.includes(name));
      assert.ok(choice, `${name} to choose`);
      await page.selectOption("#colour-by", "species");
      await page.selectOption("#species-choice", { label: choice });
      await picture(page);
    }
    assert.equal(await page.locator("img[src=x]").count(), 0);
  });
});

test("typing markup into the filter makes no elements", () =>
  withPage("marked-up", {}, async (page) => {
    const before = await counted(page);
    await page.fill("#zone-filter", OTHER_SPECIES);
    assert.deepEqual(await counted(page), before);
  }));
