//! `[road_salt.root_zone]`: how salt gathers in the ground beside a road and is washed
//! out of it, for the factor `soil_salinity`.

use crate::factor::{Factor, Unit};
use crate::nearest::{quoted, suggest};
use crate::project::factors::UnitConversion;
use crate::project::layer::LayerRef;
use crate::project::table::Table;
use crate::project::value::{ABOVE_ZERO, ANY, Need, ZERO_OR_MORE, as_number};
use crate::soil::{RootZone, Told};

/// What messages and run records call the elevation.
pub const ELEVATION_NAME: &str = "road_salt.root_zone.elevation";

/// A number above 0 and up to 1.
const FRACTION: Need = Need {
    words: "a number above 0, at most 1",
    holds: |number| number > 0.0 && number <= 1.0,
};
/// Water surpluses of humid ground.
const SURPLUS: Need = Need {
    words: "a number above 0, at most 5000 mm",
    holds: |number| number > 0.0 && number <= 5_000.0,
};

/// The water that leaches the salt.
#[derive(Debug, Clone, PartialEq)]
pub enum WaterSurplus {
    /// The project's factor `water_surplus`.
    Factor,
    /// `water_surplus_mm` a year, with its source.
    Everywhere {
        /// Millimetres a year.
        mm: f64,
        /// Where the number is from.
        source: String,
    },
}

/// Section `[road_salt.root_zone]`.
///
/// Keys: `water_surplus_mm` with `water_surplus_source`; `elevation` with `band`,
/// `nodata`, `vertical_unit`, `crs`; `leaching`, `root_water_mm`, `mg_per_litre`,
/// `background_ds_m`, `pavement_runoff_mm`, `above_m`, `hollow_m`, `hollow_factor`,
/// `tells`.
#[derive(Debug, Clone, PartialEq)]
pub struct RootZoneSettings {
    /// The water that leaches.
    ///
    /// # Missing
    /// Then there is no soil salinity.
    pub water: Option<WaterSurplus>,
    /// `elevation`: tells what lies below the pavement.
    ///
    /// # Missing
    /// All ground is taken to be at the pavement's height.
    pub elevation: Option<LayerRef>,
    /// `band` of the elevation.
    pub band: usize,
    /// `nodata` of the elevation.
    pub nodata: Option<f64>,
    /// `vertical_unit` of the elevation, as a conversion to metres.
    pub vertical_unit: Option<UnitConversion>,
    /// `leaching`: for each drainage class, driest first, the share of the water
    /// surplus that leaves below the root zone.
    pub leaching: [f64; 7],
    /// `root_water_mm`: water that the root zone holds.
    pub root_water_mm: f64,
    /// `mg_per_litre`: salt in a litre of water of 1 dS/m.
    pub mg_per_litre: f64,
    /// `background_ds_m`: salinity of ground no road reaches.
    pub background_ds_m: f64,
    /// `pavement_runoff_mm`: water a year that runs off the pavement and thins the salt
    /// it carries.
    pub pavement_runoff_mm: f64,
    /// `above_m`: ground so far above the pavement gets no runoff.
    pub above_m: f64,
    /// `hollow_m`: ground so far below it gets `hollow_factor` times the runoff.
    pub hollow_m: f64,
    /// `hollow_factor`.
    pub hollow_factor: f64,
    /// `tells`: which salinity of the year counts.
    pub tells: Told,
}

/// Share of the surplus that leaves below the root zone, by drainage class from
/// excessively to very poorly drained. From memory, unverified: only their order is
/// beyond doubt.
const LEACHING: [f64; 7] = [0.7, 0.6, 0.5, 0.4, 0.25, 0.15, 0.1];

impl Default for RootZoneSettings {
    /// All from memory, unverified, but `mg_per_litre`: about 640, Bali, Saline water
    /// (doi:10.1081/E-EWS2-252). That it goes back to the US Salinity Laboratory 1954,
    /// Agriculture Handbook 60, is from memory, unverified.
    fn default() -> RootZoneSettings {
        RootZoneSettings {
            water: None,
            elevation: None,
            band: 1,
            nodata: None,
            vertical_unit: None,
            leaching: LEACHING,
            root_water_mm: 150.0,
            mg_per_litre: 640.0,
            background_ds_m: 0.0,
            pavement_runoff_mm: 0.0,
            above_m: 0.3,
            hollow_m: 1.0,
            hollow_factor: 2.0,
            tells: Told::Mean,
        }
    }
}

const TELLS: [(&str, Told); 3] = [
    ("mean", Told::Mean),
    ("spring peak", Told::SpringPeak),
    ("what stays", Told::Stays),
];

