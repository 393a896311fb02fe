//! Everything but the job: what the layers hold, what will be unknown, and how
//! long and large a run would be, from a few tiles of the site. Writes nothing.

mod range_lines;

use std::collections::{BTreeMap, BTreeSet};
use std::time::Instant;

use serde::Serialize;

use super::estimate::{Opened, Parts, spread, whole};
use super::not_rated::{NotRated, TileRow};
use super::prepared::Prepared;
use super::settings::ZoneSettings;
use crate::error::Error;
use crate::grid::Window;
use crate::rating::{AsRated, CellRater, Gap, Rating, rate};
use crate::site::{LayerFact, Met, TO_RATE, TileValues};
use crate::species::FloristicQuality;
use range_lines::range_lines;

/// In a looked-at tile every so many cells one is asked for what is unknown.
const EVERY: usize = 37;

/// What `check` tells.
#[derive(Debug, Clone, Serialize)]
pub struct Survey {
    /// The grid's CRS.
    pub crs: String,
    /// Who set the CRS.
    pub crs_set_by: String,
    /// Side of a cell.
    pub cell_m: f64,
    /// Who set the cell.
    pub cell_set_by: String,
    /// Rows of the grid.
    pub rows: usize,
    /// Columns of the grid.
    pub cols: usize,
    /// Every layer and how it comes to the grid.
    pub layers: Vec<LayerFact>,
    /// What the computing of factors rests on, line by line.
    pub computed_from: Vec<String>,
    /// What is known of where species are documented, line by line.
    pub range: Vec<String>,
    /// Number of species.
    pub species: usize,
    /// Their floristic quality, where the project names a flora region.
    pub floristic_quality: Option<FloristicQuality>,
    /// Tiles that were looked at, of how many.
    pub tiles: (usize, usize),
    /// Cells to rate in these tiles.
    pub cells_looked_at: u64,
    /// Cells to rate on the whole site, about.
    pub cells_to_rate: u64,
    /// What the factors hold there.
    pub factors: Vec<SurveyFactor>,
    /// Share of looked-at area that is not rated, by cause.
    pub not_rated: BTreeMap<String, f64>,
    /// Species that are unknown somewhere: share of the asked cells, and why.
    pub unknown: Vec<UnknownSpecies>,
    /// Regions before small ones join, about.
    pub regions: u64,
    /// Zones, about.
    pub zones: u64,
    /// Seconds a run takes, about.
    pub seconds: f64,
    /// Memory a run takes, about, in bytes.
    pub memory_bytes: u64,
    /// Room the files take, about, in bytes.
    pub disk_bytes: u64,
    /// Passes of the vote.
    pub vote: usize,
    /// What people should know.
    pub warnings: Vec<String>,
}

/// One factor in the looked-at tiles.
#[derive(Debug, Clone, Serialize)]
pub struct SurveyFactor {
    /// The factor.
    pub factor: String,
    /// Whether it is decisive.
    pub decisive: bool,
    /// Share of cells to rate without a value.
    pub missing: f64,
    /// Least and greatest value, or the classes met, for people.
    pub holds: String,
}

/// A species that will be unknown somewhere.
#[derive(Debug, Clone, Serialize)]
pub struct UnknownSpecies {
    /// Id.
    pub species: String,
    /// Share of the asked cells.
    pub share: f64,
    /// Causes with their shares, most first.
    pub causes: Vec<(String, f64)>,
}

