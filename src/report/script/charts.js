// Charts as drawings, each with its numbers as a table.

/** A chart in its place: title, drawing, and its numbers to unfold and to export. */
function putChart(id, { title, note, drawing, headings, rows }) {
  const figure = byId(id);
  const csv = element("button", { type: "button", onclick: () => saveCsv(`${id}.csv`, headings, rows) }, "Save as CSV");
  const shown = rows.map((row) => row.map((cell) => (typeof cell === "number" ? areaNumber(cell) : cell)));
  figure.replaceChildren(
    element("figcaption", {}, title, note ? element("span", { class: "note" }, ` ${note}`) : null),
    ...[drawing].flat(),
    element("details", {}, element("summary", {}, `Numbers: ${title}`), plainTable(title, headings, shown), csv));
}

const CHART_WIDTH = 640;
const LABEL_WIDTH = 228;
const BAR_HEIGHT = 26;
const LABEL_LETTERS = 28; // as many as LABEL_WIDTH has room for

/** A label of a drawing, cut where it would run out of it; pointed at, it tells the whole. */
function fittedLabel(properties, words) {
  const letters = [...words];
  if (letters.length <= LABEL_LETTERS) return drawn("text", properties, words);
  const cut = `${letters.slice(0, LABEL_LETTERS - 1).join("")}\u2026`;
  return drawn("text", properties, cut, drawn("title", {}, words));
}

/** Bars to the right of their labels, each with its value in words. */
function bars(title, entries) {
  const most = entries.reduce((greatest, { value }) => Math.max(greatest, value), 0) || 1;
  const room = CHART_WIDTH - LABEL_WIDTH - 170;
  const height = Math.max(entries.length, 1) * BAR_HEIGHT + 4;
  const parts = entries.flatMap(({ label, value, words, colour }, at) => {
    const top = at * BAR_HEIGHT + 2;
    const width = (value / most) * room;
    return [
      fittedLabel({ x: LABEL_WIDTH - 8, y: top + 17, "text-anchor": "end" }, label),
      drawn("rect", { x: LABEL_WIDTH, y: top + 3, width: Math.max(width, 0.5), height: BAR_HEIGHT - 6, fill: colour ?? RAMP[3], class: "bar" }),
      drawn("text", { x: LABEL_WIDTH + width + 6, y: top + 17 }, words),
    ];
  });
  const described = `${title}: ${entries.map(({ label, words }) => `${label} ${words}`).join("; ")}`;
  return drawn("svg", { viewBox: `0 0 ${CHART_WIDTH} ${height}`, role: "img", "aria-label": described }, ...parts);
}

function areaBars(title, entries) {
  return bars(title, entries.map((entry) => ({ ...entry, words: areaWords(entry.value) })));
}

function areaRows(entries) {
  return entries.map(({ label, value }) => [label, areaPlain(value)]);
}

function showSiteCharts() {
  const colours = classEntries(false).map(({ colour }) => colour);
  const classes = site.areas.by_class.map((value, place) => ({
    label: place < site.classes.length ? classWords(place) : "no species listed",
    value,
    colour: colours[place],
  })).filter(({ value }) => value > 0);
  putChart("chart-classes", {
    title: "Area by class",
    note: "Each zone counts with the best class of a listed species.",
    drawing: areaBars("Area by class", classes),
    headings: ["Class", `Area (${AREA_UNIT})`],
    rows: areaRows(classes),
  });
  const all = site.areas.limited.reduce((sum, value) => sum + value, 0) || 1;
  const limits = site.areas.limited
    .map((value, place) => ({ label: site.factors[place].words, value, words: shareWords((value / all) * 1000) }))
    .filter(({ value }) => value > 0)
    .sort((a, b) => b.value - a.value);
  putChart("chart-limits", {
    title: "What limits most",
    note: "Share of all ground times species that does not suit, by the factor that limits most there.",
    drawing: bars("What limits most", limits),
    headings: ["Factor", "Share of what does not suit (%)"],
    rows: limits.map(({ label, value }) => [label, (value / all) * 100]),
  });
}
