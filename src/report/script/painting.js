// Paints the map onto any canvas, for the screen and for paper.

const borderPath = new Path2D(site.map.borders.map((steps) => linePath(steps)).join(""));

const LINE_PARTS = 10; // lines beside the zones are written in tenths of a cell
const linePaths = site.map.lines.map(({ kind, courses }) =>
  ({ kind, path: new Path2D(courses.map((steps) => linePath(steps, LINE_PARTS)).join("")) }));

const masks = causeMasks();

const relief = (() => {
  if (site.map.relief === null) return null;
  const picture = new Image();
  picture.src = site.map.relief.picture;
  return picture;
})();

const zonePaths = site.map.rings.map((_, zone) => zonePath(zone));

/** One path for each colour of a scale. */
function coloured(scale) {
  const texts = scale.entries.map(() => []);
  for (let zone = 0; zone < zoneCount; zone += 1) texts[scale.of(zone)].push(zonePaths[zone]);
  return texts.map((text, place) => ({ path: new Path2D(text.join("")), colour: scale.entries[place].colour }));
}

/**
 * Paints a view: `left` and `top` are the place of its north-west corner in cells, `scale` the
 * pixels of a cell, `density` the pixels of the canvas for one of the page.
 */
function paint(canvas, view, { paths, chosen, showRelief, middle }) {
  const pen = canvas.getContext("2d");
  const { left, top, scale, density } = view;
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.fillStyle = "#ffffff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  const size = scale * density;
  pen.setTransform(size, 0, 0, size, -left * size, -top * size);
  const hatching = (kind) => {
    const pattern = pen.createPattern(hatchingTile(kind, density), "repeat");
    pattern.setTransform(new DOMMatrix([1 / size, 0, 0, 1 / size, left, top]));
    return pattern;
  };
  for (const { path, colour } of paths) {
    pen.fillStyle = COLOUR_HATCHINGS.has(colour) ? hatching(COLOUR_HATCHINGS.get(colour)) : colour;
    pen.fill(path);
  }
  paintNotRated(pen, canvas, size, view);
  if (showRelief && relief !== null && relief.complete) {
    pen.globalCompositeOperation = "multiply";
    pen.drawImage(relief, 0, 0, site.map.relief.cols, site.map.relief.rows);
    pen.globalCompositeOperation = "source-over";
  }
  paintLines(pen, size, density);
  if (chosen !== null) paintChosen(pen, chosen, size, density);
  if (middle) paintMiddle(pen, canvas, density);
}

function paintNotRated(pen, canvas, size, { left, top, density }) {
  if (masks.length === 0) return;
  const { cell, cols, rows } = site.map.not_rated;
  masks.forEach((mask, cause) => {
    const layer = document.createElement("canvas");
    layer.width = canvas.width;
    layer.height = canvas.height;
    const ink = layer.getContext("2d");
    ink.imageSmoothingEnabled = false;
    ink.setTransform(size, 0, 0, size, -left * size, -top * size);
    ink.drawImage(mask, 0, 0, cols * cell, rows * cell);
    ink.setTransform(1, 0, 0, 1, 0, 0);
    ink.globalCompositeOperation = "source-in";
    ink.fillStyle = ink.createPattern(hatchingTile(hatchingOf(cause), density), "repeat");
    ink.fillRect(0, 0, layer.width, layer.height);
    pen.save();
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.drawImage(layer, 0, 0);
    pen.restore();
  });
}

/** How lines are drawn: colour, width and dashes in pixels, one stroke over the other. */
const STROKES = {
  road: [["#1d1d1d", 4, []], ["#ffffff", 2, []]],
  line: [["#1d1d1d", 1.5, []]],
  "keep-out": [["#1d1d1d", 1.2, [2, 2]]],
  boundary: [["#ffffff", 4, []], ["#1d1d1d", 2, [8, 3]]],
};

function paintLines(pen, size, density) {
  const width = (pixels) => (pixels * density) / size;
  // Where zones are small on the screen their borders would cover them.
  const usual = Math.sqrt((site.grid.rows * site.grid.cols) / Math.max(zoneCount, 1)) * (size / density);
  pen.strokeStyle = `rgba(40, 40, 40, ${Math.min(0.6, usual / 60)})`;
  pen.lineWidth = width(0.7);
  pen.stroke(borderPath);
  pen.lineJoin = "round";
  for (const { kind, path } of linePaths) {
    for (const [colour, pixels, dashes] of STROKES[kind]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width(pixels);
      pen.setLineDash(dashes.map(width));
      pen.stroke(path);
    }
  }
  pen.setLineDash([]);
}

function paintChosen(pen, zone, size, density) {
  const path = new Path2D(zonePaths[zone]);
  pen.lineJoin = "round";
  for (const [colour, pixels] of [["#ffffff", 6], ["#a3123f", 3]]) {
    pen.strokeStyle = colour;
    pen.lineWidth = (pixels * density) / size;
    pen.stroke(path);
  }
}

/** A cross in the middle, for those who move by keys. */
function paintMiddle(pen, canvas, density) {
  pen.setTransform(density, 0, 0, density, canvas.width / 2, canvas.height / 2);
  for (const [colour, width] of [["#ffffff", 4], ["#1d1d1d", 1.5]]) {
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.beginPath();
    for (const [x, y] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      pen.moveTo(4 * x, 4 * y);
      pen.lineTo(12 * x, 12 * y);
    }
    pen.stroke();
  }
}
