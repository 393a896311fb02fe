// Printed on A4 and on Letter, the page has numbered sheets with the zone table and the method on them.
"use strict";

const assert = require("node:assert/strict");
const { execFileSync } = require("node:child_process");
const fs = require("node:fs");
const os = require("node:os");
const path = require("node:path");
const test = require("node:test");
const { withPage, zonesOf } = require("./harness");

/** The sheets of a PDF: their size in points and the text of each (poppler). */
function sheets(pdf) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "groundfit-print-"));
  try {
    const file = path.join(folder, "page.pdf");
    fs.writeFileSync(file, pdf);
    const about = execFileSync("pdfinfo", [file], { encoding: "utf8" });
    const [, width, height] = /Page size:\s+([\d.]+) x ([\d.]+)/.exec(about);
    const text = execFileSync("pdftotext", ["-layout", file, "-"], { encoding: "utf8" });
    return { size: [Number(width), Number(height)], texts: text.split("\f").slice(0, -1) };
  } finally {
    fs.rmSync(folder, { recursive: true });
  }
}

for (const [format, size] of [["A4", [595, 842]], ["Letter", [612, 792]]]) {
  test(`${format}: numbered sheets with the zones and the method`, () =>
    withPage("sample", {}, async (page) => {
      const printed = sheets(await page.pdf({ format }));
      // Browsers round the sheet to their own pixels.
      printed.size.forEach((points, side) => assert.ok(Math.abs(points - size[side]) < 2, `${printed.size} points`));
      assert.ok(printed.texts.length > 1, `${printed.texts.length} sheets`);
      printed.texts.forEach((text, at) => {
        const number = new RegExp(`(page\\s+${at + 1}\\b|\\b${at + 1}\\s*(of|/)\\s*${printed.texts.length}\\b)`, "i");
        assert.match(text, number, `sheet ${at + 1} has no number`);
      });
      const all = printed.texts.join("\n");
      assert.match(all, /method/i);
      for (const { properties } of zonesOf("sample")) {
        assert.match(all, new RegExp(`^\\s*(Zone )?${properties.zone}\\s+\\S.*`, "m"), `zone ${properties.zone}`);
      }
    }));
}

test("of very many zones the first are printed, and that is told", () =>
  withPage("zones-2000", {}, async (page) => {
    const { texts } = sheets(await page.pdf({ format: "A4" }));
    assert.ok(texts.length < 100, `${texts.length} sheets`);
    assert.match(texts.join("\n"), /first \d+ of 2000 rows/);
  }));

test("the chosen zone gets a page of its own on wish", async () => {
  const zone = zonesOf("sample").find((feature) => feature.properties.species.length > 3);
  await withPage("sample", { fragment: `#zone=${zone.id}` }, async (page) => {
    await page.selectOption("#print-zones", "table");
    const without = sheets(await page.pdf({ format: "A4" })).texts;
    await page.selectOption("#print-zones", "chosen");
    const { texts } = sheets(await page.pdf({ format: "A4" }));
    assert.ok(texts.length > without.length);
    const own = texts.find((text) => new RegExp(`^\\s*Zone ${zone.properties.zone}: `, "m").test(text));
    assert.ok(own, "no sheet is headed by the zone");
  });
});

test("the legend stands on the sheet of the map, and warnings are printed whole", () =>
  withPage("sample", { fragment: `#zone=${zonesOf("sample")[0].id}` }, async (page) => {
    const warnings = await page.locator("#warnings li").allTextContents();
    assert.ok(warnings.length > 0);
    for (const format of ["A4", "Letter"]) {
      const { texts } = sheets(await page.pdf({ format }));
      for (const words of await page.locator("#legend li").allTextContents()) {
        assert.ok(texts[0].includes(words), `${words} is not on the first sheet of ${format}`);
      }
      const all = texts.join(" ").replaceAll(/\s+/g, " ");
      for (const warning of warnings) assert.ok(all.includes(warning.replaceAll(/\s+/g, " ")), warning);
      assert.ok(!all.includes("Read its card"));
    }
    assert.equal(await page.locator("#warnings").evaluate((part) => part.open), false);
  }));
