// One species: where it suits, why not elsewhere, and its profile with sources.

function sourceMark(source) {
  return element("a", { href: `#source-${source + 1}` }, `[${source + 1}]`);
}

function speciesAreas(species) {
  const { suits, suits_in_spots: spots, limited, unknown } = site.species[species].areas;
  const colours = classEntries(true).map(({ colour }) => colour);
  const named = (place) => (place < site.factors.length ? `does not suit: ${site.factors[place].words}` : "does not suit");
  return [
    ...suits.map((value, place) => ({ label: classWords(place), value, colour: colours[place] })),
    { label: "suits in spots", value: spots, colour: colours[2] },
    ...limited.map((value, place) => ({ label: named(place), value, colour: N1 })).sort((a, b) => b.value - a.value),
    { label: "not known", value: unknown, colour: "#bbbbbb" },
  ].filter(({ value }) => value > 0);
}

function profileTables(species) {
  const values = (rows) => rows.map(({ label, value, source, note }) =>
    [label, value, sourceMark(source), note]);
  const headings = ["What", "Value", "Source", "Note"];
  const { profile, opinions } = site.species[species];
  return [
    ...profile.map(([part, rows]) => plainTable(part, headings, values(rows))),
    plainTable("What it stands", ["Factor", "Only where", "Response", "Source", "Note"], opinions.map(({ given, value }) =>
      [value.label, given || "anywhere", value.value, sourceMark(value.source), value.note])),
  ];
}

/** Zones in which the species stands best, the largest first. */
function zonesOfSpecies(species) {
  const found = [];
  for (let zone = 0; zone < zoneCount; zone += 1) {
    const standing = standingOf(zone, species);
    if (standing !== null && isListed(standing)) found.push({ zone, standing });
  }
  return found.sort((a, b) => site.zones.area_m2[b.zone] - site.zones.area_m2[a.zone]);
}

const ZONES_SHOWN = 20;

function showSpecies() {
  const place = state.species;
  const { form, cautions } = site.species[place];
  const zones = zonesOfSpecies(place);
  const areas = speciesAreas(place);
  byId("species-choice").value = String(place);
  byId("map-species").value = String(place);
  byId("species-view").replaceChildren(
    element("h3", { id: "species-heading", tabindex: "-1" }, speciesWords(place)),
    element("p", {}, `${form}; listed in ${zones.length} of ${counted(zoneCount, "zone")}. `,
      element("button", { type: "button", onclick: () => colourBySpecies(place) }, "Show it on the map")),
    cautions.length > 0 ? element("p", { class: "caution" }, `\u26a0 ${cautions.join("; ")}`) : "",
    element("figure", { class: "chart", id: "chart-species" }),
    zones.length > 0 ? plainTable(`Zones that list ${shortName(place)}${zones.length > ZONES_SHOWN ? `, the ${ZONES_SHOWN} largest` : ""}`,
      ["Zone", "Area", "Class", "Share that suits"], zones.slice(0, ZONES_SHOWN).map(({ zone, standing }) => [
        element("button", { type: "button", class: "zone-link", onclick: () => chooseZone(zone, true) }, `Zone ${zone + 1}`),
        areaWords(site.zones.area_m2[zone]),
        standing.class === null ? "" : classWords(standing.class),
        shareWords(standing.share),
      ])) : element("p", {}, "No zone lists it."),
    folded(`Profile of ${shortName(place)} with sources`, false, ...profileTables(place)));
  putChart("chart-species", {
    title: `Area by class of ${shortName(place)}, and why it does not suit elsewhere`,
    note: "Ground that suits counts with the class of its zone; ground that does not, with what limits most there.",
    drawing: areaBars(`Areas of ${shortName(place)}`, areas),
    headings: ["Ground", `Area (${AREA_UNIT})`],
    rows: areaRows(areas),
  });
}
