//! Opens the salted roads of a project: from a layer and settings to a field, and what
//! there is to tell of both.

use std::fmt::Write as _;

use super::field::SaltField;
use super::roads::{NAME, Roads, decay};
use super::source::Term;
use crate::grid::Grid;
use crate::plural::{counted, one_or_many};
use crate::project::{RoadSalt, WaterSurplus};
use crate::site::finding::Findings;
use crate::site::vector_layer::VectorLayer;

/// The share of the airborne mass that may fall beyond the reach that is chosen.
const BEYOND_REACH: f64 = 0.005;

/// Half the widest pavement there can be: roads so much farther than the reach matter.
const WIDEST_HALF_M: f64 = 60.0;

/// The salt of a site's roads.
#[derive(Debug)]
pub struct SiteSalt {
    /// What lands where.
    pub field: SaltField,
    /// The settings.
    pub settings: RoadSalt,
    /// What was used, for people, line by line.
    pub told: Vec<String>,
}

/// How far from the area roads matter.
#[must_use]
pub fn roads_matter_m(salt: &RoadSalt) -> f64 {
    reach_m(salt).max(runoff_reach_m(salt)) + WIDEST_HALF_M
}

fn reach_m(salt: &RoadSalt) -> f64 {
    salt.reach_m
        .unwrap_or_else(|| decay(salt).reach_for(BEYOND_REACH))
}

/// Twice the strip: all but a quarter per cent of what seeps in.
fn runoff_reach_m(salt: &RoadSalt) -> f64 {
    2.0 * salt.runoff_strip_m
}

/// The field of a project's roads; all that is wrong with them is told.
pub fn open(
    salt: &RoadSalt,
    grid: &Grid,
    layer: &VectorLayer,
    soil_salinity: bool,
    findings: &mut Findings,
) -> Option<SiteSalt> {
    let roads = Roads::read(salt, grid, layer, findings)?;
    let reach_m = reach_m(salt);
    let [near, far] = Term::of_decay(&decay(salt), reach_m);
    let runoff = Term {
        // 95 % within the strip: exp(-3) is left beyond.
        per_m: 3.0 / salt.runoff_strip_m,
        share: 1.0,
        reach_m: runoff_reach_m(salt),
    };
    let told = told(salt, &roads, reach_m, soil_salinity, findings);
    if soil_salinity {
        findings.warn(
            "factors.soil_salinity",
            "computed from road salt: a screening estimate of order and range, not a measurement; test the soil before relying on it",
        );
    }
    Some(SiteSalt {
        field: SaltField::new(roads.sources, grid.cell_m(), near, far, runoff),
        settings: salt.clone(),
        told,
    })
}

/// What was used, for people; defaults of classes are warned of.
fn told(
    salt: &RoadSalt,
    roads: &Roads,
    reach_m: f64,
    soil_salinity: bool,
    findings: &mut Findings,
) -> Vec<String> {
    let decay = decay(salt);
    let mut told = Vec::new();
    for (name, used) in &roads.classes {
        let Some(class) = salt.classes.iter().find(|class| class.name == *name) else {
            continue;
        };
        let mut line = format!("class {name}: {}", counted(used.roads, "road"));
        for (count, what) in [
            (
                used.rates,
                format!("{:.0} kg NaCl a lane-km and winter", class.grams_per_lane_metre),
            ),
            (
                used.others,
                format!("{} lanes or {} km/h", class.lanes, class.speed_kmh),
            ),
        ] {
            if count > 0 {
                let _ = write!(
                    line,
                    "; {count} {} the class's {what} ({})",
                    one_or_many(count, "takes", "take"),
                    class.source
                );
            }
        }
        told.push(line);
        if used.rates > 0 && class.source == "from memory, unverified" {
            findings.warn(
                NAME,
                format!(
                    "{} of class {name} {} no rate of {} own: {:.0} kg NaCl a lane-km and winter is taken, from memory, unverified; say what is spread in `[road_salt.classes.{name}]` or `rate_attribute`",
                    counted(used.rates, "road"),
                    one_or_many(used.rates, "has", "have"),
                    one_or_many(used.rates, "its", "their"),
                    class.grams_per_lane_metre
                ),
            );
        }
    }
    let airborne = decay.airborne_share_of(salt);
    told.push(format!(
        "{:.1} % of the salt is airborne at {} km/h and more, {:.1} % comes down within 100 m (Lundmark and Olofsson 2007: about 45 %); {:.0} % of it thins out by {} a metre, the rest by {} (the usual numbers are chosen to fit, from memory, unverified)",
        airborne * 100.0,
        salt.full_spray_kmh,
        airborne * decay.share_within(100.0) * 100.0,
        salt.near_share * 100.0,
        salt.near_decay_per_m,
        salt.far_decay_per_m
    ));
    let beyond = decay.share_beyond(reach_m);
    told.push(format!(
        "reach {reach_m} m; {:.2} % of the airborne salt falls beyond it and is not counted",
        beyond * 100.0
    ));
    if beyond > 0.05 {
        findings.warn(
            NAME,
            format!(
                "`reach_m` {reach_m} leaves out {:.0} % of the airborne salt",
                beyond * 100.0
            ),
        );
    }
    told.push(match salt.wind_from_deg {
        Some(from) => format!(
            "winter wind from {from} degrees: straight across a road it throws {:.0} % to the lee side (the usual share is from memory, unverified)",
            salt.lee_share * 100.0
        ),
        None => "no wind: both sides of a road get the same".to_owned(),
    });
    let [slight, moderate, heavy, severe] = salt.bands.from_g_m2;
    told.push(format!(
        "bands in g NaCl a m2 and winter: slight from {slight}, moderate from {moderate}, heavy from {heavy}, severe from {severe} (the usual limits are chosen to fit trade practice; none are published)"
    ));
    if soil_salinity {
        let root = &salt.root_zone;
        let water = match &root.water {
            Some(WaterSurplus::Everywhere { mm, source }) => format!("{mm} mm a year ({source})"),
            Some(WaterSurplus::Factor) => "the factor water_surplus".to_owned(),
            None => "not known".to_owned(),
        };
        told.push(format!(
            "root zone: {:.0} % of the salt seeps in beside the pavement, 95 % of it within {} m; leached by {water}, {:?} of it by drainage class (the usual shares are from memory, unverified); FAO 29 concentration factors (from memory, unverified), made for irrigation in the growing season",
            salt.runoff_share * 100.0,
            salt.runoff_strip_m,
            root.leaching
        ));
        let heights = match root.elevation {
            Some(_) => format!(
                "heights: none of the runoff {} m above the pavement, {} times as much {} m below",
                root.above_m, root.hollow_factor, root.hollow_m
            ),
            None => "no elevation: all ground is taken to lie at the height of the pavement".to_owned(),
        };
        told.push(heights);
    }
    told
}
