// Reads the zone table of a page and the CSV that it gives.
"use strict";

const fs = require("node:fs");

const ROWS = "#zone-table tbody tr:visible:has(button.zone-link)";

/** The headings of the columns as shown. */
async function headings(page) {
  return page.locator("#zone-table thead th").evaluateAll((all) => all.map((one) => one.innerText.trim()));
}

/** The text of the cells of the rows as shown. */
async function rows(page) {
  return page.locator(ROWS).evaluateAll((all) =>
    all.map((row) => [...row.cells].map((cell) => cell.innerText.trim())),
  );
}

/** The records that the CSV button gives, the heading first. */
async function downloadedCsv(page) {
  const coming = page.waitForEvent("download");
  await page.click("#zone-csv");
  const download = await coming;
  return { name: download.suggestedFilename(), records: parse(fs.readFileSync(await download.path(), "utf8")) };
}

/** The records of a CSV text (RFC 4180). */
function parse(text) {
  const records = [[""]];
  let quoted = false;
  const body = text.replace(/^\ufeff/, "").replace(/\r?\n$/, "");
  for (let at = 0; at < body.length; at++) {
    const record = records.at(-1);
    const sign = body[at];
    if (quoted) {
      if (sign !== '"') record[record.length - 1] += sign;
      else if (body[at + 1] === '"') record[record.length - 1] += body[at++];
      else quoted = false;
    } else if (sign === '"') quoted = true;
    else if (sign === ",") record.push("");
    else if (sign === "\n") records.push([""]);
    else if (sign !== "\r") record[record.length - 1] += sign;
  }
  return records;
}

module.exports = { downloadedCsv, headings, rows };
