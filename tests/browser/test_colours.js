// The map is coloured anew by each quantity and for each species.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { otherPicture, picture, withPage } = require("./harness");

/** The values that a choice offers. */
async function offered(page, choice) {
  return page.locator(`${choice} option:not([disabled])`).evaluateAll((all) => all.map((one) => one.value));
}

test("each quantity colours the map in its own way", () =>
  withPage("sample", {}, async (page) => {
    const quantities = await offered(page, "#colour-by");
    assert.deepEqual([...quantities].sort(), ["class", "listed", "rating", "species"]);
    const pictures = new Set();
    for (const quantity of quantities) {
      await page.selectOption("#colour-by", quantity);
      pictures.add(await picture(page));
    }
    assert.equal(pictures.size, quantities.length);
  }));

test("choosing another species colours the map anew", () =>
  withPage("sample", {}, async (page) => {
    await page.selectOption("#colour-by", "species");
    const species = await offered(page, "#species-choice");
    assert.ok(species.length >= 24, `${species.length} species are offered`);
    const pictures = new Set();
    for (const one of species) {
      await page.selectOption("#species-choice", one);
      pictures.add(await picture(page));
    }
    // A few species may suit the same ground.
    assert.ok(pictures.size > species.length / 2, `${pictures.size} pictures of ${species.length} species`);
  }));

test("the map of 20,000 zones is coloured anew too", () =>
  withPage("zones-20000", {}, async (page) => {
    const before = await picture(page);
    const other = (await page.inputValue("#colour-by")) === "rating" ? "listed" : "rating";
    await page.selectOption("#colour-by", other);
    await otherPicture(page, before);
  }));

test("choosing a species beside the map colours the map by it", () =>
  withPage("sample", {}, async (page) => {
    await page.selectOption("#map-species", { index: 1 });
    assert.equal(await page.inputValue("#colour-by"), "species");
  }));

test("a zone that suits in parts alone is not coloured as a whole, and a class that is too low is told", () =>
  withPage("sample", {}, async (page) => {
    const site = JSON.parse(await page.textContent("#site-data"));
    const listings = (species) => site.zones.species.flatMap((flat) =>
      flat.flatMap((place, at) => (at % 2 === 0 && place === species ? [site.standings[flat[at + 1]][0]] : [])));
    const inParts = site.listings.indexOf("in parts");
    const [some, none] = [true, false].map((wanted) =>
      site.species.findIndex((_, species) => listings(species).includes(inParts) === wanted));
    await page.selectOption("#map-species", String(some));
    assert.match(await page.innerText("#legend"), /suits in parts/);
    await page.selectOption("#map-species", String(none));
    assert.doesNotMatch(await page.innerText("#legend"), /suits in parts/);
    // The sample asks for S2.
    await page.selectOption("#map-species", String(site.species.findIndex(({ id }) => id === "asclepias-incarnata")));
    assert.match(await page.innerText("#legend"), /\(S3\), less than this project asks/);
  }));
