// The card of a zone: its ground, its species, and why the others are left out.

/** What holds a species back in a zone, and what would have to change. */
function limitsWords(zone, standing) {
  return standing.limits.map(([factor, needed]) => {
    const found = namedValue(site.factors[factor], groundOf(zone, factor).value);
    if (needed === null) return `${found}: nothing it could become would do`;
    const change = site.factors[factor].remediable ? "could be changed" : "cannot well be changed";
    return `${found}: would need ${site.texts[needed]} (${change})`;
  });
}

function speciesLink(place) {
  const link = element("a", {
    href: `#species=${encodeURIComponent(site.species[place].id)}`,
    // A browser does not tell of an address that is there already.
    onclick: () => {
      if (link.hash === location.hash) followAddress();
    },
  }, speciesWords(place));
  return link;
}

/** Words on how sure a listing is. */
function restWords(standing) {
  const parts = [`${standing.rests_on} of ${counted(site.of_factors, "factor")}`];
  if (standing.known < 1000) parts.push(`known on ${shareWords(standing.known)}`);
  if (standing.no_opinion.length > 0) parts.push(`no opinion on ${factorNames(standing.no_opinion)}`);
  return parts.join("; ");
}

function listedTable(zone, standings, caption) {
  const withSoils = standings.some(({ soils }) => soils !== null);
  const withRecords = standings.some(({ documented }) => documented !== null);
  const headings = ["Species", "Class, and share of the ground that suits", "Rests on", "Held back by"];
  if (withSoils) headings.push("Share of the soils that suit");
  if (withRecords) headings.push("Documented");
  const rows = standings.map((standing) => {
    const species = site.species[standing.species];
    const name = element("span", {}, speciesLink(standing.species), `, ${species.form}`,
      species.cautions.map((caution) => element("span", { class: "caution" }, ` \u26a0 ${caution}`)));
    const row = [
      name,
      `${standing.class === null ? "" : `${classWords(standing.class)}; `}${shareWords(standing.share)}, ${site.listings[standing.listing]}`,
      restWords(standing),
      limitsWords(zone, standing).join("; ") || "nothing",
    ];
    if (withSoils) row.push(standing.soils === null ? "" : shareWords(standing.soils));
    if (withRecords) row.push(standing.documented === null ? "" : site.texts[standing.documented]);
    return row;
  });
  return plainTable(caption, headings, rows);
}

function folded(heading, isOpen, ...children) {
  return element("details", { open: isOpen }, element("summary", {}, heading), ...children);
}

function groundTable(zone) {
  const rows = site.factors.map((factor, place) => {
    const { value, range } = groundOf(zone, place);
    return [factor.words, value, range];
  });
  return plainTable(`Ground of zone ${zone + 1}`, ["Factor", "Mean or most frequent", "Least to greatest, or share"], rows);
}

function zoneHeading(zone) {
  const best = site.zones.best[zone];
  return `Zone ${zone + 1}: ${best === null ? "no species listed" : classWords(best)}`;
}

function zoneSummary(zone) {
  const parts = [areaWords(site.zones.area_m2[zone]), `${listedCounts[zone]} species listed`];
  if (site.zones.limited_by[zone].length > 0) {
    parts.push(`the others are kept out most by ${factorNames(site.zones.limited_by[zone])}`);
  }
  if (site.zones.unknown[zone] > 0) parts.push(`${shareWords(site.zones.unknown[zone])} of its ratings are not known`);
  return `${parts.join("; ")}.`;
}

/** All there is to say of a zone, for the screen and for paper. */
function zoneParts(zone) {
  const standings = standingsOf(zone);
  const of = (test) => standings.filter(test);
  const listed = of(isListed);
  const inParts = of(({ listing }) => listing === IN_PARTS);
  const undocumented = of(({ listing }) => listing === NOT_DOCUMENTED);
  const unknown = of(({ listing }) => listing === NOT_KNOWN);
  const leftOut = of(({ listing }) => listing === NOT_LISTED);
  const place = placeInside(zone);
  const below = site.zones.below_support[zone];
  const cautions = site.zones.cautions[zone].map((text) => site.texts[text]);
  if (below !== null) {
    cautions.push(`This zone is smaller than what its ${site.factors[below].words} layer can show: its border is uncertain.`);
  }
  return [
    element("p", {}, zoneSummary(zone)),
    element("p", {}, `A place inside it: ${lonLatWords(place.x, place.y)}.`),
    cautions.length > 0 ? element("ul", { class: "cautions" }, cautions.map((text) => element("li", {}, text))) : null,
    listed.length > 0
      ? listedTable(zone, listed, `Species listed in zone ${zone + 1}`)
      : element("p", {}, "No species is listed."),
    groundTable(zone),
    undocumented.length > 0 ? folded(`${undocumented.length} suiting but not documented here`, false,
      listedTable(zone, undocumented, "Suit the ground, not documented here")) : null,
    inParts.length > 0 ? folded(`${inParts.length} suiting in parts`, false,
      listedTable(zone, inParts, "Suit in parts of the zone")) : null,
    unknown.length > 0 ? folded(`${unknown.length} not known, which is not unsuitable`, false,
      plainTable("Species that are not known here", ["Species", "For want of"], unknown.map((standing) => [
        speciesLink(standing.species), factorNames(standing.lacking) || "an opinion or a value",
      ]))) : null,
    leftOut.length > 0 ? folded(`${leftOut.length} left out, and what would have to change`, false,
      plainTable("Species left out", ["Species", "Class", "What limits"], leftOut.map((standing) => [
        speciesLink(standing.species),
        standing.class === null ? "" : classWords(standing.class),
        limitsWords(zone, standing).join("; "),
      ]))) : null,
    site.rows_left_out ? element("p", {}, "Species that are not listed and suit nowhere in the zone are left out here: the site has too many zones.") : null,
  ];
}

/** A button to a zone beside this one. The card is made anew, and the keys stay with the new button. */
function stepButton(id, words, step) {
  const go = () => {
    stepZone(step);
    byId(id).focus({ preventScroll: true });
  };
  return element("button", { type: "button", id, onclick: go }, words);
}

/** Shows the card of the chosen zone, or what to do to choose one. */
function showCard() {
  const card = byId("zone-card");
  if (state.zone === null) {
    card.replaceChildren(element("h3", {}, "No zone chosen"),
      element("p", {}, "Choose a zone on the map or in the table of zones to see its species."));
    return;
  }
  const id = site.zones.id[state.zone];
  card.replaceChildren(
    element("h3", { id: "zone-heading", tabindex: "-1" }, zoneHeading(state.zone)),
    element("p", { class: "steps" },
      stepButton("previous-zone", "Previous zone", -1),
      stepButton("next-zone", "Next zone", 1),
      element("a", { href: `#zone=${id}` }, `Link to this zone (${id})`)),
    ...zoneParts(state.zone).filter((part) => part !== null));
  card.scrollTop = 0;
}
