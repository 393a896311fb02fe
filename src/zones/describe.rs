//! From sums over cells to a zone as people meet it: its ground, how each species
//! stands in it, and what limits the rest.

use std::collections::HashMap;

use super::ground::{FactorSums, ZoneGround};
use super::listing::ListingRules;
use super::zone::{GroundValue, Listing, Zone, ZoneSpecies};
use crate::rating::{Answer, CellRater, Questions, Settings};
use crate::score::Class;

/// A factor is told as limiting, lacking or counted from this share of a zone's
/// cells on.
const TOLD_SHARE: f64 = 0.1;

/// What is summed over the cells of one zone.
#[derive(Debug, Clone, Copy)]
pub struct ZoneSums<'a> {
    /// The number for people.
    pub number: u32,
    /// The id from the zone's place.
    pub stable_id: &'a str,
    /// Number of cells.
    pub cells: u64,
    /// Geodesic area of the cells.
    pub area_m2: f64,
    /// For each species the cells on which it is known, as rated.
    pub known: &'a [u32],
    /// For each species the cells that suit, as rated.
    pub suits: &'a [u32],
    /// Sums of ground and ratings.
    pub ground: &'a ZoneGround,
}

/// Turns sums into zones.
pub struct Describer<'a> {
    questions: &'a Questions,
    rater: &'a CellRater<'a>,
    settings: Settings,
    rules: ListingRules,
    supports_m: &'a [Option<f64>],
    verdicts: HashMap<(usize, u64), Vec<Verdict>>,
}

/// What one combination of ground means to one species.
#[derive(Debug, Clone, Copy)]
enum Verdict {
    Nothing,
    Unknown(usize),
    Scored(usize, f64),
}

/// Cells of a zone by what each factor does to one species.
#[derive(Debug, Clone, Default)]
struct FactorCells {
    below_wanted: u64,
    below_best: u64,
    unknown: u64,
    scored: u64,
    /// Sum of scores below the wanted class, for the class they stand for.
    low_scores: f64,
}