/// Surveys a prepared site.
///
/// # Errors
/// When a layer cannot be read.
#[expect(clippy::cast_precision_loss, reason = "shares and estimates for people")]
pub fn survey(prepared: &Prepared, settings: &ZoneSettings) -> Result<Survey, Error> {
    let opened = Opened::now();
    let grid = prepared.site.grid();
    let rater = prepared.rater()?;
    let all: Vec<Window> = grid.tiles().collect();
    let tiles = spread(&all);
    let mut tally = Tally::new(prepared);
    let started = Instant::now();
    for &tile in &tiles {
        let values = prepared.site.read_tile(tile)?;
        tally.met.add(&values.met);
        tally.count(prepared, &rater, &values);
        tally
            .parts
            .add(&Parts::of_tile(prepared, &rater, settings, &values)?);
        tally.look(prepared, &values);
        tally.ask(prepared, &values);
    }
    let seconds = started.elapsed().as_secs_f64();
    let looked: usize = tiles.iter().map(Window::cells).sum();
    let scale = grid.cells() as f64 / looked.max(1) as f64;
    let parts = tally.parts.of_site(prepared, settings);
    let mut warnings = prepared.warnings.clone();
    warnings.extend(
        prepared
            .site
            .met_texts(&tally.met)
            .into_iter()
            .map(|(layer, text)| format!("{layer}: {text}")),
    );
    let (factors, unknown, not_rated) = tally.told(prepared);
    Ok(Survey {
        crs: grid.crs().label(),
        crs_set_by: prepared.site.crs_set_by().to_owned(),
        cell_m: grid.cell_m(),
        cell_set_by: prepared.site.cell_set_by().to_owned(),
        rows: grid.rows(),
        cols: grid.cols(),
        layers: prepared.site.facts().to_vec(),
        computed_from: prepared.site.computed_from().to_vec(),
        range: range_lines(prepared),
        species: prepared.catalogue.species.len(),
        floristic_quality: prepared.floristic_quality(),
        tiles: (tiles.len(), all.len()),
        cells_looked_at: tally.to_rate,
        cells_to_rate: whole(tally.to_rate as f64 * scale),
        factors,
        not_rated,
        unknown,
        regions: whole(parts.regions),
        zones: whole(parts.zones),
        // Tiles were looked at one by one, with about as much work as a run has.
        seconds: 0.9 * seconds * scale / rayon::current_num_threads() as f64 + 0.5,
        memory_bytes: parts.memory_bytes(prepared, opened).max(opened.peak_bytes),
        disk_bytes: parts.disk_bytes(prepared),
        vote: settings.vote,
        warnings,
    })
}

/// Classes by name, as many as people read.
fn shown(classes: &[&str]) -> String {
    const MOST: usize = 15;
    let text = classes[..classes.len().min(MOST)].join(", ");
    match classes.len().saturating_sub(MOST) {
        0 => text,
        more => format!("{text} and {more} more"),
    }
}

/// What is counted while tiles are looked at.
struct Tally {
    met: Met,
    not_rated: NotRated,
    parts: Parts,
    to_rate: u64,
    missing: Vec<u64>,
    seen: Vec<Seen>,
    asked: u64,
    unknown: Vec<BTreeMap<(usize, &'static str), u64>>,
    unknown_cells: Vec<u64>,
}

#[derive(Clone)]
struct Seen {
    least: f32,
    greatest: f32,
    classes: BTreeSet<u16>,
}

impl Tally {
    fn new(prepared: &Prepared) -> Tally {
        let factors = prepared.site.factors().len();
        let species = prepared.catalogue.species.len();
        Tally {
            met: Met::default(),
            not_rated: NotRated::default(),
            parts: Parts::default(),
            to_rate: 0,
            missing: vec![0; factors],
            seen: vec![
                Seen {
                    least: f32::INFINITY,
                    greatest: f32::NEG_INFINITY,
                    classes: BTreeSet::new(),
                };
                factors
            ],
            asked: 0,
            unknown: vec![BTreeMap::new(); species],
            unknown_cells: vec![0; species],
        }
    }

