//! What is odd about a survey, told with counts and areas: keys that nothing matches,
//! shares that do not add up, soils that stand twice, seams between survey areas, and
//! what the reading leaves out.

use std::collections::BTreeSet;

use geo::MultiPolygon;

use super::Survey;
use super::polygons::key_name;
use super::seams::{Piece, seams};
use super::soils::{Drawn, Odd};
use super::tables::NAME;
use crate::plural::{counted, one_or_many};
use crate::site::finding::Findings;
use crate::soil::{HorizonFault, Reading, SoilFactor, main_component, read_unit};

/// Where so much of the polygons' area has no soils in the tables, the tables are of
/// another edition.
const MOST_UNMATCHED: f64 = 0.1;

/// Shares of a unit may add up to this much more or less than all of it, per cent.
const SLACK_PCT: f64 = 1.0;

impl Survey {
    pub(super) fn tell(
        &self,
        odd: &Odd,
        drawn: &Drawn,
        shapes: &[MultiPolygon<f64>],
        findings: &mut Findings,
    ) {
        self.tell_unmatched(findings);
        self.tell_editions(findings);
        self.tell_shares(findings);
        self.tell_odd(odd, findings);
        self.tell_reading(drawn, findings);
        self.tell_seams(shapes, findings);
    }

    /// Number of polygons and area of some units, in words.
    fn extent_of<'k>(&self, units: impl IntoIterator<Item = &'k String>) -> String {
        let units: BTreeSet<&str> = units.into_iter().map(String::as_str).collect();
        let by_unit = self.polygons.by_unit();
        let sums = units.iter().filter_map(|unit| by_unit.get(unit));
        let (polygons, area_m2) = sums.fold((0, 0.0), |sum, of| (sum.0 + of.0, sum.1 + of.1));
        format!(
            "{}, {} of {:.2} ha near the area",
            counted(units.len(), "map unit"),
            counted(polygons, "polygon"),
            area_m2 / 10_000.0
        )
    }

    fn tell_unmatched(&self, findings: &mut Findings) {
        let polygons = &self.polygons;
        let unmatched =
            |unit: &Option<String>| unit.as_ref().is_none_or(|unit| !self.units.contains_key(unit));
        let without: Vec<usize> = (0..polygons.unit.len())
            .filter(|&number| unmatched(&polygons.unit[number]))
            .collect();
        if without.is_empty() {
            return;
        }
        let area_m2: f64 = without.iter().map(|&number| polygons.area_m2[number]).sum();
        let keys: BTreeSet<&str> = without
            .iter()
            .map(|&number| polygons.unit[number].as_deref().unwrap_or("no key"))
            .collect();
        let shown: Vec<&str> = keys.iter().take(5).copied().collect();
        let bare = |key: &str| key.trim_start_matches('0').to_owned();
        let known: BTreeSet<String> = self.units.keys().map(|key| bare(key)).collect();
        let hint = if keys.iter().any(|key| known.contains(&bare(key))) {
            "; some keys differ by leading zeros alone: one side has them as numbers, and both must be text"
        } else {
            "; are the tables of another edition than the polygons?"
        };
        let text = format!(
            "{} of {} ({:.2} ha near the area, {:.1} % of it) {} a `{}` without soils in the tables of {} ({}{}): {} ground is missing{hint}",
            counted(without.len(), "polygon"),
            polygons.file,
            area_m2 / 10_000.0,
            100.0 * area_m2 / polygons.all_m2(),
            one_or_many(without.len(), "has", "have"),
            key_name(&self.section),
            self.section.tables_as_written,
            shown.join(", "),
            if keys.len() > shown.len() { ", ..." } else { "" },
            one_or_many(without.len(), "its", "their"),
        );
        if area_m2 > MOST_UNMATCHED * polygons.all_m2() {
            findings.error(NAME, text);
        } else {
            findings.warn(NAME, text);
        }
    }

    /// Symbols and editions that polygons and tables tell differently.
    fn tell_editions(&self, findings: &mut Findings) {
        let polygons = &self.polygons;
        let table_of = |number: usize| self.units.get(polygons.unit[number].as_ref()?);
        for (what, of_polygon, of_unit) in [
            (
                "symbol",
                &polygons.symbol,
                (|unit| unit.symbol.as_ref()) as fn(&super::MapUnit) -> Option<&String>,
            ),
            ("edition", &polygons.edition, |unit| unit.edition.as_ref()),
        ] {
            let mut units: Vec<&String> = Vec::new();
            let mut area_m2 = 0.0;
            let mut first = None;
            for (number, on_map) in of_polygon.iter().enumerate() {
                let in_table = table_of(number).and_then(of_unit);
                if let (Some(on_map), Some(in_table)) = (on_map, in_table)
                    && on_map != in_table
                {
                    units.extend(&polygons.unit[number]);
                    area_m2 += polygons.area_m2[number];
                    first = first.or(Some((number, on_map, in_table)));
                }
            }
            let Some((number, on_map, in_table)) = first else {
                continue;
            };
            let text = format!(
                "polygons and tables are of different editions: {} with another {what} in the tables (unit {} is \"{on_map}\" on the map and \"{in_table}\" in the tables); polygons and tables of one edition are needed",
                self.extent_of(units),
                polygons.unit[number].as_deref().unwrap_or_default()
            );
            if what == "edition" || area_m2 > MOST_UNMATCHED * polygons.all_m2() {
                findings.error(NAME, text);
            } else {
                findings.warn(NAME, text);
            }
        }
    }

    fn tell_shares(&self, findings: &mut Findings) {
        let mut over: Vec<&String> = Vec::new();
        let mut under: Vec<&String> = Vec::new();
        let (mut least, mut most) = (100.0_f64, 100.0_f64);
        for (key, unit) in &self.units {
            let sum: f64 = unit.components.iter().map(|soil| soil.share_pct).sum();
            if sum > 100.0 + SLACK_PCT {
                over.push(key);
                most = most.max(sum);
            } else if sum < 100.0 - SLACK_PCT {
                under.push(key);
                least = least.min(sum);
            }
        }
        if !over.is_empty() {
            findings.warn(
                NAME,
                format!(
                    "the shares of soils add up to more than 100 %, to {most:.0} % at most, in {}",
                    self.extent_of(over)
                ),
            );
        }
        if !under.is_empty() {
            findings.warn(
                NAME,
                format!(
                    "the shares of soils add up to less than 100 %, to {least:.0} % at least, in {}: of the rest nothing is told",
                    self.extent_of(under)
                ),
            );
        }
    }

    fn tell_odd(&self, odd: &Odd, findings: &mut Findings) {
        let mut tell = |units: &[String], of_one: &str, of_many: &str| {
            let count = units.len();
            if count > 0 {
                let text = one_or_many(count, of_one, of_many);
                findings.warn(NAME, format!("{count} {text} ({})", self.extent_of(units)));
            }
        };
        tell(
            &odd.twice,
            "row of soils stands twice, alike, and counts once",
            "rows of soils stand twice, alike, and count once",
        );
        tell(
            &odd.without_share,
            "soil has no share of its unit over 0 and up to 100 % and is left out",
            "soils have no share of their unit over 0 and up to 100 % and are left out",
        );
        tell(
            &odd.without_horizons,
            "soil has no horizons: what comes from horizons is missing for it",
            "soils have no horizons: what comes from horizons is missing for them",
        );
        tell(
            &odd.texture,
            "soil has horizons whose sand, silt and clay do not add up to 100 %",
            "soils have horizons whose sand, silt and clay do not add up to 100 %",
        );
        for (fault, units) in &odd.horizons {
            let text = match fault {
                HorizonFault::UpsideDown => "horizons that end where they begin or above: these do not count",
                HorizonFault::Overlap => "horizons that overlap: each weighs by its own thickness",
                HorizonFault::Gap => "gaps between horizons, of which nothing is known",
            };
            tell(units, &format!("soil has {text}"), &format!("soils have {text}"));
        }
        for (column, count) in &odd.impossible {
            findings.warn(
                NAME,
                format!(
                    "{} {} a `{column}` that is no number or that no soil has: it is missing",
                    counted(*count, "horizon"),
                    one_or_many(*count, "has", "have")
                ),
            );
        }
        for ((factor, word), count) in odd.words.iter().take(20) {
            findings.warn(
                NAME,
                format!(
                    "the tables have the word \"{word}\" ({1}), which is no class of `{0}`: it is missing; say in `words` of [factors.{0}] which class it is",
                    factor.id(),
                    counted(*count, "time")
                ),
            );
        }
    }

    /// What the reading leaves out, and what the rule of moisture assumed.
    fn tell_reading(&self, drawn: &Drawn, findings: &mut Findings) {
        let by_unit = self.polygons.by_unit();
        let depths = &self.section.depths;
        let (mut area, mut shown) = (0.0, 0.0);
        let mut assumed: Vec<&String> = Vec::new();
        for (key, unit) in &self.units {
            let area_m2 = by_unit.get(key.as_str()).map_or(0.0, |(_, area_m2)| *area_m2);
            let Some(main) = main_component(&unit.components) else {
                continue;
            };
            area += area_m2;
            shown += area_m2 * main.share_pct.min(100.0);
            let moisture = main.moisture(depths);
            if drawn.factors.contains(&SoilFactor::Moisture)
                && moisture.is_some_and(|found| found.assumed.is_some())
            {
                assumed.push(key);
            }
        }
        let how = match self.section.reading {
            Reading::MainComponent => Some("its largest soil stands for each map unit"),
            Reading::LargestClass => {
                Some("each map unit has, factor by factor, the class that most of its soils have")
            }
            Reading::EachComponent => None,
        };
        if let Some(how) = how.filter(|_| area > 0.0 && shown < 99.0 * area) {
            findings.warn(
                NAME,
                format!(
                    "{how}: on average the largest soil is {:.0} % of the ground, and what the others are does not show",
                    shown / area
                ),
            );
        }
        if !assumed.is_empty() {
            findings.warn(
                NAME,
                format!(
                    "moisture rests on assumptions in {}: neither available water nor texture is told of the largest soil, or no drainage; `why` tells which",
                    self.extent_of(assumed)
                ),
            );
        }
    }

    fn tell_seams(&self, shapes: &[MultiPolygon<f64>], findings: &mut Findings) {
        let reading = self.section.reading;
        let class = |number: usize| {
            let unit = self.units.get(self.polygons.unit[number].as_ref()?)?;
            let drainage = |soil: &crate::soil::Component| soil.drainage.map(f64::from);
            let found = read_unit(&unit.components, drainage, true, reading)?;
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a class index"
            )]
            let class = found.value as u16;
            Some(class)
        };
        let pieces: Vec<Piece> = (0..shapes.len())
            .filter_map(|number| {
                Some(Piece {
                    polygon: &shapes[number],
                    survey_area: self.polygons.survey_area[number].as_deref()?,
                    class: class(number),
                })
            })
            .collect();
        let found = seams(&pieces);
        if found.survey_areas.len() < 2 {
            return;
        }
        findings.warn(
            NAME,
            format!(
                "survey areas {} meet here: {} {} across the seam, and {} of them {} different drainage on its two sides (polygons of {:.2} ha); surveys of different years draw and name soils differently, so a border there may be none on the ground",
                found.survey_areas.join(", "),
                found.pairs,
                one_or_many(found.pairs, "pair of polygons touches", "pairs of polygons touch"),
                found.different,
                one_or_many(found.different, "has", "have"),
                found.different_m2 / 10_000.0
            ),
        );
    }
}
