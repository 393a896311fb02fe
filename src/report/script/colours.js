// What zones are coloured by. All scales run from light to dark, so that they can be told
// apart in grey print and by the colour-blind.

const RAMP = ["#e6efc9", "#b3d4a4", "#71b08f", "#35807f", "#154a5c"];
const SUITING = 3; // classes S1 to S3, of which a project may ask for fewer
const PALE = "#f6f1e6"; // nothing that suits
const N1 = "#e9ddc3";
// Drawn as hatchings.
const UNKNOWN = "unknown";
const PARTS = "parts";
const UNDOCUMENTED = "undocumented";

/** Whole numbers from 1 to the greatest in at most as many steps as the ramp has. */
function countSteps(greatest) {
  const steps = Math.min(RAMP.length, Math.max(greatest, 1));
  return Array.from({ length: steps }, (_, step) => [
    Math.floor((step * greatest) / steps) + 1,
    Math.floor(((step + 1) * greatest) / steps),
  ]);
}

/** The ramp for fewer steps keeps its dark end. */
function rampColour(step, steps) {
  return RAMP[RAMP.length - steps + step];
}

/** Each scale: colours with their words, and which of them a zone has. */
const scales = {
  listed() {
    const steps = countSteps(listedCounts.reduce((most, count) => Math.max(most, count), 0));
    const entries = [{ colour: PALE, words: "none listed" }].concat(steps.map(([from, to], step) => ({
      colour: rampColour(step, steps.length),
      words: from >= to ? `${from}` : `${from} to ${to}`,
    })));
    const of = (zone) => {
      const count = listedCounts[zone];
      return count === 0 ? 0 : 1 + steps.findIndex(([, to]) => count <= to);
    };
    return { title: "Species listed", entries, of };
  },
  rating() {
    const limits = [0, 60, 70, 80, 90];
    const entries = [{ colour: PALE, words: "none listed" }].concat(limits.map((from, step) => ({
      colour: RAMP[step],
      words: step === 0 ? "under 0.60" : `from ${(from / 100).toFixed(2)}`,
    })));
    const of = (zone) => {
      const rating = meanRatings[zone];
      return Number.isNaN(rating) ? 0 : 1 + limits.findLastIndex((from) => rating >= from);
    };
    return { title: "Mean rating of the listed species (0 to 1)", entries, of };
  },
  class() {
    return { title: "Best class of a listed species", entries: classEntries(false), of: (zone) => site.zones.best[zone] ?? site.classes.length };
  },
  species(species) {
    const entries = classEntries(true);
    const of = (zone) => {
      const standing = standingOf(zone, species);
      if (standing === null) return site.classes.length;
      if (standing.listing === NOT_KNOWN || standing.class === null) return site.classes.length + 1;
      // Such a class is that of the part that suits, which must not colour the whole zone.
      if (standing.listing === IN_PARTS) return site.classes.length + 2;
      if (standing.listing === NOT_DOCUMENTED) return site.classes.length + 3;
      return standing.class;
    };
    return { title: speciesWords(species), entries, of };
  },
};

function classEntries(ofSpecies) {
  const colours = [RAMP[4], RAMP[3], RAMP[1], N1, PALE];
  const isEnough = (place) => place <= site.wanted || place >= SUITING;
  const entries = site.classes.map((_, place) => ({
    colour: colours[place],
    words: isEnough(place) ? classWords(place) : `${classWords(place)}, less than this project asks`,
  }));
  entries.push({ colour: PALE, words: ofSpecies ? "not listed (its row was left out)" : "none listed" });
  if (ofSpecies) {
    entries.push({ colour: UNKNOWN, words: "not known" }, { colour: PARTS, words: "suits in parts of the zone" },
      { colour: UNDOCUMENTED, words: "suits, not documented here" });
  }
  return entries;
}

function scaleFor(colourBy, species) {
  return colourBy === "species" ? scales.species(species) : scales[colourBy]();
}
