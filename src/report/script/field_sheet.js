// The field sheet: what to check at which zone, to be filled in by hand.

/** Ground that a visitor can check by eye and hand, by what it tells of. */
const CHECKED = ["drainage", "moisture", "texture", "ph", "canopy", "sun_hours", "soil_salinity", "spray_salt", "slope"];

function expected(zone) {
  const places = site.factors.map((factor, place) => ({ factor, place }))
    .filter(({ factor }) => CHECKED.includes(factor.id));
  return places.map(({ factor, place }) => namedValue(factor, groundOf(zone, place).value)).join("; ");
}

function fieldZones() {
  const { value, max } = byId("field-zones");
  const wanted = Math.min(Math.max(1, Math.round(Number(value)) || 1), Number(max));
  const all = Array.from({ length: zoneCount }, (_, zone) => zone);
  return all.sort((a, b) => site.zones.area_m2[b] - site.zones.area_m2[a]).slice(0, wanted);
}

function showFieldSheet() {
  const rows = fieldZones().map((zone) => {
    const place = placeInside(zone);
    const head = `Zone ${zone + 1} (${areaWords(site.zones.area_m2[zone])}), at ${lonLatWords(place.x, place.y)}`;
    return [head, expected(zone), "", "", "", "", ""];
  });
  const left = zoneCount - rows.length;
  byId("field-table").replaceChildren(
    plainTable("What to check at each zone", [
      "Zone, and a place inside it", "Expected from the layers", "Soil by hand (texture, colour, depth)",
      "Drainage hole (water after 1 h, after 24 h)", "Sun (hours, what shades)",
      "Salt injury on what grows here", "As expected? Notes",
    ], rows),
    element("p", {}, left > 0 ? `The ${counted(rows.length, "largest zone")}; ${left} not on this sheet.` : `${counted(zoneCount, "zone")} in all.`));
}
