// The bloom calendar: which species flowers when.

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const MONTH_WIDTH = 34;
const ROW_HEIGHT = 20;

/** Species that are listed in the chosen zone, or anywhere when none is chosen. */
function calendarSpecies() {
  if (state.zone !== null) return listedIn(state.zone);
  const listed = new Set();
  for (let zone = 0; zone < zoneCount; zone += 1) {
    for (const species of listedIn(zone)) listed.add(species);
  }
  return [...listed];
}

function bloomWords(bloom) {
  const months = MONTHS.filter((_, month) => bloom[month]);
  return months.length > 0 ? months.join(", ") : "none";
}

function calendarDrawing(rows) {
  const top = 22;
  const head = MONTHS.map((month, at) =>
    drawn("text", { x: LABEL_WIDTH + at * MONTH_WIDTH + MONTH_WIDTH / 2, y: 14, "text-anchor": "middle" }, month));
  const lines = rows.flatMap((species, at) => {
    const y = top + at * ROW_HEIGHT;
    const { bloom } = site.species[species];
    const months = MONTHS.flatMap((_, month) => (bloom[month]
      ? [drawn("rect", { x: LABEL_WIDTH + month * MONTH_WIDTH, y: y + 3, width: MONTH_WIDTH, height: ROW_HEIGHT - 6, fill: RAMP[3] })]
      : []));
    return [
      drawn("line", { x1: 0, x2: LABEL_WIDTH + 12 * MONTH_WIDTH, y1: y + ROW_HEIGHT, y2: y + ROW_HEIGHT, class: "rule" }),
      fittedLabel({ x: LABEL_WIDTH - 8, y: y + 14, "text-anchor": "end" }, shortName(species)),
      ...months,
    ];
  });
  return drawn("svg", {
    viewBox: `0 0 ${CHART_WIDTH} ${top + rows.length * ROW_HEIGHT + 4}`,
    role: "img",
    "aria-label": `Bloom calendar of ${rows.length} species; the months of each stand in the table below`,
  }, ...head, ...lines);
}

function showCalendar() {
  const species = calendarSpecies();
  const first = (place) => site.species[place].bloom.indexOf(1);
  const recorded = species
    .filter((place) => site.species[place].bloom !== null)
    .sort((a, b) => first(a) - first(b) || shortName(a).localeCompare(shortName(b), "en"));
  const missing = species.length - recorded.length;
  const where = state.zone === null ? "any zone" : `zone ${state.zone + 1}`;
  putChart("chart-bloom", {
    title: `Bloom calendar of the species listed in ${where}`,
    note: missing > 0 ? `Of ${missing} more no months are recorded.` : "",
    drawing: recorded.length > 0 ? calendarDrawing(recorded) : element("p", {}, "No months of flowering are recorded for these species."),
    headings: ["Species", "Flowers in"],
    rows: recorded.map((place) => [speciesWords(place), bloomWords(site.species[place].bloom)]),
  });
}
