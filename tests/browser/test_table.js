// The zone table holds every zone of the run, sorts by each column and narrows down to what is typed.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage, zonesOf } = require("./harness");
const { rows } = require("./table");

/** How a person would order two cells: numbers by size, text by the alphabet. */
function order(one, other) {
  const [a, b] = [one, other].map((cell) => Number(cell.replace(/^Zone /, "")));
  return Number.isNaN(a) || Number.isNaN(b) ? one.localeCompare(other, "en") : a - b;
}

function assertInOrder(cells, direction, column) {
  const turn = direction === "ascending" ? 1 : -1;
  // Where an empty cell goes is open.
  const told = cells.filter((cell) => cell !== "");
  for (let at = 1; at < told.length; at++) {
    const pair = [told[at - 1], told[at]];
    assert.ok(turn * order(...pair) <= 0, `${column}, ${direction}: ${pair.join(" before ")}`);
  }
}

test("it holds every zone of the run", () =>
  withPage("sample", {}, async (page) => {
    const told = (await rows(page)).map((cells) => cells.join(" "));
    const zones = zonesOf("sample");
    assert.equal(told.length, zones.length);
    for (const { properties } of zones) {
      assert.ok(told.some((text) => new RegExp(`\\b${properties.zone}\\b`).test(text)), `zone ${properties.zone}`);
    }
  }));

test("each column sorts up and down and says so", () =>
  withPage("sample", {}, async (page) => {
    const buttons = page.locator("#zone-table thead th button");
    const count = await buttons.count();
    assert.ok(count >= 4, `${count} columns sort`);
    for (let nth = 0; nth < count; nth++) {
      const heading = buttons.nth(nth).locator("xpath=..");
      const name = await heading.innerText();
      const column = await heading.evaluate((th) => th.cellIndex);
      const directions = [];
      for (let press = 0; press < 2; press++) {
        await buttons.nth(nth).click();
        directions.push(await heading.getAttribute("aria-sort"));
        assert.equal(await page.locator("#zone-table th[aria-sort$=ending]").count(), 1);
        assertInOrder((await rows(page)).map((cells) => cells[column]), directions[press], name);
      }
      assert.deepEqual(directions.sort(), ["ascending", "descending"], name);
    }
  }));

test("typing narrows the rows down, and clearing brings them back", () =>
  withPage("sample", {}, async (page) => {
    const all = await rows(page);
    // A word that some rows have and others have not.
    const words = new Set(all.flatMap((cells) => cells.join(" ").toLowerCase().match(/[a-z]{5,}/g) ?? []));
    const holding = (word) => all.filter((cells) => cells.join(" ").toLowerCase().includes(word)).length;
    const word = [...words].find((one) => holding(one) > 0 && holding(one) < all.length / 2);
    await page.fill("#zone-filter", word);
    const left = await rows(page);
    assert.ok(left.length > 0 && left.length < all.length, `${word} leaves ${left.length} of ${all.length}`);
    await page.fill("#zone-filter", "no zone has this");
    assert.equal((await rows(page)).length, 0);
    await page.fill("#zone-filter", "");
    assert.deepEqual(await rows(page), all);
  }));

test("of very many zones it shows a page of rows at a time, and all can be reached", () =>
  withPage("zones-2000", {}, async (page) => {
    const seen = new Set();
    for (;;) {
      for (const cells of await rows(page)) seen.add(cells[0]);
      const later = page.locator("#zone-pages button").last();
      if (await later.isDisabled()) break;
      await later.click();
    }
    assert.equal(seen.size, 2_000);
  }));
