//! The rows of `zone_species`: one for each zone and species, shared by the table
//! in the `GeoPackage` and the CSV file.

use std::borrow::Cow;
use std::ops::Range;

use super::number::cut;
use super::plant_cautions::plant_cautions;
use super::zone_values::factor_list;
use super::{SiteResult, ZoneSpeciesText, factors_counted};
use crate::gis::{Column, ColumnKind, Value};
use crate::range::Standing;
use crate::species::Species;
use crate::zones::{Listing, Zone, ZoneSpecies};

/// Rows up to which all are written unless something else is asked for.
pub const MOST_ROWS: usize = 1_000_000;

/// Which rows are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowChoice {
    /// One for each zone and species.
    All,
    /// Only species that are listed or suit in parts.
    ListedAndInParts,
}

impl RowChoice {
    /// All rows up to a million or when they are asked for, else the listed ones
    /// and those in parts.
    #[must_use]
    pub fn for_size(zones: usize, species: usize, all_asked: bool) -> RowChoice {
        if all_asked || zones.saturating_mul(species) <= MOST_ROWS {
            RowChoice::All
        } else {
            RowChoice::ListedAndInParts
        }
    }

    /// Whether a species that stands so has a row.
    #[must_use]
    pub fn takes(self, listing: Listing) -> bool {
        self == RowChoice::All
            || listing.is_listed()
            || matches!(listing, Listing::InParts | Listing::NotDocumented)
    }
}

/// One zone and one species.
pub struct ZoneSpeciesRow<'a> {
    /// The zone.
    pub zone: &'a Zone,
    /// How the species stands in it.
    pub entry: &'a ZoneSpecies,
    /// The species.
    pub species: &'a Species,
    /// The value found and the value needed.
    pub text: ZoneSpeciesText,
    /// Where the species is documented, where the project tells.
    pub range: Option<Standing>,
}

/// The rows of some zones, by their places, zone by zone in the order of their lists.
pub fn zone_species_rows<'a>(
    site: &SiteResult<'a>,
    choice: RowChoice,
    of_zones: Range<usize>,
) -> impl Iterator<Item = ZoneSpeciesRow<'a>> {
    let SiteResult {
        zones,
        species,
        texts,
        ranges,
        ..
    } = *site;
    of_zones.flat_map(move |index| {
        let zone = &zones[index];
        zone.species
            .iter()
            .filter(move |entry| choice.takes(entry.listing))
            .map(move |entry| ZoneSpeciesRow {
                zone,
                entry,
                species: &species[entry.index()],
                text: texts.found_and_needed(index, entry),
                range: ranges.map(|ranges| ranges.standing(index, entry.index())),
            })
    })
}

/// The columns of the table, with those of ranges where the project has them.
pub(super) fn row_columns(site: &SiteResult) -> Vec<Column> {
    use ColumnKind::{Integer, Real, Text};
    let ranges = [
        ("documented", Text),
        ("nearest_record", Text),
        ("nearest_record_m", Real),
    ];
    let ranges = ranges.into_iter().filter(|_| site.ranges.is_some());
    let columns = [
        ("zone_id", Text),
        ("zone", Integer),
        ("species_id", Text),
        ("scientific_name", Text),
        ("common_name", Text),
        ("form", Text),
        ("listing", Text),
        ("share", Real),
        ("known_share", Real),
        ("soil_share", Real),
        ("class", Text),
        ("class_words", Text),
        ("rating", Real),
        ("rests_on", Integer),
        ("of_factors", Integer),
        ("limiting_factors", Text),
        ("not_known_without", Text),
        ("value_found", Text),
        ("value_needed", Text),
        ("no_opinion_on", Text),
        ("cautions", Text),
    ];
    let all = columns.into_iter().chain(ranges);
    all.map(|(name, kind)| Column::new(name, kind)).collect()
}

/// What rows share, made once.
pub(super) struct RowWords {
    of_factors: usize,
    /// The cautions of each species as one text.
    cautions: Vec<String>,
}

impl RowWords {
    pub(super) fn new(site: &SiteResult) -> RowWords {
        let cautions = |species: &Species| plant_cautions(species).join("; ");
        RowWords {
            of_factors: factors_counted(site.factors),
            cautions: site.species.iter().map(cautions).collect(),
        }
    }
}

/// The values of one row, in the order of the columns.
///
/// # Missing
/// No share where the species is known in no cell; no class and no rating where
/// there is none.
pub(super) fn row_values<'a>(
    site: &SiteResult<'a>,
    words: &'a RowWords,
    row: ZoneSpeciesRow<'a>,
) -> Vec<Value<'a>> {
    let ZoneSpeciesRow {
        zone,
        entry,
        species,
        text,
        range,
    } = row;
    let borrowed = |text: &'a str| Value::Text(Cow::Borrowed(text));
    let owned = |text: String| Value::Text(Cow::Owned(text));
    let count = |number: usize| Value::Integer(i64::try_from(number).unwrap_or(i64::MAX));
    let mut values = vec![
        borrowed(&zone.stable_id),
        Value::Integer(i64::from(zone.number)),
        borrowed(&species.id),
        borrowed(&species.scientific_name),
        borrowed(&species.common_name),
        borrowed(species.form.word()),
        borrowed(entry.listing.words()),
        if entry.known_share > 0.0 {
            Value::Real(cut(entry.share))
        } else {
            Value::Missing
        },
        Value::Real(cut(entry.known_share)),
        entry
            .soil_share
            .get()
            .map_or(Value::Missing, |share| Value::Real(cut(share))),
        entry
            .class
            .map_or(Value::Missing, |class| owned(class.to_string())),
        entry
            .class
            .map_or(Value::Missing, |class| borrowed(class.words())),
        entry
            .rating
            .get()
            .map_or(Value::Missing, |rating| Value::Real(cut(rating))),
        count(entry.reasons.rests_on),
        count(words.of_factors),
        owned(factor_list(site.factors, &entry.reasons.limited_by)),
        owned(factor_list(site.factors, &entry.reasons.lacking)),
        owned(text.found),
        owned(text.needed),
        owned(factor_list(site.factors, &entry.reasons.no_opinion_on)),
        borrowed(&words.cautions[entry.index()]),
    ];
    if let (Some(standing), Some(ranges)) = (range, site.ranges) {
        let metres = standing.nearest.map(|nearest| nearest.metres);
        values.extend([
            borrowed(standing.documented.words()),
            owned(ranges.words.text(standing.nearest)),
            metres.map_or(Value::Missing, Value::Real),
        ]);
    }
    values
}
