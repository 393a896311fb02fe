//! The section `[range]` opened: table, regions and records together.

use serde::Serialize;

use super::error::{Found, RangeError};
use super::layers::Wanted;
use super::names::some_of;
use super::records::{self, Records};
use super::regions::Regions;
use super::standing::{Documented, NearestRecord, RecordWords, Standing};
use super::table::{self, Documents};
use super::zone_cells::{ZoneCells, ZoneShape};
use crate::grid::{CellIndex, Grid, Window};
use crate::plural::counted;
use crate::project::{RangeSection, Units};
use crate::site::burn::PolygonIndex;
use crate::species::Catalogue;

/// Where the catalogue's species are documented.
#[derive(Debug)]
pub struct Range {
    /// For each region that reaches the area the cells it owns, in the regions' order.
    cells: Vec<PolygonIndex>,
    regions: Regions,
    /// For each species whether it is documented in each region.
    documented: Vec<Vec<bool>>,
    records: Option<Records>,
    blurs: Vec<Option<f64>>,
    reach_m: f64,
    facts: RangeFacts,
    warnings: Vec<String>,
}

/// What was read, in numbers.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct RangeFacts {
    /// Regions that reach the area.
    pub regions_of_area: usize,
    /// Regions that adjoin one of those.
    pub adjoining_regions: usize,
    /// Rows of the table.
    pub table_rows: usize,
    /// Rows of species of the catalogue, doubles counted once.
    pub table_rows_used: usize,
    /// Names of the table that the catalogue lacks.
    pub unknown_names: usize,
    /// Keys of the table that no region has.
    pub unmatched_keys: usize,
    /// Rows that say the same as another.
    pub doubles: usize,
    /// Records of the catalogue's species within reach.
    pub records_used: usize,
    /// Names of records that the catalogue lacks.
    pub unknown_record_names: usize,
    /// Species and regions documented by a record and not by the table.
    pub by_record_alone: usize,
    /// Species whose records are blurred.
    pub blurred_species: usize,
}

impl Range {
    /// Opens the table, the regions and the records of a section.
    ///
    /// # Errors
    /// Every fault of the three, at once.
    pub fn open(section: &RangeSection, catalogue: &Catalogue, grid: &Grid) -> Result<Range, RangeError> {
        let mut found = Found::default();
        let blurs = blurs(section, catalogue, &mut found);
        let wanted = Wanted {
            key: "range.regions",
            layer: &section.regions,
            attribute: &section.key,
        };
        let regions = Regions::read(wanted, grid, &mut found);
        let documents = regions
            .as_ref()
            .and_then(|regions| table::read(section, catalogue, regions, &mut found));
        let records = records::read(section, catalogue, &blurs, grid, &mut found);
        let cells = regions.as_ref().and_then(|regions| {
            let of_area = regions.list.iter().take(regions.of_area);
            let cells = of_area.map(|region| PolygonIndex::new(grid, &region.polygons));
            found.take("range.regions", cells.collect::<Result<Vec<_>, _>>())
        });
        let (Some(regions), Some(documents), Some(cells), true) =
            (regions, documents, cells, found.problems.is_empty())
        else {
            return Err(RangeError::Problems {
                problems: found.problems,
            });
        };
        let (documented, by_record_alone) = documented(&documents, &regions, records.as_ref());
        if by_record_alone > 0 {
            let text = format!(
                "{} a species has a record in a region for which the table does not name it; it counts as documented there",
                counted(by_record_alone, "time")
            );
            found.warn("range.records", &text);
        }
        let facts = RangeFacts {
            regions_of_area: regions.of_area,
            adjoining_regions: regions.list.len() - regions.of_area,
            table_rows: documents.rows,
            table_rows_used: documents.rows_used,
            unknown_names: documents.unknown_names,
            unmatched_keys: documents.unmatched_keys,
            doubles: documents.doubles,
            records_used: records.as_ref().map_or(0, |records| records.used),
            unknown_record_names: records.as_ref().map_or(0, |records| records.unknown_names),
            by_record_alone,
            blurred_species: blurs.iter().flatten().count(),
        };
        Ok(Range {
            cells,
            regions,
            documented,
            records,
            blurs,
            reach_m: section.reach_km * 1_000.0,
            facts,
            warnings: found.warnings,
        })
    }

