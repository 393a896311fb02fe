// Every chart has its numbers beside it.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { withPage } = require("./harness");

for (const name of ["sample", "zones-20000"]) {
  test(`${name}: each chart has a caption and a table of its numbers`, () =>
    withPage(name, {}, async (page) => {
      const charts = await page.locator("figure.chart").evaluateAll((all) =>
        all.map((chart) => ({
          caption: chart.querySelector("figcaption")?.textContent.trim() ?? "",
          drawings: chart.querySelectorAll("svg, canvas").length,
          rows: chart.querySelectorAll("details table tr").length,
        })),
      );
      assert.ok(charts.length > 0, "there are no charts");
      for (const chart of charts) {
        assert.notEqual(chart.caption, "");
        assert.ok(chart.drawings > 0 && chart.rows > 1, JSON.stringify(chart));
      }
    }));
}

// The soil survey has factors with long names of classes.
for (const name of ["soil-survey", "marked-up"]) {
  test(`${name}: no label runs out of its drawing`, () =>
    withPage(name, {}, async (page) => {
      const factors = await page.locator("#factor-choice option").evaluateAll((all) => all.map((one) => one.value));
      for (const factor of factors) {
        await page.selectOption("#factor-choice", factor);
        const cut = await page.locator("figure.chart svg text").evaluateAll((all) => all.filter((text) => {
          const [one, around] = [text.getBoundingClientRect(), text.ownerSVGElement.getBoundingClientRect()];
          return one.left < around.left - 1 || one.right > around.right + 1 || one.bottom > around.bottom + 1;
        }).map((text) => text.textContent));
        assert.deepEqual(cut, []);
      }
    }));
}
