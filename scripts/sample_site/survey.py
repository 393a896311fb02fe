"""The soil map as a survey publishes it: map units of several soils, with horizons.

Everything is invented. The structure is that of the national soil survey of the
United States: a layer of polygons, and tables that belong to it by keys.
"""

from dataclasses import dataclass, field

from . import soils

SURVEY_AREA = "XX900"

# Horizons from the top: bottom (cm), sand, clay, organic matter (%), available water (cm/cm), pH, EC (dS/m), CaCO3 (%).
SAND = [(20, 88, 4, 1.5, 0.08, 6.0, 0.0, 0), (150, 94, 2, 0.3, 0.05, 6.4, 0.0, 0)]
GRAVEL = [(15, 82, 6, 1.2, 0.07, 6.9, 0.0, 4), (150, 95, 2, 0.2, 0.03, 7.6, 0.0, 15)]
SANDY_LOAM = [(18, 65, 10, 2.0, 0.13, 7.1, 0.0, 2), (150, 70, 9, 0.5, 0.11, 7.5, 0.0, 8)]
LOAM = [(22, 42, 19, 3.0, 0.20, 6.2, 0.0, 0), (90, 36, 26, 0.8, 0.17, 6.4, 0.0, 0), (150, 40, 22, 0.3, 0.16, 7.6, 0.0, 12)]
SILT_LOAM = [(28, 15, 22, 4.5, 0.22, 6.5, 0.0, 0), (100, 12, 27, 1.0, 0.20, 6.8, 0.0, 0), (150, 25, 24, 0.4, 0.18, 7.5, 0.5, 8)]
CLAYEY = [(25, 10, 36, 5.5, 0.18, 7.0, 0.5, 1), (150, 8, 44, 1.0, 0.14, 7.4, 2.5, 8)]
SHALLOW = [(12, 48, 17, 2.5, 0.18, 7.2, 0.0, 3), (45, 44, 20, 0.8, 0.15, 7.6, 0.0, 10)]
# Muck: no sand and no clay to tell.
MUCK = [(60, None, None, 60.0, 0.40, 6.5, 0.0, 0), (150, 20, 25, 8.0, 0.22, 6.9, 0.0, 2)]
NO_PH = [(bottom, sand, clay, matter, water, None, salt, lime) for bottom, sand, clay, matter, water, _, salt, lime in SILT_LOAM]


@dataclass
class Soil:
    """One of the soils of a unit."""

    name: str
    share: int
    drainage: str | None
    horizons: list = field(default_factory=list)
    wet_cm: int | None = None
    flooding: str = "None"
    ponding: str = "None"
    rock_cm: int | None = None
    kind: str = "Series"


