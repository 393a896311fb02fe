// What the file itself says: a strict content security policy, and no code or style outside of its own elements.
"use strict";

const assert = require("node:assert/strict");
const fs = require("node:fs");
const test = require("node:test");
const { pageFile, withPage } = require("./harness");

/** The attributes of the file as written, before any script ran. */
async function writtenAttributes(page, name) {
  const text = fs.readFileSync(pageFile(name), "utf8");
  return page.evaluate((written) => {
    const parsed = new DOMParser().parseFromString(written, "text/html");
    return [...parsed.querySelectorAll("*")].flatMap((element) =>
      [...element.attributes].map(({ name, value }) => ({ element: element.localName, name, value })),
    );
  }, text);
}

for (const name of ["sample", "marked-up"]) {
  test(`${name}: no handlers, no style attributes and no addresses stand in the file`, () =>
    withPage(name, {}, async (page) => {
      await page.goto("about:blank");
      const attributes = await writtenAttributes(page, name);
      assert.ok(attributes.length > 50, "the file was not read");
      assert.deepEqual(attributes.filter((one) => /^on/i.test(one.name) || one.name === "style"), []);
      const fetching = ["src", "srcset", "data", "action", "formaction", "poster", "background"];
      const addresses = attributes.filter((one) => fetching.includes(one.name) && !/^data:/.test(one.value));
      assert.deepEqual(addresses, []);
      assert.deepEqual(attributes.filter((one) => one.element === "link" && one.name === "href" && !/^data:/.test(one.value)), []);
    }));

  test(`${name}: the policy allows the page's own code alone`, () =>
    withPage(name, {}, async (page) => {
      const policy = await page.getAttribute('meta[http-equiv="Content-Security-Policy" i]', "content");
      const rules = new Map(policy.split(";").map((rule) => {
        const [directive, ...sources] = rule.trim().split(/\s+/);
        return [directive.toLowerCase(), sources];
      }));
      assert.deepEqual(rules.get("default-src"), ["'none'"]);
      // These two do not follow default-src.
      assert.deepEqual(rules.get("base-uri"), ["'none'"]);
      assert.deepEqual(rules.get("form-action"), ["'none'"]);
      for (const directive of ["script-src", "style-src"]) {
        for (const source of rules.get(directive)) assert.match(source, /^'sha(256|384|512)-[\w+/=]+'$/, directive);
      }
      for (const [directive, sources] of rules) {
        for (const source of sources) assert.match(source, /^('none'|'sha\d+-[\w+/=]+'|data:|blob:)$/, directive);
      }
    }));
}

test("code that is put into the page does not run", () =>
  withPage("sample", { expected: /inline script/i }, async (page) => {
    const ran = await page.evaluate(() => {
      window.ran = false;
      const script = document.createElement("script");
      script.textContent = "window.ran = true";
      document.body.append(script);
      return window.ran;
    });
    assert.equal(ran, false);
  }));
