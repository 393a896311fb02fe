// The buttons and the pointer move the map, and the coordinates under the pointer are told.
"use strict";

const assert = require("node:assert/strict");
const test = require("node:test");
const { otherPicture, picture, withPage } = require("./harness");

test("buttons zoom in and out, and back to the whole site", () =>
  withPage("sample", {}, async (page) => {
    const whole = await picture(page);
    await page.click("#zoom-in");
    const near = await otherPicture(page, whole);
    await page.click("#zoom-in");
    const nearer = await otherPicture(page, near);
    await page.click("#zoom-out");
    await otherPicture(page, nearer);
    await page.click("#whole-site");
    await page.waitForFunction((old) => document.querySelector("#map").toDataURL() === old, whole);
  }));

test("the pointer drags the map", () =>
  withPage("sample", {}, async (page) => {
    const whole = await picture(page);
    await page.click("#zoom-in");
    const near = await otherPicture(page, whole);
    const { x, y, width, height } = await page.locator("canvas#map").boundingBox();
    await page.mouse.move(x + width / 2, y + height / 2);
    await page.mouse.down();
    await page.mouse.move(x + width / 2 + 80, y + height / 2 + 40, { steps: 4 });
    await page.mouse.up();
    await otherPicture(page, near);
  }));

test("coordinates follow the pointer", () =>
  withPage("sample", {}, async (page) => {
    const { x, y, width, height } = await page.locator("canvas#map").boundingBox();
    await page.mouse.move(x + width / 2, y + height / 2);
    await page.waitForFunction(() => /\d/.test(document.querySelector("#coordinates").textContent));
    const middle = await page.innerText("#coordinates");
    await page.mouse.move(x + width / 3, y + height / 3);
    await page.waitForFunction((old) => document.querySelector("#coordinates").innerText !== old, middle);
  }));

/** Easting of a place on the canvas, as the page tells it. */
async function eastingAt(page, x) {
  await page.locator("canvas#map").scrollIntoViewIfNeeded();
  const box = await page.locator("canvas#map").boundingBox();
  await page.mouse.move(box.x + x, box.y + box.height / 2);
  return Number(/; (-?\d+), -?\d+ in/.exec(await page.innerText("#coordinates"))[1]);
}

test("the scale bar is as long as it says, on a telephone too", () =>
  withPage("sample", { viewport: { width: 390, height: 844 } }, async (page) => {
    for (let zooms = 0; zooms < 8; zooms++) {
      await picture(page);
      const { width } = await page.locator("#scale-bar").boundingBox();
      const [, number, unit] = /^([\d.]+) (m|km)$/.exec(await page.innerText("#scale-bar"));
      const metres = Number(number) * (unit === "km" ? 1000 : 1);
      const metresAPixel = ((await eastingAt(page, 300)) - (await eastingAt(page, 20))) / 280;
      const told = width * metresAPixel;
      // Coordinates are whole metres.
      assert.ok(Math.abs(told - metres) < 0.01 * metres + width / 100, `${metres} m are drawn as ${told} m`);
      await page.click("#zoom-in");
    }
  }));

test("only the first button of a mouse chooses a zone", () =>
  withPage("sample", {}, async (page) => {
    await page.click("canvas#map", { button: "right" });
    assert.equal(new URL(page.url()).hash, "");
  }));
