// What colours, hatchings and lines of the map mean.

const SWATCH = { width: 36, height: 20 };

/** An entry with a small drawing. */
function legendEntry(words, draw) {
  const swatch = element("canvas", { ...SWATCH, "aria-hidden": "true" });
  draw(swatch.getContext("2d"));
  return element("li", {}, swatch, words);
}

function filledEntry(words, fill) {
  return legendEntry(words, (pen) => {
    pen.fillStyle = typeof fill === "string" ? fill : pen.createPattern(hatchingTile(fill, 1), "repeat");
    pen.fillRect(0, 0, SWATCH.width, SWATCH.height);
    pen.strokeRect(0.5, 0.5, SWATCH.width - 1, SWATCH.height - 1);
  });
}

function lineEntry({ kind, name }) {
  return legendEntry(kind === "keep-out" ? `keep-out: ${name}` : name, (pen) => {
    pen.fillStyle = "#ffffff";
    pen.fillRect(0, 0, SWATCH.width, SWATCH.height);
    for (const [colour, width, dashes] of STROKES[kind]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.setLineDash(dashes);
      pen.beginPath();
      pen.moveTo(0, SWATCH.height / 2);
      pen.lineTo(SWATCH.width, SWATCH.height / 2);
      pen.stroke();
    }
  });
}

/** Shows the colours of a scale that some zone has, and all else that is on the map. */
function showLegend(scale) {
  const used = new Set(Array.from({ length: zoneCount }, (_, zone) => scale.of(zone)));
  const colours = scale.entries.map(({ colour, words }, place) =>
    (used.has(place) ? filledEntry(words, COLOUR_HATCHINGS.get(colour) ?? colour) : null));
  const causes = site.map.not_rated === null ? [] : site.map.not_rated.causes;
  byId("legend").replaceChildren(
    element("p", {}, scale.title),
    element("ul", {},
      colours,
      causes.map((cause, place) => filledEntry(`not rated: ${cause}`, hatchingOf(place))),
      site.map.lines.map(lineEntry)));
}
