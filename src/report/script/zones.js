// The table of zones.

function bestWords(zone) {
  const best = site.zones.best[zone];
  return best === null ? "none listed" : classWords(best);
}

function listedNames(zone) {
  return listedIn(zone).map(shortName);
}

const NAMES_SHOWN = 8;

const zoneColumns = [
  {
    heading: "Zone",
    value: (zone) => zone + 1,
    words: (zone) => `zone ${zone + 1} ${site.zones.id[zone]}`,
    cell: (zone) => element("button", {
      type: "button",
      class: "zone-link",
      "data-zone": site.zones.id[zone],
      onclick: () => chooseZone(zone, true),
    }, `Zone ${zone + 1}`),
  },
  { heading: `Area (${AREA_UNIT})`, value: (zone) => Number(areaPlain(site.zones.area_m2[zone]).toFixed(4)), cell: (zone) => areaNumber(areaPlain(site.zones.area_m2[zone])) },
  { heading: "Best class", value: bestWords },
  { heading: "Species listed", value: (zone) => listedCounts[zone] },
  { heading: "Mean rating of the listed", value: (zone) => (Number.isNaN(meanRatings[zone]) ? "" : (meanRatings[zone] / 100).toFixed(2)) },
  {
    heading: "Species",
    value: (zone) => listedNames(zone).join(", "),
    cell: (zone) => {
      const names = listedNames(zone);
      const more = names.length - NAMES_SHOWN;
      return names.slice(0, NAMES_SHOWN).join(", ") + (more > 0 ? ` and ${more} more` : "");
    },
  },
  { heading: "The others are kept out by", value: (zone) => factorNames(site.zones.limited_by[zone]) },
];

let zoneTable = null;

function startZoneTable() {
  zoneTable = new SortedTable({
    table: byId("zone-table"),
    columns: zoneColumns,
    rows: Array.from({ length: zoneCount }, (_, zone) => zone),
    filter: byId("zone-filter"),
    count: byId("zone-rows"),
    pages: byId("zone-pages"),
    csv: byId("zone-csv"),
    fileName: "zones.csv",
  });
}
