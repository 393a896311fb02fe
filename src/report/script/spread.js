// How a factor is spread over the site, with what the chosen species stands of it.

const SPREAD_HEIGHT = 220;
const SPREAD_TOP = 12;
const SPREAD_LEFT = 176; // class names run down to the left
const SPREAD_RIGHT = CHART_WIDTH - 44;

/** Names of the steps or classes of a factor. */
function stepNames(factor) {
  if (factor.classes.length > 0) return factor.classes;
  const { limits, areas_m2: areas } = factor.spread;
  return areas.map((_, step) => `${numberWords(factor, limits[step])} to ${numberWords(factor, limits[step + 1])}`);
}

function across(share) {
  return SPREAD_LEFT + share * (SPREAD_RIGHT - SPREAD_LEFT);
}

function up(share) {
  return SPREAD_TOP + (1 - share) * SPREAD_HEIGHT;
}

/** A species' score along a factor: a line over numbers, a dot for each class. */
function toleranceMarks(factor, scores, isFirst) {
  const dashes = isFirst ? {} : { "stroke-dasharray": "6 3" };
  if (factor.classes.length > 0) {
    return scores.flatMap((score, place) => (score === null ? [] : [
      drawn("circle", { cx: across((place + 0.5) / factor.classes.length), cy: up(score), r: 6, class: "tolerance-dot" }),
    ]));
  }
  const points = scores.flatMap((score, at) => (score === null ? [] : [`${across(at / (scores.length - 1))},${up(score)}`]));
  return [drawn("polyline", { points: points.join(" "), class: "tolerance-line", ...dashes })];
}

function axisLabels(factor) {
  const below = SPREAD_TOP + SPREAD_HEIGHT + 16;
  if (factor.classes.length > 0) {
    return factor.classes.map((name, place) => {
      const x = across((place + 0.5) / factor.classes.length);
      return fittedLabel({ x, y: below, "text-anchor": "end", transform: `rotate(-35 ${x} ${below})` }, name);
    });
  }
  const { limits } = factor.spread;
  return [0, 0.5, 1].map((share) => {
    const value = limits[0] + share * (limits[limits.length - 1] - limits[0]);
    const anchor = { 0: "start", 1: "end" }[share] ?? "middle";
    return drawn("text", { x: across(share), y: below, "text-anchor": anchor }, numberWords(factor, value));
  });
}

function spreadDrawing(factor, opinions, described) {
  const { areas_m2: areas } = factor.spread;
  const most = Math.max(...areas, 1);
  const steps = areas.map((area, step) => drawn("rect", {
    x: across(step / areas.length) + 0.5,
    y: up(area / most),
    width: Math.max((SPREAD_RIGHT - SPREAD_LEFT) / areas.length - 1, 0.5),
    height: (area / most) * SPREAD_HEIGHT,
    class: "spread",
  }));
  const marks = opinions.flatMap((opinion, at) => toleranceMarks(factor, opinion.scores, at === 0));
  const sides = [
    drawn("text", { x: SPREAD_LEFT - 8, y: up(1) + 10, "text-anchor": "end" }, "most"),
    drawn("text", { x: SPREAD_LEFT - 8, y: up(1) + 25, "text-anchor": "end" }, "area"),
    drawn("text", { x: SPREAD_RIGHT + 6, y: up(1) + 10 }, "1"),
    drawn("text", { x: SPREAD_RIGHT + 6, y: up(0) }, "0"),
    drawn("line", { x1: SPREAD_LEFT, x2: SPREAD_RIGHT, y1: up(0), y2: up(0), class: "rule" }),
  ];
  const height = SPREAD_TOP + SPREAD_HEIGHT + (factor.classes.length > 0 ? 155 : 24);
  return drawn("svg", { viewBox: `0 0 ${CHART_WIDTH} ${height}`, role: "img", "aria-label": described }, ...steps, ...sides, ...axisLabels(factor), ...marks);
}

function showSpread() {
  const place = Number(byId("factor-choice").value);
  const factor = site.factors[place];
  const opinions = site.species[state.species].opinions.filter((opinion) => opinion.factor === place);
  const name = shortName(state.species);
  const title = `${factor.words} over the site, and what ${name} stands`;
  const areas = factor.spread.areas_m2;
  const scoreOf = (opinion, step) => {
    const score = opinion.scores[factor.classes.length > 0 ? step : 2 * step + 1];
    return score === null ? "no opinion" : score.toFixed(2);
  };
  const given = (opinion) => `Score of ${name}${opinion.given === "" ? "" : ` where ${opinion.given}`}`;
  const rows = stepNames(factor).map((words, step) =>
    [words, areaPlain(areas[step]), ...opinions.map((opinion) => scoreOf(opinion, step))]);
  const rest = [["without a value", factor.spread.missing_m2], [factor.beyond, factor.spread.beyond_m2]];
  for (const [words, area] of rest) {
    if (area > 0) rows.push([words, areaPlain(area), ...opinions.map(() => "")]);
  }
  const told = opinions.length === 0 ? `${name} has no opinion on it.`
    : opinions.map((opinion, at) => `${opinions.length > 1 ? `${at === 0 ? "Whole line" : "Dashed line"}: where ${opinion.given || "nothing else is said"}. ` : ""}`).join("");
  putChart("chart-spread", {
    title,
    note: `Bars: area${factor.spread.by_means ? ", each zone with its mean" : ""}. Line or dots: score from 0 to 1. ${told}`,
    drawing: areas.length > 0 ? spreadDrawing(factor, opinions, `${title}; the numbers stand in the table below`) : element("p", {}, "It has no value anywhere."),
    headings: [factor.words, `Area (${AREA_UNIT})`, ...opinions.map(given)],
    rows,
  });
}
