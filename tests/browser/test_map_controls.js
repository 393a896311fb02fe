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
