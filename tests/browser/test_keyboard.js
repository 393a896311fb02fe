// The map is worked with keys alone: reached with Tab, panned, zoomed, and walked zone by zone.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { otherPicture, picture, withPage, zoneInAddress, zoneShown, zonesOf } = require("./harness");

/** Presses Tab until the map has the focus. */
async function tabToMap(page) {
  for (let presses = 0; presses < 60; presses++) {
    await page.keyboard.press("Tab");
    if (await page.evaluate(() => document.activeElement.id === "map")) return;
  }
  assert.fail("60 presses of Tab did not reach the map");
}

test("Tab reaches the map and leaves it again", () =>
  withPage("sample", {}, async (page) => {
    await tabToMap(page);
    await page.keyboard.press("Tab");
    assert.notEqual(await page.evaluate(() => document.activeElement.id), "map");
  }));

test("] and [ walk through the zones and back", () =>
  withPage("sample", {}, async (page) => {
    await tabToMap(page);
    await page.keyboard.press("]");
    const first = await zoneShown(page);
    const id = zoneInAddress(page);
    await page.keyboard.press("]");
    const second = await zoneShown(page, first);
    assert.notEqual(zoneInAddress(page), id);
    await page.keyboard.press("[");
    assert.equal(await zoneShown(page, second), first);
    assert.equal(zoneInAddress(page), id);
    assert.equal(await page.evaluate(() => document.activeElement.id), "map", "the focus left the map");
  }));

test("arrows pan, plus and minus zoom, and the view comes back", () =>
  withPage("sample", {}, async (page) => {
    await tabToMap(page);
    const whole = await picture(page);
    await page.keyboard.press("+");
    const near = await otherPicture(page, whole);
    await page.keyboard.press("ArrowRight");
    const east = await otherPicture(page, near);
    await page.keyboard.press("ArrowDown");
    const south = await otherPicture(page, east);
    await page.keyboard.press("ArrowUp");
    await otherPicture(page, south);
    await page.keyboard.press("ArrowLeft");
    await page.waitForFunction((old) => document.querySelector("#map").toDataURL() === old, near);
    await page.keyboard.press("-");
    await otherPicture(page, near);
  }));

test("Enter opens the zone in the middle", () =>
  withPage("zones-2000", {}, async (page) => {
    await tabToMap(page);
    await page.keyboard.press("Enter");
    const shown = await zoneShown(page);
    await page.keyboard.press("]");
    await zoneShown(page, shown);
    await page.click("canvas#map");
    await zoneShown(page);
  }));

test("the keys stay with a button that shows other zones or rows", () =>
  withPage("zones-2000", { fragment: `#zone=${zonesOf("zones-2000")[0].id}` }, async (page) => {
    const zone = await zoneShown(page);
    await page.focus("#next-zone");
    await page.keyboard.press("Enter");
    await zoneShown(page, zone);
    assert.equal(await page.evaluate(() => document.activeElement.id), "next-zone");
    await page.locator("#zone-pages button").last().focus();
    await page.keyboard.press("Enter");
    assert.equal(await page.evaluate(() => document.activeElement.textContent), "Later rows");
    await page.locator("#zone-pages button").first().focus();
    await page.keyboard.press("Enter");
    assert.equal(await page.evaluate(() => document.activeElement.textContent), "Later rows");
    await page.getByRole("button", { name: "Show it on the map" }).focus();
    await page.keyboard.press("Enter");
    assert.equal(await page.evaluate(() => document.activeElement.id), "map");
  }));