impl<'a> Describer<'a> {
    /// A describer of zones; `supports_m` gives for each factor the side of what it
    /// can show.
    #[must_use]
    pub fn new(
        questions: &'a Questions,
        rater: &'a CellRater<'a>,
        settings: Settings,
        rules: ListingRules,
        supports_m: &'a [Option<f64>],
    ) -> Describer<'a> {
        Describer {
            questions,
            rater,
            settings,
            rules,
            supports_m,
            verdicts: HashMap::new(),
        }
    }

    /// The zone of some sums. Its species stand in the catalogue's order, and it has
    /// no cautions yet.
    pub fn zone(&mut self, sums: &ZoneSums) -> Zone {
        let species: Vec<ZoneSpecies> = self
            .factor_cells(sums.ground)
            .iter()
            .enumerate()
            .map(|(species, by_factor)| self.species(sums, species, by_factor))
            .collect();
        let known: u64 = sums.known.iter().map(|&cells| u64::from(cells)).sum();
        let listed = species.iter().filter(|entry| entry.listing.is_listed());
        Zone {
            number: sums.number,
            stable_id: sums.stable_id.to_owned(),
            cells: sums.cells,
            area_m2: sums.area_m2,
            best_class: listed.filter_map(|entry| entry.class).min(),
            unknown_share: 1.0 - share(known, sums.cells * species.len().max(1) as u64),
            limited_by: self.keeping_most_off(&species),
            ground: sums.ground.factors.iter().map(ground_value).collect(),
            below_support_of: self.support_above(sums.area_m2),
            species,
            cautions: Vec::new(),
        }
    }

    /// For each species and factor the cells on which it limits or lacks.
    fn factor_cells(&mut self, ground: &ZoneGround) -> Vec<Vec<FactorCells>> {
        let factors = self.questions.factors().len();
        let mut cells = vec![vec![FactorCells::default(); factors]; self.questions.species_count()];
        for (question, numbers) in ground.questions.iter().enumerate() {
            for (&number, &count) in numbers {
                self.learn(question, number);
                for (by_factor, verdict) in cells.iter_mut().zip(&self.verdicts[&(question, number)]) {
                    match *verdict {
                        Verdict::Nothing => {}
                        Verdict::Unknown(factor) => by_factor[factor].unknown += count,
                        Verdict::Scored(factor, score) => {
                            let cells = &mut by_factor[factor];
                            cells.scored += count;
                            if score < self.settings.wanted() {
                                cells.below_wanted += count;
                                cells.low_scores += score * as_f64(count);
                            }
                            if score < self.settings.limits.lowest_of(Class::S1) {
                                cells.below_best += count;
                            }
                        }
                    }
                }
            }
        }
        cells
    }

    fn learn(&mut self, question: usize, number: u64) {
        let (questions, rater) = (self.questions, self.rater);
        self.verdicts.entry((question, number)).or_insert_with(|| {
            let values = rater.ground_sample(question, number);
            let verdict = |species| match questions.answer(species, &questions.questions()[question], &values)
            {
                Answer::Harmless | Answer::Silent => Verdict::Nothing,
                Answer::Unknown { factor, .. } => Verdict::Unknown(factor),
                Answer::Scored { factor, score } => Verdict::Scored(factor, score.get()),
            };
            (0..questions.species_count()).map(verdict).collect()
        });
    }

    fn species(&self, sums: &ZoneSums, species: usize, by_factor: &[FactorCells]) -> ZoneSpecies {
        let (known, suits) = (u64::from(sums.known[species]), u64::from(sums.suits[species]));
        let listing = self.rules.listing(sums.cells, known, suits);
        let rating = (suits > 0).then(|| {
            // A rating byte is the floor, so the mean is at most 0.005 too low and
            // never lifts a class.
            as_f64(sums.ground.rating_bytes[species]) / 200.0 / as_f64(suits)
        });
        let limited_by = match listing {
            Listing::Throughout | Listing::Mostly => worst(by_factor, sums.cells, |cells| cells.below_best),
            _ => worst(by_factor, sums.cells, |cells| cells.below_wanted),
        };
        let class = match (listing, rating) {
            (Listing::NotKnown, _) => None,
            (_, Some(rating)) => Some(self.settings.limits.class_of(rating, true)),
            (_, None) => limited_by.first().map(|&factor| {
                let cells = &by_factor[factor];
                let remediable = limited_by
                    .iter()
                    .all(|&factor| self.questions.factors()[factor].factor.remediable);
                let score = cells.low_scores / as_f64(cells.below_wanted);
                self.settings.limits.class_of(score, remediable)
            }),
        };
        let counts = |cells: &&FactorCells| share(cells.scored, sums.cells) >= TOLD_SHARE;
        ZoneSpecies {
            species,
            listing,
            share: share(suits, known),
            known_share: share(known, sums.cells),
            rating,
            class,
            rests_on: by_factor.iter().filter(counts).count(),
            limited_by: match (listing, class) {
                (Listing::Throughout | Listing::Mostly, Some(Class::S1)) => Vec::new(),
                _ => limited_by,
            },
            lacking: worst(by_factor, sums.cells, |cells| cells.unknown),
        }
    }

    /// Factors by the number of species that are kept off the list by them first.
    fn keeping_most_off(&self, species: &[ZoneSpecies]) -> Vec<usize> {
        let mut kept_off = vec![0usize; self.questions.factors().len()];
        let off = species.iter().filter(|entry| !entry.listing.is_listed());
        for &factor in off.filter_map(|entry| entry.limited_by.first()) {
            kept_off[factor] += 1;
        }
        let mut order: Vec<usize> = (0..kept_off.len())
            .filter(|&factor| kept_off[factor] > 0)
            .collect();
        order.sort_by_key(|&factor| (usize::MAX - kept_off[factor], factor));
        order
    }

    /// The factor with the coarsest support that the zone is smaller than.
    fn support_above(&self, area_m2: f64) -> Option<usize> {
        let coarser = |&factor: &usize| self.supports_m[factor].is_some_and(|side| side * side > area_m2);
        let side = |factor: usize| self.supports_m[factor].unwrap_or(0.0);
        (0..self.supports_m.len())
            .filter(coarser)
            .max_by(|&one, &other| side(one).total_cmp(&side(other)).then(other.cmp(&one)))
    }
}

/// Factors by the cells that `count` gives, most first, ties in the project's order;
/// those under a tenth of the zone are not told.
fn worst(by_factor: &[FactorCells], zone_cells: u64, count: impl Fn(&FactorCells) -> u64) -> Vec<usize> {
    let told = |&factor: &usize| {
        let cells = count(&by_factor[factor]);
        cells > 0 && share(cells, zone_cells) >= TOLD_SHARE
    };
    let mut order: Vec<usize> = (0..by_factor.len()).filter(told).collect();
    order.sort_by_key(|&factor| (u64::MAX - count(&by_factor[factor]), factor));
    order
}

fn ground_value(sums: &FactorSums) -> GroundValue {
    match sums {
        FactorSums::Measured(sums) => match sums.mean() {
            Some(mean) => GroundValue::Measured {
                mean,
                least: sums.least,
                greatest: if sums.beyond > 0 {
                    f32::INFINITY
                } else {
                    sums.greatest
                },
            },
            None if sums.beyond > 0 => GroundValue::Measured {
                mean: f64::INFINITY,
                least: f32::INFINITY,
                greatest: f32::INFINITY,
            },
            None => GroundValue::Missing,
        },
        FactorSums::Classes(counts) => {
            let known: u64 = counts.values().sum();
            let most = counts.iter().rev().max_by_key(|&(_, count)| count);
            most.map_or(GroundValue::Missing, |(&class, &count)| GroundValue::Class {
                class,
                share: share(count, known),
            })
        }
    }
}

fn share(part: u64, whole: u64) -> f64 {
    if whole == 0 {
        0.0
    } else {
        as_f64(part) / as_f64(whole)
    }
}

#[expect(clippy::cast_precision_loss, reason = "shares and means for people and files")]
fn as_f64(count: u64) -> f64 {
    count as f64
}