    /// Counts what is not rated.
    fn count(&mut self, prepared: &Prepared, rater: &CellRater, tile: &TileValues) {
        let mut cells = AsRated::default();
        for row in 0..tile.window.rows {
            let factors = tile.row(row);
            rater.rate_whole(&factors, tile.window.cols, &mut cells);
            self.not_rated.count_row(
                prepared,
                &TileRow {
                    values: tile,
                    row,
                    factors: &factors,
                    statuses: tile.status.row(row),
                    cells: &cells,
                },
                None,
            );
        }
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "class factors hold small whole indices"
    )]
    fn look(&mut self, prepared: &Prepared, tile: &TileValues) {
        let factors = prepared.site.factors().iter();
        let is_classes: Vec<bool> = factors.map(|factor| factor.kind.classes().is_some()).collect();
        for row in 0..tile.window.rows {
            let values = tile.row(row);
            for (col, &status) in tile.status.row(row).iter().enumerate() {
                if status != TO_RATE {
                    continue;
                }
                self.to_rate += 1;
                for (factor, row) in values.iter().enumerate() {
                    let (value, seen) = (row[col], &mut self.seen[factor]);
                    if value.is_nan() {
                        self.missing[factor] += 1;
                        continue;
                    }
                    seen.least = seen.least.min(value);
                    seen.greatest = seen.greatest.max(value);
                    if is_classes[factor] {
                        seen.classes.insert(value as u16);
                    }
                }
            }
        }
    }

    fn ask(&mut self, prepared: &Prepared, tile: &TileValues) {
        let cols = tile.window.cols;
        let mut cell = vec![f32::NAN; prepared.site.factors().len()];
        for index in (0..tile.window.cells()).step_by(EVERY) {
            let (row, col) = (index / cols, index % cols);
            if tile.status.row(row)[col] != TO_RATE {
                continue;
            }
            self.asked += 1;
            for (value, raster) in cell.iter_mut().zip(&tile.factors) {
                *value = raster.row(row)[col];
            }
            for species in 0..self.unknown.len() {
                if let Rating::Unknown { missing } =
                    rate(&prepared.questions, &prepared.settings, species, &cell)
                {
                    self.unknown_cells[species] += 1;
                    for (factor, gap) in missing {
                        let why = match gap {
                            Gap::Value => "no value",
                            Gap::Opinion | Gap::Case => "no opinion",
                        };
                        *self.unknown[species].entry((factor, why)).or_default() += 1;
                    }
                }
            }
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "shares for people")]
    fn told(&self, prepared: &Prepared) -> (Vec<SurveyFactor>, Vec<UnknownSpecies>, BTreeMap<String, f64>) {
        let share = |part: u64, whole: u64| {
            if whole == 0 {
                0.0
            } else {
                part as f64 / whole as f64
            }
        };
        let factors = prepared.site.factors().iter().enumerate().map(|(index, factor)| {
            let seen = &self.seen[index];
            let holds = match factor.kind.classes() {
                _ if self.missing[index] == self.to_rate => "nothing".to_owned(),
                Some(names) => {
                    let met = seen
                        .classes
                        .iter()
                        .filter_map(|&class| names.get(usize::from(class)));
                    let met: Vec<&str> = met.map(String::as_str).collect();
                    shown(&met)
                }
                None => {
                    let units = prepared.project.units;
                    format!(
                        "{} to {}",
                        factor.show(seen.least, units),
                        factor.show(seen.greatest, units)
                    )
                }
            };
            SurveyFactor {
                factor: factor.id.clone(),
                decisive: factor.decisive,
                missing: share(self.missing[index], self.to_rate),
                holds,
            }
        });
        let unknown = prepared.catalogue.species.iter().enumerate();
        let unknown = unknown
            .filter(|(index, _)| self.unknown_cells[*index] > 0)
            .map(|(index, species)| {
                let mut causes: Vec<(String, f64)> = self.unknown[index]
                    .iter()
                    .map(|(&(factor, why), &cells)| {
                        (
                            format!("{}: {why}", prepared.site.factors()[factor].id),
                            share(cells, self.asked),
                        )
                    })
                    .collect();
                causes.sort_by(|one, other| other.1.total_cmp(&one.1).then(one.0.cmp(&other.0)));
                UnknownSpecies {
                    species: species.id.clone(),
                    share: share(self.unknown_cells[index], self.asked),
                    causes,
                }
            });
        let rated = self.not_rated.rated.cells;
        let others: u64 = self.not_rated.causes.values().map(|sums| sums.cells).sum();
        let causes = self.not_rated.causes.iter();
        let not_rated = causes
            .map(|(cause, sums)| (cause.clone(), share(sums.cells, rated + others)))
            .collect();
        (factors.collect(), unknown.collect(), not_rated)
    }
}
