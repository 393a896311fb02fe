// No rule of WCAG 2 A and AA that axe-core can check is broken, nor its best practices, in light and in dark.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const axe = require("axe-core");
const { withPage, zoneShown, zonesOf } = require("./harness");

const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

/** What axe-core finds, a line for each element. */
async function violations(page) {
  await page.evaluate(axe.source);
  const found = await page.evaluate((values) => axe.run({ runOnly: { type: "tag", values } }), RULES);
  assert.ok(found.passes.length > 20, "axe-core checked next to nothing");
  return found.violations.flatMap(({ id, nodes }) =>
    nodes.map(({ target, failureSummary }) => `${id}: ${target}: ${failureSummary.replaceAll(/\s+/g, " ")}`),
  );
}

for (const name of ["sample", "soil-survey", "documented"]) {
  for (const colorScheme of ["light", "dark"]) {
    test(`${name}: as it opens, ${colorScheme}`, () =>
      withPage(name, { colorScheme }, async (page) => assert.deepEqual(await violations(page), [])));
  }
}

for (const colorScheme of ["light", "dark"]) {
  for (const width of [390, 1440]) {
    test(`with a zone chosen and all details open, ${width} pixels, ${colorScheme}`, () => {
      const options = { colorScheme, viewport: { width, height: 844 }, fragment: `#zone=${zonesOf("sample")[0].id}` };
      return withPage("sample", options, async (page) => {
        await zoneShown(page);
        await page.evaluate(() => document.querySelectorAll("details").forEach((one) => (one.open = true)));
        assert.deepEqual(await violations(page), []);
      });
    });
  }
}