impl RootZoneSettings {
    /// What all root zones have in common.
    #[must_use]
    pub fn root_zone(&self) -> RootZone {
        let most = Factor::standard("soil_salinity").and_then(|factor| factor.plausible());
        RootZone {
            leaching: self.leaching,
            root_water_mm: self.root_water_mm,
            background_ds_m: self.background_ds_m,
            tells: self.tells,
            most_ds_m: most.map_or(f64::INFINITY, |(_, most)| most),
        }
    }

    /// Whether how saline a soil gets hangs on the amount of water, beside how salty
    /// the water is, and that amount differs from place to place.
    #[must_use]
    pub fn hangs_on_amount(&self) -> bool {
        let everywhere = matches!(self.water, Some(WaterSurplus::Everywhere { .. }));
        self.tells != Told::Mean && !(everywhere && self.pavement_runoff_mm <= 0.0)
    }

    pub(super) fn read(table: &Table) -> RootZoneSettings {
        let usual = RootZoneSettings::default();
        let number = |key, need, usual| table.number(key, need).map_or(usual, |found| found.value);
        let surplus = table.number("water_surplus_mm", SURPLUS);
        let source = table.text("water_surplus_source");
        let water = match (surplus, source) {
            (Some(mm), Some(source)) => Some(WaterSurplus::Everywhere {
                mm: mm.value,
                source: source.value.to_owned(),
            }),
            (Some(mm), None) => {
                mm.spot.problem(
                    "found a water surplus, needed `water_surplus_source` beside it: where the number is from",
                );
                None
            }
            (None, Some(source)) if table.spot_of("water_surplus_mm").is_none() => {
                source
                    .spot
                    .problem("found a source without its number, needed `water_surplus_mm`");
                None
            }
            (None, _) => None,
        };
        let there = table.spot_of("elevation").is_some();
        for key in [
            "band",
            "nodata",
            "vertical_unit",
            "crs",
            "above_m",
            "hollow_m",
            "hollow_factor",
        ] {
            if let Some(spot) = table.spot_of(key)
                && !there
            {
                spot.problem(format!(
                    "found `{key}`, needed `elevation`, without which it says nothing"
                ));
            }
        }
        let elevation = if there {
            LayerRef::read(table, "elevation")
        } else {
            None
        };
        let band = table
            .whole("band", 1..=65_535)
            .and_then(|found| usize::try_from(found.value).ok());
        let settings = RootZoneSettings {
            water,
            elevation,
            band: band.unwrap_or(1),
            nodata: table.number("nodata", ANY).map(|found| found.value),
            vertical_unit: UnitConversion::read(table, "vertical_unit", Unit::Metre),
            leaching: leaching(table),
            root_water_mm: number("root_water_mm", ABOVE_ZERO, usual.root_water_mm),
            mg_per_litre: number("mg_per_litre", ABOVE_ZERO, usual.mg_per_litre),
            background_ds_m: number("background_ds_m", ZERO_OR_MORE, usual.background_ds_m),
            pavement_runoff_mm: number("pavement_runoff_mm", ZERO_OR_MORE, usual.pavement_runoff_mm),
            above_m: number("above_m", ABOVE_ZERO, usual.above_m),
            hollow_m: number("hollow_m", ABOVE_ZERO, usual.hollow_m),
            hollow_factor: number("hollow_factor", AT_LEAST_ONE, usual.hollow_factor),
            tells: table
                .word("tells", &TELLS)
                .map_or(usual.tells, |found| found.value),
        };
        table.finish();
        settings
    }
}

const AT_LEAST_ONE: Need = Need {
    words: "a number from 1 to 20",
    holds: |number| (1.0..=20.0).contains(&number),
};

/// `leaching`: a number for all drainage classes, or a table of some of them.
fn leaching(table: &Table) -> [f64; 7] {
    let mut shares = LEACHING;
    if !table.holds_table("leaching") {
        if let Some(all) = table.number("leaching", FRACTION) {
            shares = [all.value; 7];
        }
        return shares;
    }
    let (Some(found), Some(drainage)) = (table.table("leaching"), Factor::standard("drainage")) else {
        return shares;
    };
    for item in found.named_items() {
        let (name, value) = item.value;
        let Some(class) = drainage.kind.class_index(name) else {
            let names: Vec<&str> = drainage
                .kind
                .classes()
                .unwrap_or_default()
                .iter()
                .map(String::as_str)
                .collect();
            item.spot.problem(format!(
                "found the class {}, needed a class of `drainage`; {}",
                quoted(name),
                suggest(name, &names)
            ));
            continue;
        };
        match as_number(value) {
            Some(share) if (FRACTION.holds)(share) => shares[usize::from(class)] = share,
            _ => item.spot.problem(format!("needed {}", FRACTION.words)),
        }
    }
    shares
}
