// Opens a page that groundfit wrote in the browser of the system and notes what must never happen there.
//
// GROUNDFIT_PAGES is the folder that make_pages.js filled, GROUNDFIT_BROWSER the browser. Each page gets a
// browser of its own, so that no test leaves anything behind for the next.
"use strict";

const assert = require("node:assert/strict");
const fs = require("node:fs");
const path = require("node:path");
const { pathToFileURL } = require("node:url");
const { chromium } = require("playwright-core");

/** The file of a page, by the name that make_pages.js gave it. */
function pageFile(name) {
  const folder = process.env.GROUNDFIT_PAGES;
  assert.ok(folder, "GROUNDFIT_PAGES is not set: run scripts/browser-checks");
  return path.join(folder, name, "report.html");
}

/** The zones that the same run wrote as GeoJSON: what the page must agree with. */
function zonesOf(name) {
  const file = path.join(path.dirname(pageFile(name)), "zones.geojson");
  return JSON.parse(fs.readFileSync(file, "utf8")).features;
}

/**
 * Opens a page, waits for its map, hands it to `work`, and then fails if the console told an error, a script
 * threw, a dialog came up, or anything but the file itself was asked for.
 *
 * Options: those of a browser context (viewport, colorScheme), `fragment`, which follows the address, and
 * `expected`, the errors that a test brings about by itself.
 */
async function withPage(name, { fragment = "", expected = /^$/, ...options }, work) {
  const browser = await chromium.launch({
    executablePath: process.env.GROUNDFIT_BROWSER ?? "/usr/bin/chromium",
    // The sandbox of the browser does not work for root.
    chromiumSandbox: process.getuid() !== 0,
  });
  try {
    const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
    const page = await context.newPage();
    const address = pathToFileURL(pageFile(name)).href;
    const amiss = watch(page, address);
    await page.goto(address + fragment);
    await drawn(page);
    await work(page);
    assert.deepEqual(amiss.filter((one) => !expected.test(one)), []);
  } finally {
    await browser.close();
  }
}

/** A list that fills with errors, dialogs and requests as they happen. */
function watch(page, address) {
  const amiss = [];
  page.on("console", (message) => {
    if (["error", "warning"].includes(message.type())) amiss.push(`console: ${message.text()}`);
  });
  page.on("pageerror", (error) => amiss.push(`script: ${error}`));
  page.on("dialog", (dialog) => {
    amiss.push(`dialog: ${dialog.message()}`);
    return dialog.dismiss();
  });
  page.on("request", (request) => {
    const asked = request.url().split("#")[0];
    // What a page makes of its own bytes leaves it no more than its text does.
    if (asked !== address && !/^(data|blob):/.test(asked)) amiss.push(`request: ${asked}`);
  });
  return amiss;
}

/** Waits until the map is painted. */
async function drawn(page) {
  await page.waitForSelector("canvas#map[data-state=drawn]", { timeout: 120_000 });
}

/** The picture on the map's canvas as text, once it holds still. */
async function picture(page) {
  await drawn(page);
  const now = () => page.evaluate(() => document.querySelector("canvas#map").toDataURL());
  for (let last = await now(); ; ) {
    await page.waitForTimeout(250);
    const next = await now();
    if (next === last) return next;
    last = next;
  }
}

/** Waits until the picture is another one than before; gives the new one. */
async function otherPicture(page, before) {
  const another = (old) => {
    const map = document.querySelector("canvas#map");
    return map.dataset.state === "drawn" && map.toDataURL() !== old;
  };
  await page.waitForFunction(another, before, { timeout: 10_000 });
  return picture(page);
}

/** The heading of the zone card, once it names a zone other than `before`. */
async function zoneShown(page, before = "") {
  const heading = page.locator("#zone-card").locator("h1, h2, h3, h4").filter({ hasText: /Zone \d+/ });
  await heading.filter(before ? { hasNotText: new RegExp(`^${before}\\b`) } : {}).first().waitFor({ timeout: 10_000 });
  return /Zone \d+/.exec(await heading.first().innerText())[0];
}

/** The stable id in the address. */
function zoneInAddress(page) {
  return decodeURIComponent(/#zone=([^&]+)/.exec(page.url())?.[1] ?? "");
}

module.exports = { drawn, otherPicture, pageFile, picture, withPage, zoneInAddress, zoneShown, zonesOf };
