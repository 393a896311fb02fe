// The map: what part is shown, moved by mouse, fingers and keys.

const canvas = byId("map");
const view = { left: 0, top: 0, scale: 1, density: 1 };
const MOST_PIXELS_A_CELL = 64;
const QUICK_MS = 25; // painting that takes no longer is done for every step of a movement
const REST_MS = 120;
const LEAST_BAR = 56; // pixels that the words over the scale bar need

const shown = { paths: [], scale: null, relief: true };
let still = null; // a copy of the last whole painting, and the view it shows
let painted = null; // the view of the last whole painting
let paintingMs = 0;
let waiting = 0;
let resting = 0;
let isFitted = false; // whether the view was laid over the canvas

function pageSize() {
  return { width: canvas.clientWidth, height: canvas.clientHeight };
}

function wholeScale({ width, height }) {
  return Math.min(width / site.grid.cols, height / site.grid.rows) * 0.96;
}

function wholeView({ width, height }, density) {
  const scale = wholeScale({ width, height });
  return {
    scale,
    density,
    left: (site.grid.cols - width / scale) / 2,
    top: (site.grid.rows - height / scale) / 2,
  };
}

function paintWhole() {
  const begun = performance.now();
  paint(canvas, view, {
    paths: shown.paths,
    chosen: state.zone,
    showRelief: shown.relief,
    middle: canvas.matches(":focus-visible"),
  });
  paintingMs = performance.now() - begun;
  painted = { ...view };
  still = null;
  canvas.dataset.state = "drawn";
  showScale();
}

/** Paints soon: the whole, or for a map that takes long its last painting, moved. */
function repaint(moving = false) {
  if (!isFitted) return;
  cancelAnimationFrame(waiting);
  clearTimeout(resting);
  waiting = requestAnimationFrame(() => {
    if (!moving || paintingMs <= QUICK_MS) {
      paintWhole();
      return;
    }
    moveLastPainting();
    resting = setTimeout(paintWhole, REST_MS);
  });
}

function moveLastPainting() {
  if (still === null) {
    const copy = document.createElement("canvas");
    copy.width = canvas.width;
    copy.height = canvas.height;
    copy.getContext("2d").drawImage(canvas, 0, 0);
    still = { copy, view: painted };
  }
  const pen = canvas.getContext("2d");
  const zoom = view.scale / still.view.scale;
  const size = view.scale * view.density;
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.fillStyle = "#ffffff";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.setTransform(zoom, 0, 0, zoom, (still.view.left - view.left) * size, (still.view.top - view.top) * size);
  pen.drawImage(still.copy, 0, 0);
  showScale();
}

/** Moves the view and paints. */
function move(change) {
  Object.assign(view, change);
  repaint(true);
}

function zoomAt(factor, x, y) {
  const least = wholeScale(pageSize()) / 2;
  const scale = Math.min(Math.max(view.scale * factor, least), Math.max(MOST_PIXELS_A_CELL, least));
  move({
    scale,
    left: view.left + x / view.scale - x / scale,
    top: view.top + y / view.scale - y / scale,
  });
}

function zoomMiddle(factor) {
  const { width, height } = pageSize();
  zoomAt(factor, width / 2, height / 2);
}

function showWhole() {
  move(wholeView(pageSize(), view.density));
}

/** Brings a zone into view where it is not. */
function showZone(zone) {
  const [west, north, east, south] = boxes[zone];
  const { width, height } = pageSize();
  const [right, bottom] = [view.left + width / view.scale, view.top + height / view.scale];
  const isShown = west >= view.left && east <= right && north >= view.top && south <= bottom;
  const isTooSmall = Math.max(east - west, south - north) * view.scale < 12;
  if (isShown && !isTooSmall) {
    repaint();
    return;
  }
  const fits = Math.min(width / (east - west), height / (south - north)) * 0.5;
  const scale = Math.min(fits, Math.max(view.scale, wholeScale(pageSize()) * 4), MOST_PIXELS_A_CELL);
  move({ scale, left: (west + east) / 2 - width / scale / 2, top: (north + south) / 2 - height / scale / 2 });
}

function fitCanvas() {
  const { width, height } = pageSize();
  if (width === 0 || height === 0) return; // on paper this map is not shown
  const density = Math.min(window.devicePixelRatio || 1, 2);
  const middle = [view.left + canvas.width / view.density / view.scale / 2, view.top + canvas.height / view.density / view.scale / 2];
  canvas.width = Math.max(1, Math.round(width * density));
  canvas.height = Math.max(1, Math.round(height * density));
  if (!isFitted) Object.assign(view, wholeView({ width, height }, density));
  else Object.assign(view, { density, left: middle[0] - width / view.scale / 2, top: middle[1] - height / view.scale / 2 });
  isFitted = true;
  paintWhole();
}

/** The scale bar: a round length of about a fifth of the map, or as long as its words need. */
function showScale() {
  const foot = site.units === "us" ? FOOT_M : 1;
  // The next round length down is no shorter than two fifths of what is wanted.
  const pixelsWanted = Math.max(pageSize().width / 5, 2.5 * LEAST_BAR);
  const wanted = ((pixelsWanted / view.scale) * site.grid.cell_m) / foot;
  const unit = site.units === "us" && wanted >= 5280 ? 5280 : 1;
  const power = 10 ** Math.floor(Math.log10(wanted / unit));
  const round = [5, 2, 1].find((step) => step * power <= wanted / unit) * power * unit;
  const pixels = ((round * foot) / site.grid.cell_m) * view.scale;
  byId("scale-bar").textContent = lengthWords(round * foot);
  byId("scale-bar").style.width = `${pixels}px`;
}

function placeOf(event) {
  const box = canvas.getBoundingClientRect();
  return { x: event.clientX - box.left, y: event.clientY - box.top };
}

function toCells({ x, y }) {
  return [view.left + x / view.scale, view.top + y / view.scale];
}

function tellPlace(x, y) {
  const { west, north, cell_m: cell, crs } = site.grid;
  const [east, up] = [west + x * cell, north - y * cell];
  byId("coordinates").textContent = `${lonLatWords(x, y)} (WGS 84); ${east.toFixed(0)}, ${up.toFixed(0)} in ${crs}`;
}

/** Colours the zones anew and tells what the colours mean. */
function recolour() {
  shown.scale = scaleFor(state.colourBy, state.species);
  shown.paths = coloured(shown.scale);
  showLegend(shown.scale);
  repaint();
}

function startMap() {
  byId("zoom-in").addEventListener("click", () => zoomMiddle(1.5));
  byId("zoom-out").addEventListener("click", () => zoomMiddle(1 / 1.5));
  byId("whole-site").addEventListener("click", showWhole);
  const reliefBox = byId("show-relief");
  if (relief === null) reliefBox.parentElement.hidden = true;
  else relief.addEventListener("load", () => repaint());
  reliefBox.addEventListener("change", () => {
    shown.relief = reliefBox.checked;
    repaint();
  });
  new ResizeObserver(fitCanvas).observe(canvas);
}
