// The table of species over the whole site.

/** The factor that keeps a species off most ground, or nothing. */
function worstLimit(species) {
  const { limited } = site.species[species].areas;
  const factors = limited.slice(0, site.factors.length);
  const most = Math.max(...factors, 0);
  return most > 0 ? site.factors[factors.indexOf(most)].words : "";
}

function suitingArea(species) {
  const { suits, suits_in_spots: spots } = site.species[species].areas;
  return suits.reduce((sum, area) => sum + area, spots);
}

/** A column of areas. */
function areaColumn(heading, areaOf) {
  return {
    heading: `${heading} (${AREA_UNIT})`,
    value: (species) => Number(areaPlain(areaOf(species)).toFixed(4)),
    cell: (species) => areaNumber(areaPlain(areaOf(species))),
  };
}

let speciesTable = null;

function startSpeciesTable() {
  const zonesListing = site.species.map(() => 0);
  for (let zone = 0; zone < zoneCount; zone += 1) {
    for (const species of listedIn(zone)) zonesListing[species] += 1;
  }
  const columns = [
    { heading: "Species", value: speciesWords, cell: speciesLink },
    { heading: "Form", value: (species) => site.species[species].form },
    { heading: "Zones that list it", value: (species) => zonesListing[species] },
    areaColumn("Suits", suitingArea),
    areaColumn("Well suited", (species) => site.species[species].areas.suits[0]),
    areaColumn("Not known", (species) => site.species[species].areas.unknown),
    { heading: "Kept out most by", value: worstLimit },
    { heading: "Flowers", value: (species) => (site.species[species].bloom === null ? "" : bloomWords(site.species[species].bloom)) },
    { heading: "Cautions", value: (species) => site.species[species].cautions.join("; ") || "none recorded" },
  ];
  speciesTable = new SortedTable({
    table: byId("species-table"),
    columns,
    rows: site.species.map((_, species) => species),
    filter: byId("species-filter"),
    count: byId("species-rows"),
    pages: byId("species-pages"),
    csv: byId("species-csv"),
    fileName: "species.csv",
  });
}
