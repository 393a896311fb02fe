// The CSV of the zone table holds the rows that are shown, in the order that is shown.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage } = require("./harness");
const { downloadedCsv, headings, rows } = require("./table");

async function assertCsvIsTable(page) {
  const shown = await rows(page);
  const { name, records } = await downloadedCsv(page);
  assert.match(name, /\.csv$/);
  assert.equal(records[0].length, (await headings(page)).length);
  assert.deepEqual(records.slice(1), shown);
}

test("it is the whole table at first", () => withPage("sample", {}, assertCsvIsTable));

test("it keeps to the filter and the order", () =>
  withPage("sample", {}, async (page) => {
    const all = await rows(page);
    await page.locator("#zone-table th button").nth(1).click();
    await page.fill("#zone-filter", "maple");
    await page.waitForTimeout(500);
    assert.ok((await rows(page)).length < all.length);
    await assertCsvIsTable(page);
  }));

test("names with markup come through letter for letter", () => withPage("marked-up", {}, assertCsvIsTable));