UNITS = {
    "Me": [
        Soil("Meadow silt loam", 70, "Moderately well drained", SILT_LOAM, 75),
        Soil("Meadow swale", 20, "Poorly drained", SILT_LOAM, 10, ponding="Occasional"),
        Soil("Meadow sand", 10, "Well drained", SAND),
    ],
    "Ul": [Soil("Upland loam", 80, "Well drained", LOAM), Soil("Upland foot slope", 20, "Moderately well drained", SILT_LOAM, 85)],
    "Os": [Soil("Outwash sand", 65, "Well drained", SAND), Soil("Outwash swale", 35, "Somewhat poorly drained", SANDY_LOAM, 40)],
    "Bf": [
        Soil("Bluff sandy loam", 60, "Somewhat excessively drained", SANDY_LOAM),
        Soil("Bluff shallow loam", 40, "Well drained", SHALLOW, rock_cm=45),
    ],
    "Vf": [
        Soil("Valley silt loam", 55, "Somewhat poorly drained", SILT_LOAM, 35, flooding="Occasional"),
        Soil("Valley backwater", 45, "Poorly drained", SILT_LOAM, 5, flooding="Frequent", ponding="Occasional"),
    ],
    "Pf": [
        Soil("Clay flat", 85, "Poorly drained", CLAYEY, 15, flooding="Rare"),
        Soil("Clay hollow", 15, "Very poorly drained", CLAYEY, 0, flooding="Rare", ponding="Frequent"),
    ],
    # Half of it ridge and half of it hollow: a mean of the two would be neither.
    "Gr": [
        Soil("Gravel ridge", 52, "Excessively drained", GRAVEL),
        Soil("Gravel hollow", 48, "Poorly drained", SANDY_LOAM, 15, ponding="Rare"),
    ],
    "Al": [
        Soil("Creek alluvium", 90, "Poorly drained", SILT_LOAM, 10, flooding="Frequent"),
        Soil("Creek gravel bar", 5, "Excessively drained", GRAVEL, flooding="Frequent"),
    ],
    "Ax": [Soil("Creek alluvium, not measured", 100, "Poorly drained", NO_PH, 10, flooding="Frequent")],
    "Dw": [Soil("Draw silt loam", 100, "Somewhat poorly drained", SILT_LOAM, 45, flooding="Rare")],
    "Mp": [Soil("Pond muck", 100, "Very poorly drained", MUCK, 0, flooding="Frequent", ponding="Frequent")],
    "Ms": [Soil("Seep muck", 100, "Very poorly drained", MUCK, 0, flooding="Rare", ponding="Frequent")],
    "Fx": [
        Soil("Urban land", 60, None, kind="Miscellaneous area"),
        Soil("Cut and fill land", 40, "Well drained", SANDY_LOAM, kind="Taxon above family"),
    ],
}


def key_of(code):
    """The key of a unit: text with zeros in front."""
    return f"00{9000 + 10 * list(UNITS).index(code)}"


def polygons():
    """Shapes, and the columns of the layer."""
    rows = soils.soil_map()
    codes = [unit.code for unit, _ in rows]
    columns = {
        "MUKEY": [key_of(code) for code in codes],
        "MUSYM": codes,
        "AREASYMBOL": [SURVEY_AREA] * len(codes),
    }
    return [shape for _, shape in rows], columns


def tables():
    """Each table by name: its columns, each a list of cells."""
    names = {unit.code: unit.name for unit in soils.layers()}
    units = {"mukey": [], "musym": [], "muname": []}
    component = {name: [] for name in ["mukey", "cokey", "comppct_r", "compname", "compkind", "drainagecl"]}
    layers = ["hzdept_r", "hzdepb_r", "sandtotal_r", "claytotal_r", "om_r", "awc_r", "ph1to1h2o_r", "ec_r", "caco3_r"]
    horizon = {name: [] for name in ["cokey", *layers]}
    month = {name: [] for name in ["cokey", "comonthkey", "month", "flodfreqcl", "pondfreqcl"]}
    wet = {name: [] for name in ["comonthkey", "soimoistdept_r", "soimoiststat"]}
    rock = {name: [] for name in ["cokey", "reskind", "resdept_r"]}

    def add(table, *cells):
        for column, cell in zip(table.values(), cells, strict=True):
            column.append(cell)

    for code, parts in UNITS.items():
        add(units, key_of(code), code, names[code])
        for number, soil in enumerate(parts):
            key = f"{key_of(code)}-{number + 1}"
            add(component, key_of(code), key, soil.share, soil.name, soil.kind, soil.drainage)
            top = 0
            for bottom, *values in soil.horizons:
                add(horizon, key, top, bottom, *values)
                top = bottom
            if soil.rock_cm is not None:
                add(rock, key, "Lithic bedrock", soil.rock_cm)
            if not soil.horizons:
                continue
            # The wet month and a dry one.
            for name, wet_cm in [("April", soil.wet_cm), ("August", None)]:
                add(month, key, f"{key}-{name}", name, soil.flooding, soil.ponding)
                if wet_cm is not None:
                    add(wet, f"{key}-{name}", wet_cm, "Wet")
                add(wet, f"{key}-{name}", 0, "Moist")
    return {
        "mapunit": units,
        "component": component,
        "chorizon": horizon,
        "comonth": month,
        "cosoilmoist": wet,
        "corestrictions": rock,
    }
