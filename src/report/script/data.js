// The data of the page, and numbers and names as people read them.

const site = JSON.parse(document.getElementById("site-data").textContent);
const STANDING = ["listing", "class", "share", "known", "soils", "rating", "rests_on", "limits", "lacking", "no_opinion", "documented"];

/** A standing, written as a list of its fields, with their names. */
function standingAt(place) {
  const fields = site.standings[place];
  return Object.fromEntries(STANDING.map((name, at) => [name, fields[at]]));
}

/** One field of a standing, for loops over all zones. */
function fieldAt(place, name) {
  return site.standings[place][STANDING.indexOf(name)];
}

const zoneCount = site.zones.id.length;

const ACRE_M2 = 4046.8564224;
const FOOT_M = 0.3048;

function areaNumber(value) {
  if (value >= 0.95 || value === 0) return value.toFixed(1);
  return value >= 0.095 ? value.toFixed(2) : value.toFixed(3);
}

function areaWords(squareMetres) {
  const hectares = `${areaNumber(squareMetres / 10000)} ha`;
  const acres = `${areaNumber(squareMetres / ACRE_M2)} acres`;
  return site.units === "us" ? `${acres} (${hectares})` : `${hectares} (${acres})`;
}

/** A count and what is counted: 1 row, 2 rows. */
function counted(count, thing) {
  return `${count} ${thing}${count === 1 ? "" : "s"}`;
}

/** The area in the unit of the project alone, for tables whose heading names it. */
function areaPlain(squareMetres) {
  return site.units === "us" ? squareMetres / ACRE_M2 : squareMetres / 10000;
}

const AREA_UNIT = site.units === "us" ? "acres" : "ha";

function lengthWords(metres) {
  const [length, unit] = site.units === "us" ? [metres / FOOT_M, "ft"] : [metres, "m"];
  const value = Number(length.toPrecision(6)); // a round length stays round
  if (unit === "m" && value >= 1000) return `${value / 1000} km`;
  if (unit === "ft" && value >= 5280) return `${value / 5280} mi`;
  return `${value} ${unit}`;
}

/** A share in thousandths as per cent; neither 0 nor 100 when it is not quite. */
function shareWords(thousandths) {
  if (thousandths > 0 && thousandths < 5) return "under 1 %";
  if (thousandths >= 995 && thousandths < 1000) return "over 99 %";
  return `${Math.round(thousandths / 10)} %`;
}

function classWords(place) {
  const [code, words] = site.classes[place];
  return `${words} (${code})`;
}

function speciesWords(place) {
  const { common, scientific } = site.species[place];
  return common === "" ? scientific : `${common} (${scientific})`;
}

function shortName(place) {
  return site.species[place].common || site.species[place].scientific;
}

function numberWords(factor, value) {
  if (value === null) return factor.beyond;
  const number = value.toFixed(factor.decimals);
  if (factor.unit === null) return number;
  if (factor.unit_leads) return `${factor.unit} ${number}`;
  return factor.unit === "" ? number : `${number} ${factor.unit}`;
}

/** What a zone has of a factor: the value that stands for it, and its range. */
function groundOf(zone, place) {
  const factor = site.factors[place];
  const found = site.zones.ground[zone][place];
  if (found === null) return { value: "not known", range: "" };
  if (factor.classes.length > 0) {
    return { value: factor.classes[found[0]], range: `${shareWords(found[1])} of the zone` };
  }
  const [mean, least, greatest] = found.map((number) => numberWords(factor, number));
  return { value: mean, range: `${least} to ${greatest}` };
}

/** A value with the name of its factor, which "pH 6.3" says already. */
function namedValue(factor, value) {
  return value.startsWith(factor.words) ? value : `${factor.words} ${value}`;
}

function factorNames(places) {
  return places.map((place) => site.factors[place].words).join(", ");
}

/** The species of a zone with how they stand, in the order of its list. */
function standingsOf(zone) {
  const flat = site.zones.species[zone];
  const all = [];
  for (let at = 0; at < flat.length; at += 2) {
    all.push({ species: flat[at], ...standingAt(flat[at + 1]) });
  }
  return all;
}

const LISTED = [0, 1];
const NOT_DOCUMENTED = site.listings.indexOf("suits, not documented");
const IN_PARTS = site.listings.indexOf("in parts");
const NOT_LISTED = site.listings.indexOf("not listed");
const NOT_KNOWN = site.listings.indexOf("not known");

function isListed(standing) {
  return LISTED.includes(standing.listing);
}

function standingOf(zone, species) {
  const flat = site.zones.species[zone];
  for (let at = 0; at < flat.length; at += 2) {
    if (flat[at] === species) return standingAt(flat[at + 1]);
  }
  return null;
}

/** The species listed in a zone, in the order of its list. */
function listedIn(zone) {
  const flat = site.zones.species[zone];
  const listed = [];
  for (let at = 0; at < flat.length; at += 2) {
    if (LISTED.includes(fieldAt(flat[at + 1], "listing"))) listed.push(flat[at]);
  }
  return listed;
}

const zonePlaces = new Map(site.zones.id.map((id, place) => [id, place]));
const speciesPlaces = new Map(site.species.map((species, place) => [species.id, place]));

// What zones are coloured and sorted by, reckoned once.
const listedCounts = new Uint16Array(zoneCount);
const meanRatings = new Float32Array(zoneCount);
for (let zone = 0; zone < zoneCount; zone += 1) {
  const flat = site.zones.species[zone];
  let sum = 0;
  let rated = 0;
  for (let at = 1; at < flat.length; at += 2) {
    if (!LISTED.includes(fieldAt(flat[at], "listing"))) continue;
    listedCounts[zone] += 1;
    const rating = fieldAt(flat[at], "rating");
    if (rating !== null) {
      sum += rating;
      rated += 1;
    }
  }
  meanRatings[zone] = rated > 0 ? sum / rated : NaN;
}
