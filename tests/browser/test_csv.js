// The CSV of the zone table holds the rows that are shown, in the order that is shown.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage, zonesOf } = require("./harness");
const { downloadedCsv, headings, rows } = require("./table");

/** Whether a field says in full what a cell of the table says in short. */
function isInFull(field, cell) {
  const shortened = /^(.*) and (\d+) more$/.exec(cell);
  if (shortened) {
    const rest = field.slice(shortened[1].length).split(", ").slice(1);
    return field.startsWith(shortened[1]) && rest.length === Number(shortened[2]);
  }
  if (/^\d+\.\d+$/.test(cell)) {
    const step = 10 ** -cell.split(".")[1].length;
    return Math.abs(Number(field) - Number(cell)) <= step * 0.5001;
  }
  return field === cell || `Zone ${field}` === cell;
}

async function assertCsvIsTable(page) {
  const shown = await rows(page);
  const { name, records } = await downloadedCsv(page);
  assert.match(name, /\.csv$/);
  assert.deepEqual(records[0], await headings(page));
  assert.equal(records.length - 1, shown.length);
  shown.forEach((cells, at) =>
    cells.forEach((cell, column) => {
      const field = records[at + 1][column];
      assert.ok(isInFull(field, cell), `row ${at + 1}, ${records[0][column]}: ${field} for ${cell}`);
    }),
  );
}

test("it is the whole table at first", () => withPage("sample", {}, assertCsvIsTable));

test("it keeps to the filter and the order", () =>
  withPage("sample", {}, async (page) => {
    const all = await rows(page);
    await page.locator("#zone-table th button").nth(1).click();
    await page.fill("#zone-filter", "maple");
    assert.ok((await rows(page)).length < all.length);
    await assertCsvIsTable(page);
  }));

test("names with markup come through letter for letter", () => withPage("marked-up", {}, assertCsvIsTable));

test("of very many zones it holds all, not only the rows of the page", () =>
  withPage("zones-2000", {}, async (page) => {
    const { records } = await downloadedCsv(page);
    assert.equal(records.length - 1, 2_000);
    const areas = zonesOf("zones-2000").map(({ properties }) => properties.area_ha);
    records.slice(1).forEach((record, at) => assert.ok(Math.abs(Number(record[1]) - areas[at]) < 1e-4, `zone ${at + 1}`));
  }));
