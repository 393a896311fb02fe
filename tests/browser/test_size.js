// The page of 20,000 zones stays small enough to send. Times are told and not judged.
"use strict";

const assert = require("node:assert/strict");
const fs = require("node:fs");
const test = require("node:test");
const { drawn, pageFile, withPage, zonesOf } = require("./harness");

test("20,000 zones take less than 30 MB", () => {
  assert.equal(zonesOf("zones-20000").length, 20_000);
  const bytes = fs.statSync(pageFile("zones-20000")).size;
  assert.ok(bytes < 30e6, `${bytes} bytes`);
});

test("how long pages take", async (context) => {
  context.diagnostic("page          zones       MB   first paint   map drawn   another colour");
  for (const name of ["sample", "zones-2000", "zones-20000"]) {
    await withPage(name, {}, async (page) => {
      await page.reload({ waitUntil: "commit" });
      await drawn(page);
      const [paint, map] = await page.evaluate(() => [
        performance.getEntriesByName("first-contentful-paint")[0]?.startTime ?? NaN,
        performance.now(),
      ]);
      const colour = await page.evaluate(async () => {
        const choice = document.querySelector("#colour-by");
        const begin = performance.now();
        choice.value = choice.value === "rating" ? "listed" : "rating";
        choice.dispatchEvent(new Event("input", { bubbles: true }));
        choice.dispatchEvent(new Event("change", { bubbles: true }));
        // Two frames: the first may only have been asked for.
        await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
        return performance.now() - begin;
      });
      const megabytes = (fs.statSync(pageFile(name)).size / 1e6).toFixed(1);
      const times = [paint, map, colour].map((ms) => `${Math.round(ms)} ms`);
      context.diagnostic(
        name.padEnd(12) + String(zonesOf(name).length).padStart(7) + megabytes.padStart(9) +
          times[0].padStart(14) + times[1].padStart(12) + times[2].padStart(17),
      );
    });
  }
});
