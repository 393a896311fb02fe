// What stands on paper and not on the screen: the whole map, all rows, pages of zones.

const PRINTED_ROWS = 500;
const PRINTED_ZONES = 50;
const PAPER_PIXELS = 1800;

function printMap() {
  const paper = byId("print-map");
  const ratio = Math.min(Math.max(site.grid.rows / site.grid.cols, 0.5), 1.1);
  paper.width = PAPER_PIXELS;
  paper.height = Math.round(PAPER_PIXELS * ratio);
  const density = PAPER_PIXELS / 700;
  const size = { width: paper.width / density, height: paper.height / density };
  paint(paper, wholeView(size, density), { paths: shown.paths, chosen: state.zone, showRelief: shown.relief, middle: false });
}

/** The zones that get pages of their own. */
function printedZones() {
  const choice = byId("print-zones").value;
  if (choice === "chosen") return state.zone === null ? [] : [state.zone];
  return choice === "table" ? [] : zoneTable.shown().slice(0, PRINTED_ZONES);
}

function printZones() {
  const pages = printedZones().map((zone) => {
    const page = element("article", { class: "zone-page" }, element("h3", {}, zoneHeading(zone)),
      ...zoneParts(zone).filter((part) => part !== null));
    page.querySelectorAll("details").forEach((part) => { part.open = true; });
    return page;
  });
  byId("print-pages").replaceChildren(...pages);
}

/** All rows of a table that pass its filter, as far as paper goes. */
function printRows(table) {
  const rows = table.shown();
  table.body.replaceChildren(...table.bodyRows(rows.slice(0, PRINTED_ROWS)));
  return rows.length;
}

/** What is folded on the screen and must not be missed on paper. */
const warnings = { part: byId("warnings"), wasOpen: false };

window.addEventListener("beforeprint", () => {
  if (warnings.part !== null) {
    warnings.wasOpen = warnings.part.open;
    warnings.part.open = true;
  }
  printMap();
  printZones();
  const rows = printRows(zoneTable);
  byId("print-rows").textContent = rows > PRINTED_ROWS
    ? `The first ${PRINTED_ROWS} of ${rows} rows; the files hold all.` : "";
  printRows(speciesTable);
});
window.addEventListener("afterprint", () => {
  if (warnings.part !== null) warnings.part.open = warnings.wasOpen;
  byId("print-pages").replaceChildren();
  zoneTable.show();
  speciesTable.show();
});
