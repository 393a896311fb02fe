// Hatchings for what has no colour: ground that is not known or not rated.

const HATCHINGS = [
  { paper: "#dcdcdc", ink: "#6a6a6a", lines: [[0, 8, 8, 0]] },
  { paper: "#dcdcdc", ink: "#6a6a6a", lines: [[0, 0, 8, 8]] },
  { paper: "#dcdcdc", ink: "#6a6a6a", lines: [[0, 4, 8, 4]] },
  { paper: "#dcdcdc", ink: "#6a6a6a", lines: [[4, 0, 4, 8]] },
  { paper: "#dcdcdc", ink: "#6a6a6a", lines: [[0, 8, 8, 0], [0, 0, 8, 8]] },
  { paper: "#dcdcdc", ink: "#6a6a6a", lines: [[0, 4, 8, 4], [4, 0, 4, 8]] },
];

/** Hatchings that stand for a colour of a scale. */
const COLOUR_HATCHINGS = new Map([
  [UNKNOWN, { paper: "#ffffff", ink: "#8a8a8a", lines: [[0, 8, 8, 0]] }],
  [PARTS, { paper: PALE, ink: RAMP[4], lines: [[0, 0, 8, 8]] }],
  [UNDOCUMENTED, { paper: RAMP[0], ink: RAMP[4], lines: [[0, 4, 8, 4]] }],
]);

function hatchingOf(cause) {
  return HATCHINGS[cause % HATCHINGS.length];
}

/** A tile of 8 x 8 pixels, each drawn so many times larger. */
function hatchingTile({ paper, ink, lines }, scale) {
  const tile = document.createElement("canvas");
  tile.width = 8 * scale;
  tile.height = 8 * scale;
  const pen = tile.getContext("2d");
  pen.scale(scale, scale);
  pen.fillStyle = paper;
  pen.fillRect(0, 0, 8, 8);
  pen.strokeStyle = ink;
  pen.lineWidth = 1;
  for (const [fromX, fromY, toX, toY] of lines) {
    // Beside the tile too, so that corners are whole.
    for (const shift of [-8, 0, 8]) {
      pen.beginPath();
      pen.moveTo(fromX + shift, fromY);
      pen.lineTo(toX + shift, toY);
      pen.stroke();
    }
  }
  return tile;
}

/** Not-rated ground as masks of one pixel a coarse cell, one for each cause. */
function causeMasks() {
  const causes = site.map.not_rated;
  if (causes === null) return [];
  const masks = causes.causes.map(() => {
    const mask = document.createElement("canvas");
    mask.width = causes.cols;
    mask.height = causes.rows;
    return { mask, pixels: new ImageData(causes.cols, causes.rows) };
  });
  let at = 0;
  for (let run = 0; run < causes.runs.length; run += 2) {
    const [value, count] = [causes.runs[run], causes.runs[run + 1]];
    if (value > 0) {
      const { data } = masks[value - 1].pixels;
      for (let cell = at; cell < at + count; cell += 1) data[4 * cell + 3] = 255;
    }
    at += count;
  }
  for (const { mask, pixels } of masks) mask.getContext("2d").putImageData(pixels, 0, 0);
  return masks.map(({ mask }) => mask);
}
