// The map moved and asked by mouse, fingers and keys.

const pointers = new Map();
let pressed = null;

canvas.addEventListener("pointerdown", (event) => {
  if (event.button !== 0) return;
  canvas.setPointerCapture(event.pointerId);
  pointers.set(event.pointerId, placeOf(event));
  if (pointers.size === 1) pressed = placeOf(event);
  else pressed = null;
});

canvas.addEventListener("pointermove", (event) => {
  const here = placeOf(event);
  tellPlace(...toCells(here));
  const last = pointers.get(event.pointerId);
  if (last === undefined) return;
  if (pointers.size === 2) {
    const other = [...pointers].find(([id]) => id !== event.pointerId)[1];
    const apart = (place) => Math.hypot(place.x - other.x, place.y - other.y);
    if (apart(last) > 0) zoomAt(apart(here) / apart(last), (here.x + other.x) / 2, (here.y + other.y) / 2);
  } else if (pressed === null || Math.hypot(here.x - pressed.x, here.y - pressed.y) > 4) {
    pressed = null;
    move({ left: view.left - (here.x - last.x) / view.scale, top: view.top - (here.y - last.y) / view.scale });
  }
  pointers.set(event.pointerId, here);
});

canvas.addEventListener("pointerup", (event) => {
  pointers.delete(event.pointerId);
  if (pressed === null) return;
  const zone = zoneAt(...toCells(pressed));
  pressed = null;
  if (zone !== null) chooseZone(zone);
});

canvas.addEventListener("pointercancel", (event) => {
  pointers.delete(event.pointerId);
  pressed = null;
});

// The wheel scrolls the page until the map has been clicked.
canvas.addEventListener("wheel", (event) => {
  if (document.activeElement !== canvas && !event.ctrlKey) return;
  event.preventDefault();
  const { x, y } = placeOf(event);
  zoomAt(1.0015 ** -event.deltaY, x, y);
}, { passive: false });

canvas.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const { width, height } = pageSize();
  const pan = (x, y) => move({ left: view.left + (x * width) / 8 / view.scale, top: view.top + (y * height) / 8 / view.scale });
  const keys = {
    ArrowLeft: () => pan(-1, 0),
    ArrowRight: () => pan(1, 0),
    ArrowUp: () => pan(0, -1),
    ArrowDown: () => pan(0, 1),
    "+": () => zoomMiddle(1.5),
    "=": () => zoomMiddle(1.5),
    "-": () => zoomMiddle(1 / 1.5),
    0: showWhole,
    "[": () => stepZone(-1),
    "]": () => stepZone(1),
    Enter() {
      const zone = zoneAt(...toCells({ x: width / 2, y: height / 2 }));
      if (zone === null) byId("map-status").textContent = "No zone lies in the middle of the map.";
      else chooseZone(zone);
    },
  };
  if (keys[event.key] === undefined) return;
  event.preventDefault();
  keys[event.key]();
  tellPlace(...toCells({ x: width / 2, y: height / 2 }));
});

canvas.addEventListener("focus", () => repaint());
canvas.addEventListener("blur", () => repaint());
