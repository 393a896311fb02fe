//! The traits that the program knows by name: what each is called for people, to
//! which part of a profile it belongs, and what its values are. A catalogue may
//! have any others; they are texts.

/// One trait that the program knows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KnownTrait {
    /// The name in catalogues: `height_m`.
    pub name: &'static str,
    /// What people read: `height`.
    pub label: &'static str,
    /// The part of a profile it belongs to.
    pub part: Part,
    /// What its values are.
    pub values: Values,
}

/// Parts of a profile, in the order in which they are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Names, family, size, growth.
    Plant,
    /// Flowering and seed.
    Flower,
    /// Levels and limits as recorded, from which responses follow.
    Levels,
    /// Where it is native and what lists say of it.
    Range,
    /// Stock, sowing, setting out.
    Planting,
    /// Browsing, cutting, fire, neighbours.
    Care,
    /// What may hurt people and animals.
    Hazards,
}

impl Part {
    /// The parts in the order in which they are shown; last, nothing, for the traits that
    /// the program does not know.
    pub const IN_ORDER: [Option<Part>; 8] = [
        Some(Part::Plant),
        Some(Part::Flower),
        Some(Part::Levels),
        Some(Part::Range),
        Some(Part::Planting),
        Some(Part::Care),
        Some(Part::Hazards),
        None,
    ];

    /// The heading for people.
    #[must_use]
    pub fn heading(self) -> &'static str {
        match self {
            Part::Plant => "The plant",
            Part::Flower => "Flower and seed",
            Part::Levels => "Recorded levels",
            Part::Range => "Range and lists",
            Part::Planting => "Planting",
            Part::Care => "Care",
            Part::Hazards => "Hazards",
        }
    }
}

/// What the values of a trait are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Values {
    /// A number, or two with ` to ` between, in a unit, within what plants have.
    Number {
        /// Symbol of the unit; empty for a bare number.
        unit: &'static str,
        /// The least that can be.
        lowest: f64,
        /// The most that can be.
        highest: f64,
    },
    /// Month names: `July`, `May to June`, several parted by `;`; `about` before
    /// them where they follow from a word for a season.
    Months,
    /// One of these words, or two with ` to ` between.
    Ladder(&'static [&'static str]),
    /// Some of these words, parted by `;`.
    Words(&'static [&'static str]),
    /// A coefficient of conservatism from 0 to 10, or `introduced`.
    Conservatism,
    /// A plant hardiness zone: `4`, `4b`.
    HardinessZone,
    /// Several things, parted by `;`.
    List,
    /// Any text.
    Text,
}

const LEVEL: Values = Values::Ladder(&["none", "low", "medium", "high"]);
const SEASON: Values = Values::Text;
const STATUS: Values = Values::Ladder(&["UPL", "FACU", "FAC", "FACW", "OBL"]);
const YES_NO: Values = Values::Words(&["yes", "no"]);

const fn number(unit: &'static str, lowest: f64, highest: f64) -> Values {
    Values::Number {
        unit,
        lowest,
        highest,
    }
}

const fn known(part: Part, name: &'static str, label: &'static str, values: Values) -> KnownTrait {
    KnownTrait {
        name,
        label,
        part,
        values,
    }
}

