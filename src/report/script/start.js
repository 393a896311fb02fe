// What is chosen, in one place. Every choice shows everywhere; that of a zone also in the page's address.

const state = { zone: null, species: 0, colourBy: "listed" };

/** Chooses a zone; `toMap` brings the reader there. */
function chooseZone(zone, toMap = false) {
  state.zone = zone;
  history.replaceState(null, "", `#zone=${site.zones.id[zone]}`);
  showCard();
  showZone(zone);
  showCalendar();
  byId("map-status").textContent = `${zoneHeading(zone)}. ${zoneSummary(zone)}`;
  byId("to-card").hidden = false;
  if (toMap) {
    byId("map-section").scrollIntoView();
    byId("zone-heading").focus({ preventScroll: true });
  }
}

function stepZone(step) {
  if (zoneCount === 0) return;
  chooseZone(((state.zone ?? (step > 0 ? -1 : 0)) + step + zoneCount) % zoneCount);
}

function chooseSpecies(species) {
  state.species = species;
  showSpecies();
  showSpread();
  if (state.colourBy === "species") recolour();
}

function chooseColours(colourBy) {
  state.colourBy = colourBy;
  byId("colour-by").value = colourBy;
  recolour();
}

function colourBySpecies(species) {
  chooseSpecies(species);
  chooseColours("species");
  byId("map-section").scrollIntoView();
  canvas.focus({ preventScroll: true });
}

/** Follows the address: a zone by its stable id, a species by its id. */
function followAddress() {
  // Unlike decodeURIComponent this takes addresses that were cut off in the middle of a sign.
  const [[kind, text] = []] = new URLSearchParams(location.hash.slice(1));
  if (kind === "zone" && zonePlaces.has(text)) chooseZone(zonePlaces.get(text), true);
  if (kind === "zone" && !zonePlaces.has(text)) {
    byId("zone-card").replaceChildren(...notOnThisPage("zone", text));
  }
  if (kind === "species" && speciesPlaces.has(text)) {
    chooseSpecies(speciesPlaces.get(text));
    byId("species-view").scrollIntoView();
    byId("species-heading").focus({ preventScroll: true });
  }
  if (kind === "species" && !speciesPlaces.has(text)) {
    byId("species-view").replaceChildren(...notOnThisPage("species", text));
  }
}

function notOnThisPage(kind, id) {
  return [element("h3", {}, `No such ${kind}`),
    element("p", {}, `This page has no ${kind} with the id ${id}: it may be of another run.`)];
}

function fillChoices() {
  const sorted = site.species.map((_, place) => place).sort((a, b) => shortName(a).localeCompare(shortName(b), "en"));
  for (const id of ["species-choice", "map-species"]) {
    byId(id).append(...sorted.map((place) => element("option", { value: place }, speciesWords(place))));
    byId(id).addEventListener("change", (event) => chooseSpecies(Number(event.target.value)));
  }
  byId("map-species").addEventListener("change", () => chooseColours("species"));
  byId("factor-choice").append(...site.factors.map((factor, place) => element("option", { value: place }, factor.words)));
  byId("factor-choice").addEventListener("change", showSpread);
  byId("colour-by").addEventListener("change", (event) => chooseColours(event.target.value));
  byId("field-zones").addEventListener("change", showFieldSheet);
  byId("to-card").addEventListener("click", () => {
    byId("zone-card").scrollIntoView();
    byId("zone-heading").focus({ preventScroll: true });
  });
  byId("print-page").addEventListener("click", () => window.print());
  [state.species] = sorted;
}

fillChoices();
startMap();
chooseColours("listed");
showCard();
startZoneTable();
startSpeciesTable();
showSiteCharts();
showCalendar();
chooseSpecies(state.species);
showFieldSheet();
window.addEventListener("hashchange", followAddress);
followAddress();
document.documentElement.dataset.state = "ready";
