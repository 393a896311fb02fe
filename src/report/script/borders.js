// Borders of zones as numbers: cells to the east and south of the grid's north-west corner.

/** Points of a line that is written as steps. */
function pointsOf(steps) {
  const points = new Float32Array(steps.length);
  let x = 0;
  let y = 0;
  for (let at = 0; at < steps.length; at += 2) {
    x += steps[at];
    y += steps[at + 1];
    points[at] = x;
    points[at + 1] = y;
  }
  return points;
}

const borders = site.map.borders.map(pointsOf);

/** Calls `visit` with each point of a ring, its last one left out. */
function eachPoint(ring, visit) {
  for (const side of ring) {
    const points = borders[side >> 1];
    if (side % 2 === 0) {
      for (let at = 0; at < points.length - 2; at += 2) visit(points[at], points[at + 1]);
    } else {
      for (let at = points.length - 2; at > 0; at -= 2) visit(points[at], points[at + 1]);
    }
  }
}

/** The steps along a border, ahead and back, as path text. */
const walks = site.map.borders.map((steps) => {
  const ahead = steps.slice(2);
  const back = [];
  for (let at = ahead.length - 2; at >= 0; at -= 2) back.push(-ahead[at], -ahead[at + 1]);
  return [ahead.join(" "), back.join(" ")];
});

/** The rings of a zone as path text: a browser reads a text much faster than a call a point. */
function zonePath(zone) {
  return site.map.rings[zone].map((ring) => {
    const points = borders[ring[0] >> 1];
    const first = ring[0] % 2 === 0 ? 0 : points.length - 2;
    return `M${points[first]} ${points[first + 1]}l${ring.map((side) => walks[side >> 1][side % 2]).join(" ")}z`;
  }).join("");
}

/** A line that is written as steps, as path text. */
function linePath(steps, scale = 1) {
  const [x, y, ...rest] = steps.map((step) => step / scale);
  return `M${x} ${y}l${rest.join(" ")}`;
}

/** West, north, east and south of each zone. */
const boxes = site.map.rings.map((rings) => {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  eachPoint(rings[0], (x, y) => {
    box[0] = Math.min(box[0], x);
    box[1] = Math.min(box[1], y);
    box[2] = Math.max(box[2], x);
    box[3] = Math.max(box[3], y);
  });
  return box;
});

/** The east coordinates at which the borders of a zone cross a line to the east, rising. */
function crossings(zone, y) {
  const found = [];
  for (const ring of site.map.rings[zone]) {
    let first = null;
    let before = null;
    const edge = (from, to) => {
      if ((from[1] > y) !== (to[1] > y)) {
        found.push(from[0] + ((y - from[1]) / (to[1] - from[1])) * (to[0] - from[0]));
      }
    };
    eachPoint(ring, (x, at) => {
      const here = [x, at];
      if (before === null) first = here;
      else edge(before, here);
      before = here;
    });
    if (before !== null) edge(before, first);
  }
  return found.sort((a, b) => a - b);
}

/** The zone at a place, or nothing. */
function zoneAt(x, y) {
  for (let zone = 0; zone < zoneCount; zone += 1) {
    const box = boxes[zone];
    if (x < box[0] || x > box[2] || y < box[1] || y > box[3]) continue;
    if (crossings(zone, y).filter((cross) => cross > x).length % 2 === 1) return zone;
  }
  return null;
}

/** A place well inside a zone: the middle of the widest stretch among some lines across it. */
function placeInside(zone) {
  const [west, north, east, south] = boxes[zone];
  let best = { width: -1, x: (west + east) / 2, y: (north + south) / 2 };
  const lines = Math.min(32, Math.max(1, Math.round(south - north)));
  for (let line = 0; line < lines; line += 1) {
    // A line never runs along a border, which lies on whole numbers unless simplified.
    const y = north + ((line + 0.4999) / lines) * (south - north);
    const across = crossings(zone, y);
    for (let at = 0; at + 1 < across.length; at += 2) {
      const width = across[at + 1] - across[at];
      if (width > best.width) best = { width, x: (across[at] + across[at + 1]) / 2, y };
    }
  }
  return best;
}

/** Longitude and latitude of a place, from those of an even lattice over the grid. */
function lonLat(x, y) {
  const { lon_lat: lattice, rows, cols } = site.grid;
  const steps = Math.round(Math.sqrt(lattice.length)) - 1;
  const along = Math.min(Math.max((x / cols) * steps, 0), steps);
  const down = Math.min(Math.max((y / rows) * steps, 0), steps);
  const [left, top] = [Math.min(Math.floor(along), steps - 1), Math.min(Math.floor(down), steps - 1)];
  const [right, low] = [along - left, down - top];
  const at = (row, col) => lattice[row * (steps + 1) + col];
  return [0, 1].map((axis) =>
    (at(top, left)[axis] * (1 - right) + at(top, left + 1)[axis] * right) * (1 - low)
    + (at(top + 1, left)[axis] * (1 - right) + at(top + 1, left + 1)[axis] * right) * low);
}

function lonLatWords(x, y) {
  const [lon, lat] = lonLat(x, y);
  return `${Math.abs(lat).toFixed(5)}\u00b0 ${lat < 0 ? "S" : "N"}, ${Math.abs(lon).toFixed(5)}\u00b0 ${lon < 0 ? "W" : "E"}`;
}