/// All traits that the program knows, in the order in which they are shown.
pub const KNOWN_TRAITS: &[KnownTrait] = &[
    known(Part::Plant, "family", "family", Values::Text),
    known(Part::Plant, "synonyms", "other names", Values::List),
    known(
        Part::Plant,
        "duration",
        "lives as",
        Values::Words(&["annual", "biennial", "perennial"]),
    ),
    known(
        Part::Plant,
        "habit",
        "habit",
        Values::Words(&["tree", "shrub", "subshrub", "grass or sedge", "herb"]),
    ),
    known(Part::Plant, "height_m", "height", number("m", 0.02, 60.0)),
    known(Part::Plant, "spread_m", "spread", number("m", 0.02, 40.0)),
    known(
        Part::Plant,
        "stem_mm",
        "stem at maturity",
        number("mm", 1.0, 3000.0),
    ),
    known(
        Part::Plant,
        "growth_rate",
        "growth",
        Values::Ladder(&["slow", "moderate", "rapid"]),
    ),
    known(
        Part::Plant,
        "lifespan",
        "life span",
        Values::Ladder(&["short", "moderate", "long"]),
    ),
    known(
        Part::Plant,
        "root_depth_cm",
        "roots need",
        number("cm", 1.0, 500.0),
    ),
    known(Part::Plant, "nitrogen_fixing", "fixes nitrogen", LEVEL),
    known(Part::Plant, "spreads", "spreads", Values::Text),
    known(
        Part::Plant,
        "vegetative_spread",
        "spread by roots and runners",
        Values::Ladder(&["none", "slow", "moderate", "rapid"]),
    ),
    known(Part::Flower, "bloom_months", "flowers", Values::Months),
    known(
        Part::Flower,
        "recorded_bloom_season",
        "recorded flowering",
        SEASON,
    ),
    known(Part::Flower, "flower_colour", "colour", Values::List),
    known(Part::Flower, "recorded_seed_season", "recorded seed", SEASON),
    known(Part::Flower, "feeds", "feeds", Values::List),
    known(
        Part::Levels,
        "light_range",
        "planted in",
        Values::Ladder(&["full sun", "part sun", "part shade", "shade"]),
    ),
    known(
        Part::Levels,
        "moisture_range",
        "does well in",
        Values::Ladder(&["dry", "dry-mesic", "mesic", "wet-mesic", "wet"]),
    ),
    known(Part::Levels, "wetland_midwest", "wetland status, Midwest", STATUS),
    known(
        Part::Levels,
        "wetland_northcentral_northeast",
        "wetland status, Northcentral and Northeast",
        STATUS,
    ),
    known(
        Part::Levels,
        "wetland_michigan",
        "wetland status, Michigan list",
        STATUS,
    ),
    known(
        Part::Levels,
        "recorded_drought_tolerance",
        "drought tolerance",
        LEVEL,
    ),
    known(
        Part::Levels,
        "recorded_anaerobic_tolerance",
        "anaerobic tolerance",
        LEVEL,
    ),
    known(
        Part::Levels,
        "recorded_shade_tolerance",
        "shade tolerance",
        Values::Ladder(&["intolerant", "intermediate", "tolerant"]),
    ),
    known(
        Part::Levels,
        "recorded_ph_lowest",
        "lowest pH recorded",
        number("pH", 2.0, 10.0),
    ),
    known(
        Part::Levels,
        "recorded_ph_highest",
        "highest pH recorded",
        number("pH", 3.0, 11.0),
    ),
    known(
        Part::Levels,
        "recorded_salinity_tolerance",
        "salinity tolerance",
        LEVEL,
    ),
    known(
        Part::Levels,
        "spray_tolerance",
        "salt spray tolerance",
        Values::Ladder(&["low", "moderate", "high", "very high"]),
    ),
    known(Part::Levels, "salt_list", "salt, not said which", Values::Text),
    known(
        Part::Levels,
        "recorded_carbonate_tolerance",
        "carbonate tolerance",
        LEVEL,
    ),
    known(
        Part::Levels,
        "recorded_textures",
        "adapted to textures",
        Values::Words(&["coarse", "medium", "fine"]),
    ),
    known(Part::Levels, "recorded_water_use", "water use", LEVEL),
    known(
        Part::Levels,
        "hardiness_zone",
        "hardiness zone",
        Values::HardinessZone,
    ),
    known(
        Part::Levels,
        "recorded_lowest_temperature_c",
        "lowest temperature recorded",
        number("degC", -70.0, 20.0),
    ),
    known(
        Part::Levels,
        "recorded_precipitation_lowest_mm",
        "least rain recorded",
        number("mm", 0.0, 5000.0),
    ),
    known(
        Part::Levels,
        "recorded_precipitation_highest_mm",
        "most rain recorded",
        number("mm", 0.0, 10_000.0),
    ),
    known(
        Part::Levels,
        "recorded_frost_free_days",
        "fewest frost-free days recorded",
        number("days", 0.0, 366.0),
    ),
    known(
        Part::Levels,
        "slope_use",
        "slopes",
        Values::Words(&["level ground", "steep banks"]),
    ),
    known(
        Part::Range,
        "c_michigan",
        "conservatism, Michigan 2014",
        Values::Conservatism,
    ),
    known(
        Part::Range,
        "c_ohio",
        "conservatism, Ohio 2014",
        Values::Conservatism,
    ),
    known(
        Part::Range,
        "c_illinois",
        "conservatism, Illinois 2020",
        Values::Conservatism,
    ),
    known(
        Part::Range,
        "c_indiana",
        "conservatism, Indiana 2019",
        Values::Conservatism,
    ),
    known(
        Part::Range,
        "c_northeast_coastal",
        "conservatism, Northeast coastal plain 2018",
        Values::Conservatism,
    ),
    known(Part::Range, "present_in", "present in", Values::List),
    known(
        Part::Planting,
        "stock",
        "stock",
        Values::Words(&["bare root", "container", "cuttings", "seed"]),
    ),
    known(
        Part::Planting,
        "sold",
        "sold",
        Values::Words(&[
            "commonly",
            "by contract",
            "no known source",
            "collected in the field",
        ]),
    ),
    known(Part::Planting, "seed_origin", "seed origin", Values::Text),
    known(Part::Planting, "cultivar", "cultivar", Values::Text),
    known(Part::Planting, "spacing_m", "spacing", number("m", 0.05, 30.0)),
    known(
        Part::Planting,
        "plants_per_ha",
        "plants a hectare",
        number("", 1.0, 500_000.0),
    ),
    known(
        Part::Planting,
        "seeds_per_kg",
        "seeds a kilogram",
        number("", 10.0, 2e8),
    ),
    known(
        Part::Planting,
        "cold_stratification",
        "cold stratification",
        Values::Words(&["needed", "not needed"]),
    ),
    known(Part::Planting, "germination", "germination", Values::Text),
    known(Part::Planting, "transplanting", "transplanting", Values::Text),
    known(Part::Care, "browse", "browsing", Values::Text),
    known(
        Part::Care,
        "palatable_to_browsers",
        "palatable to browsers",
        LEVEL,
    ),
    known(Part::Care, "protection", "protection", Values::Text),
    known(Part::Care, "resprouts", "resprouts", YES_NO),
    known(Part::Care, "fire_tolerance", "fire tolerance", LEVEL),
    known(Part::Care, "cutting_fire", "cutting back and fire", Values::Text),
    known(Part::Care, "not_near", "not to be set near", Values::Text),
    known(
        Part::Hazards,
        "toxicity",
        "toxicity",
        Values::Ladder(&["slight", "moderate", "severe"]),
    ),
    known(Part::Hazards, "toxicity_note", "poisons", Values::Text),
    known(Part::Hazards, "thorns", "thorns", Values::Text),
    known(Part::Hazards, "falls", "falls", Values::Text),
];

impl KnownTrait {
    /// The known trait of this name.
    #[must_use]
    pub fn of(name: &str) -> Option<&'static KnownTrait> {
        KNOWN_TRAITS.iter().find(|known| known.name == name)
    }
}