    /// What was read, in numbers.
    #[must_use]
    pub fn facts(&self) -> &RangeFacts {
        &self.facts
    }

    /// What people should know.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// Words for nearest records.
    #[must_use]
    pub fn record_words(&self, units: Units) -> RecordWords {
        RecordWords {
            reach_m: self.records.is_some().then_some(self.reach_m),
            units,
        }
    }

    /// Keys of the regions that reach the area.
    pub fn keys_of_area(&self) -> impl Iterator<Item = &str> {
        let of_area = self.regions.list.iter().take(self.regions.of_area);
        of_area.map(|region| region.key.as_str())
    }

    /// How each species stands at one cell.
    #[must_use]
    pub fn at(&self, grid: &Grid, cell: CellIndex) -> Vec<Standing> {
        let window = Window {
            row: cell.row,
            col: cell.col,
            rows: 1,
            cols: 1,
        };
        let touched: Vec<usize> = (0..self.cells.len())
            .filter(|&region| self.cells[region].covers(window).values() == [1])
            .collect();
        let cells = ZoneCells::of_cell(cell);
        self.standings(&touched, &ZoneShape::new(grid, cells.of_zone(0)))
    }

    pub(super) fn cells(&self) -> &[PolygonIndex] {
        &self.cells
    }

    /// How each species stands in a zone that touches these regions.
    pub(super) fn standings(&self, touched: &[usize], shape: &ZoneShape) -> Vec<Standing> {
        let adjoining = || touched.iter().flat_map(|&region| &self.regions.adjoining[region]);
        let species = self.documented.iter().enumerate();
        species
            .map(|(species, of_species)| Standing {
                documented: if touched.is_empty() {
                    Documented::NoRegion
                } else if touched.iter().any(|&region| of_species[region]) {
                    Documented::Here
                } else if adjoining().any(|&region| of_species[region]) {
                    Documented::Adjoining
                } else {
                    Documented::Not
                },
                nearest: self.nearest(species, shape),
            })
            .collect()
    }

    fn nearest(&self, species: usize, shape: &ZoneShape) -> Option<NearestRecord> {
        let places = &self.records.as_ref()?.places[species];
        let distance_m = shape.nearest_m(places, self.reach_m)?;
        Some(match self.blurs[species] {
            None => NearestRecord::told(distance_m),
            Some(blur_m) => NearestRecord::blurred(distance_m, blur_m),
        })
    }
}

/// For each species the side of the squares of its records. A name that is misspelt would
/// tell what is to be hidden, so it stops the run.
fn blurs(section: &RangeSection, catalogue: &Catalogue, found: &mut Found) -> Vec<Option<f64>> {
    let mut blurs = vec![None; catalogue.species.len()];
    for name in &section.blurred {
        if let Some(species) = catalogue.index_of(name) {
            blurs[species] = section.blur_m;
            continue;
        }
        let near = catalogue.nearest_ids(name).into_iter();
        let near: Vec<String> = near.map(str::to_owned).collect();
        let hint = if near.is_empty() {
            String::new()
        } else {
            format!("; nearest: {}", some_of(&near))
        };
        let text = format!("\"{name}\" is no species of the catalogue{hint}");
        found.problem("range.blurred", &text);
    }
    blurs
}

/// By species and region, by the table or by a record that may be told; and how often by a
/// record alone.
fn documented(
    documents: &Documents,
    regions: &Regions,
    records: Option<&Records>,
) -> (Vec<Vec<bool>>, usize) {
    let mut by_record_alone = 0;
    let of_species = documents.regions.iter().enumerate().map(|(species, in_table)| {
        let places = records.map_or(&[][..], |records| &records.plain[species]);
        let of_region = regions.list.iter().enumerate().map(|(index, region)| {
            let by_table = in_table.contains(&index);
            let by_record = !by_table && places.iter().any(|&place| region.holds(place));
            by_record_alone += usize::from(by_record);
            by_table || by_record
        });
        of_region.collect()
    });
    let of_species = of_species.collect();
    (of_species, by_record_alone)
}
