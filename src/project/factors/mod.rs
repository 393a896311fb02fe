//! `[factors.NAME]`: which properties of the ground count, and the layer each
//! comes from. The order of the tables is the project's order.

mod cuts;
mod definition;
mod from;
mod limit;
mod source;
mod sun;
mod terrain;
mod unit;
mod word_file;
mod words;

pub use cuts::Cuts;
pub use from::{OtherSections, SurveyGiven};
pub use limit::PlantLimit;
pub use source::FactorSource;
pub use sun::{Canopy, Foliage, LightSettings, Obstacles, SideRaster, SunSource, UnknownHeights};
pub use terrain::{Equation, Measure, TerrainSource};
pub use unit::UnitConversion;
pub use words::{Meaning, Words};

use super::table::Table;
use super::value::ABOVE_ZERO;
use crate::factor::Factor;
use crate::nearest::{quoted, suggest};

/// One `[factors.NAME]`: the factor and how the ground's values come about.
///
/// Keys, one of: `layer` (with `attribute` for polygons, without it for a
/// raster), `elevation` (factors that are computed from it), `distance_to`, `from`,
/// `limit`. With them: `sublayer`,
/// `filter`, `crs`, `band`, `nodata`, `unit`, `vertical_unit`, `reach_m`,
/// `words`, `cuts`, `date`, `support_m`, `missing`. Of the factor itself:
/// `decisive`, `remediable`, `harmless_below`, `stands_in_for`; and `kind`,
/// `unit`, `classes`, `ordered` for a factor of the project's own.
#[derive(Debug, Clone, PartialEq)]
pub struct FactorSection {
    /// The factor, with what the project changes about it.
    pub factor: Factor,
    /// Where its values come from.
    pub source: FactorSource,
    /// `cuts`: how measured values become the classes of the factor.
    pub cuts: Option<Cuts>,
    /// `words`: how the source's words or codes become the classes of the factor.
    pub words: Words,
    /// `missing`: what ground without a value means.
    pub missing: Missing,
    /// `date`: when the layer was surveyed or flown: `2019`, `2019-06` or a day.
    pub date: Option<String>,
    /// `support_m`: the side of the smallest thing the source tells apart: its
    /// cell, or the smallest delineation of a survey.
    ///
    /// # Missing
    /// The cell of a raster; unknown for polygons.
    pub support_m: Option<f64>,
}

/// What a cell without a value means for the factor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// The factor is unknown there: the default.
    Unknown,
    /// The factor is not counted there, and the area is told.
    Ignore,
}

impl FactorSection {
    /// The sections in the order of the file, beside the others that they may come from.
    /// Those with problems are left out.
    pub(super) fn read_all(tables: &[(&str, Table)], others: OtherSections) -> Vec<FactorSection> {
        let names: Vec<&str> = tables.iter().map(|(name, _)| *name).collect();
        let mut sections: Vec<FactorSection> = Vec::new();
        for (name, table) in tables {
            let factor = definition::read(table, name);
            check_stand_in(table, name, &names);
            if let Some(section) = FactorSection::read(table, factor, others) {
                sections.push(section);
            }
        }
        check_circles(tables, &sections);
        sections
    }

    fn read(table: &Table, factor: Option<Factor>, others: OtherSections) -> Option<FactorSection> {
        let source = source::read(table, factor.as_ref(), others);
        let cuts = cuts::read(table, factor.as_ref());
        let words = words::read(table, factor.as_ref());
        if let (Some(cuts), Some(FactorSource::Distance { reach_m, .. })) = (&cuts, &source) {
            check_reach(table, cuts, *reach_m);
        }
        let missing = table.word(
            "missing",
            &[("unknown", Missing::Unknown), ("ignore", Missing::Ignore)],
        );
        let date = table.date("date");
        let support_m = table.number("support_m", ABOVE_ZERO);
        table.finish();
        Some(FactorSection {
            factor: factor?,
            source: source?,
            cuts,
            words: words?,
            missing: missing.map_or(Missing::Unknown, |found| found.value),
            date: date.map(|found| found.value),
            support_m: support_m.map(|found| found.value),
        })
    }
}

fn check_reach(table: &Table, cuts: &Cuts, reach_m: f64) {
    if let (Some(last), Some(spot)) = (cuts.bounds.last(), table.spot_of("reach_m"))
        && reach_m < *last
    {
        spot.problem(format!(
            "found {reach_m}, needed at least {last}: the last of the cuts lies there"
        ));
    }
}

/// The word for a factor that stands in for no other.
const NOTHING: &str = "nothing";

fn check_stand_in(table: &Table, name: &str, names: &[&str]) {
    let Some(other) = table.text("stands_in_for") else {
        return;
    };
    if other.value == name {
        let text = "found the factor itself, needed another one";
        other.spot.problem(text);
        return;
    }
    let mut valid: Vec<&str> = Factor::standard_ids().collect();
    valid.extend(names.iter().filter(|name| Factor::standard(name).is_none()));
    valid.push(NOTHING);
    if !valid.contains(&other.value) {
        other.spot.problem(format!(
            "found {}, needed a factor; {}",
            quoted(other.value),
            suggest(other.value, &valid)
        ));
    }
}

/// Two factors that stand in for each other would leave nothing to stand in for.
fn check_circles(tables: &[(&str, Table)], sections: &[FactorSection]) {
    let next = |id: &str| {
        let section = sections.iter().find(|section| section.factor.id == id)?;
        section.factor.stands_in_for.as_deref()
    };
    for (name, table) in tables {
        // A factor that names itself is told already.
        let Some(first) = next(name).filter(|first| first != name) else {
            continue;
        };
        let mut path = vec![*name, first];
        while let Some(other) = path.last().and_then(|last| next(last)) {
            if other == *name {
                let spot = table.spot_of("stands_in_for");
                let spot = spot.as_ref().unwrap_or(&table.spot);
                path.push(other);
                spot.problem(format!(
                    "found factors that stand in for each other ({}), needed one that stands for itself: `stands_in_for = \"{NOTHING}\"`",
                    path.join(" for ")
                ));
                break;
            }
            if path.contains(&other) {
                break;
            }
            path.push(other);
        }
    }
}

#[cfg(test)]
mod tests;
