// The file and what its script makes of it are valid HTML (html-validate, rules of the standard and of WCAG).
"use strict";

const assert = require("node:assert/strict");
const fs = require("node:fs");
const test = require("node:test");
const { HtmlValidate } = require("html-validate");
const { pageFile, withPage, zoneShown, zonesOf } = require("./harness");

const checker = new HtmlValidate({
  root: true,
  extends: ["html-validate:standard", "html-validate:a11y"],
  // A matter of taste: a `div` that scrolls may well be a region, it need not be a `section`.
  rules: { "prefer-native-element": "off" },
});

async function faults(html) {
  const report = await checker.validateString(html);
  return report.results.flatMap(({ messages }) =>
    messages.map(({ line, column, ruleId, message }) => `${line}:${column} ${ruleId}: ${message}`),
  );
}

test("the checker finds faults", async () => {
  assert.notDeepEqual(await faults("<!DOCTYPE html><p id='a'>one<p id='a'>two</b>"), []);
});

for (const name of ["sample", "ground", "soil-survey", "documented", "marked-up"]) {
  test(`${name}: the file`, async () => {
    assert.deepEqual(await faults(fs.readFileSync(pageFile(name), "utf8")), []);
  });

  test(`${name}: the page with a zone chosen`, () =>
    withPage(name, { fragment: `#zone=${zonesOf(name)[0].id}` }, async (page) => {
      await zoneShown(page);
      assert.deepEqual(await faults(await page.content()), []);
    }));
}
