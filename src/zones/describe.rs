//! From sums over cells to a zone as people meet it: its ground, how each species
//! stands in it, and what limits the rest.

use std::collections::HashMap;

use super::factor_cells::{FactorCells, TOLD_SHARE, as_f64, first_limit, most_cells, most_first, share};
use super::ground::{FactorSums, ZoneGround};
use super::listing::ListingRules;
use super::reasons::{MetReasons, ReasonBook, Reasons};
use super::runs::narrow;
use super::zone::{GroundValue, Listing, MaybeShare, Zone, ZoneSpecies};
use crate::rating::{Answer, CellRater, Questions, Settings};
use crate::score::Class;

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
    /// The factor that draws its border; see [`super::border_factors`].
    pub border_factor: Option<usize>,
}

/// How much of a zone a species takes, and what keeps it out of most of the rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpeciesShares {
    /// Index into the catalogue's species.
    pub species: usize,
    /// Share of the known cells that suit, 0 to 1; 0 when none is known.
    pub share: f64,
    /// Share of the zone's cells on which the species is known, 0 to 1.
    pub known_share: f64,
    /// The factor that keeps it out of most cells, by index into the project's factors.
    pub limit: Option<usize>,
}

impl From<&ZoneSpecies> for SpeciesShares {
    fn from(entry: &ZoneSpecies) -> SpeciesShares {
        SpeciesShares {
            species: entry.index(),
            share: entry.share,
            known_share: entry.known_share,
            limit: entry.reasons.limited_by.first().copied(),
        }
    }
}

/// Turns sums into zones.
pub struct Describer<'a> {
    questions: &'a Questions,
    rater: &'a CellRater<'a>,
    settings: Settings,
    rules: ListingRules,
    supports_m: &'a [Option<f64>],
    reasons: MetReasons<'a>,
    /// For each question the factors that it may name.
    named_by: Vec<Vec<usize>>,
    /// For each question and number what it means to each species.
    verdicts: Vec<HashMap<u64, Vec<Verdict>>>,
    /// For each species and factor the cells of the zone that is told of.
    cells: Vec<FactorCells>,
    /// For each number of the question asked soil by soil, and each species, the share of
    /// soils that suit.
    soil_suits: HashMap<u64, Vec<f64>>,
}

/// What one combination of ground means to one species.
#[derive(Debug, Clone, Copy)]
enum Verdict {
    Nothing,
    /// Harmless, but that it has no opinion is told.
    NoOpinion(usize),
    Unknown(usize),
    Scored(usize, f64),
}

impl<'a> Describer<'a> {
    /// A describer of zones; `supports_m` gives for each factor the side of what it
    /// can show, `book` holds what many species have in common.
    #[must_use]
    pub fn new(
        questions: &'a Questions,
        rater: &'a CellRater<'a>,
        settings: Settings,
        rules: ListingRules,
        supports_m: &'a [Option<f64>],
        book: &'a ReasonBook,
    ) -> Describer<'a> {
        Describer {
            questions,
            rater,
            settings,
            rules,
            supports_m,
            reasons: book.reader(),
            named_by: questions
                .questions()
                .iter()
                .map(|question| questions.named_by(question))
                .collect(),
            verdicts: vec![HashMap::new(); questions.questions().len()],
            cells: Vec::new(),
            soil_suits: HashMap::new(),
        }
    }

    /// The zone of some sums, with the species whose listing `tells` takes, in the
    /// catalogue's order. Of the others `passed_over` gets what needs no reasons.
    pub fn zone(
        &mut self,
        sums: &ZoneSums,
        tells: impl Fn(Listing) -> bool,
        mut passed_over: impl FnMut(SpeciesShares),
    ) -> Zone {
        self.count_factor_cells(sums.ground);
        let soil_shares = self.soil_shares(sums.ground);
        let cells = std::mem::take(&mut self.cells);
        let factors = self.questions.factors().len();
        let (known, suits) = (sums.known.iter(), sums.suits.iter());
        let listings: Vec<Listing> = known
            .zip(suits)
            .map(|(&known, &suits)| self.rules.listing(sums.cells, known.into(), suits.into()))
            .collect();
        let told = listings.iter().filter(|&&listing| tells(listing)).count();
        let mut species = Vec::with_capacity(told);
        let mut kept_off = vec![0usize; factors];
        for (index, &listing) in listings.iter().enumerate() {
            let by_factor = &cells[index * factors..(index + 1) * factors];
            let limit = first_limit(by_factor);
            // Species that are not known are kept off by what lacks, not by a factor.
            if matches!(listing, Listing::InParts | Listing::NotListed)
                && let Some(factor) = limit
            {
                kept_off[factor] += 1;
            }
            if tells(listing) {
                let soil_share = soil_shares.get(index).copied();
                species.push(self.species(sums, index, listing, by_factor, soil_share));
            } else {
                let (known, suits) = (u64::from(sums.known[index]), u64::from(sums.suits[index]));
                passed_over(SpeciesShares {
                    species: index,
                    share: share(suits, known),
                    known_share: share(known, sums.cells),
                    limit,
                });
            }
        }
        self.cells = cells;
        let known: u64 = sums.known.iter().map(|&cells| u64::from(cells)).sum();
        let all = sums.cells * self.questions.species_count() as u64;
        let listed = species.iter().filter(|entry| entry.listing.is_listed());
        Zone {
            number: sums.number,
            stable_id: sums.stable_id.to_owned(),
            cells: sums.cells,
            area_m2: sums.area_m2,
            best_class: listed.filter_map(|entry| entry.class).min(),
            unknown_share: share(all - known, all),
            limited_by: most_first(&kept_off),
            ground: sums.ground.factors.iter().map(ground_value).collect(),
            below_support_of: sums
                .border_factor
                .filter(|&factor| self.is_below_support(factor, sums.area_m2)),
            species,
        }
    }

    /// Counts for each species and factor the cells on which it limits or lacks.
    fn count_factor_cells(&mut self, ground: &ZoneGround) {
        let factors = self.questions.factors().len();
        self.cells.clear();
        self.cells
            .resize(factors * self.questions.species_count(), FactorCells::default());
        let (wanted, best) = (self.settings.wanted(), self.settings.limits.lowest_of(Class::S1));
        for (question, numbers) in ground.questions.iter().enumerate() {
            for (number, count) in numbers.iter() {
                self.learn(question, number);
                let verdicts = &self.verdicts[question][&number];
                for (by_factor, verdict) in self.cells.chunks_exact_mut(factors.max(1)).zip(verdicts) {
                    match *verdict {
                        Verdict::Nothing => {}
                        Verdict::NoOpinion(factor) => by_factor[factor].no_opinion += count,
                        Verdict::Unknown(factor) => by_factor[factor].unknown += count,
                        Verdict::Scored(factor, score) => {
                            let cells = &mut by_factor[factor];
                            cells.scored += count;
                            cells.scores += score * as_f64(count);
                            if score < wanted {
                                cells.below_wanted += count;
                                cells.low_scores += score * as_f64(count);
                            }
                            if score < best {
                                cells.below_best += count;
                            }
                        }
                    }
                }
            }
        }
    }

    /// For each species the share of the zone's soils that suit, where soils are rated one
    /// by one; nothing for any where they are not.
    fn soil_shares(&mut self, ground: &ZoneGround) -> Vec<f64> {
        let questions = self.questions;
        let mut list = questions.questions().iter();
        let Some(at) = list.position(|question| !question.soil.is_empty()) else {
            return Vec::new();
        };
        let question = &questions.questions()[at];
        let mut sums = vec![0.0; questions.species_count()];
        let mut cells = 0;
        for (number, count) in ground.questions[at].iter() {
            let rater = self.rater;
            let shares = self.soil_suits.entry(number).or_insert_with(|| {
                let values = rater.ground_sample(at, number);
                let verdict = |species| questions.soil_verdict(species, question, &values);
                (0..questions.species_count())
                    .map(|species| verdict(species).map_or(0.0, |verdict| verdict.suits))
                    .collect()
            });
            for (sum, share) in sums.iter_mut().zip(shares.iter()) {
                *sum += share * as_f64(count);
            }
            cells += count;
        }
        sums.iter().map(|sum| sum / as_f64(cells.max(1))).collect()
    }

    fn learn(&mut self, question: usize, number: u64) {
        let (questions, rater) = (self.questions, self.rater);
        self.verdicts[question].entry(number).or_insert_with(|| {
            let values = rater.ground_sample(question, number);
            let verdict = |species| match questions.answer(species, &questions.questions()[question], &values)
            {
                Answer::Harmless { factor, told: true } => Verdict::NoOpinion(factor),
                Answer::Harmless { .. } | Answer::Silent { .. } => Verdict::Nothing,
                Answer::Unknown { factor, .. } => Verdict::Unknown(factor),
                Answer::Scored { factor, score } => Verdict::Scored(factor, score.get()),
            };
            (0..questions.species_count()).map(verdict).collect()
        });
    }

    fn species(
        &mut self,
        sums: &ZoneSums,
        species: usize,
        listing: Listing,
        by_factor: &[FactorCells],
        soil_share: Option<f64>,
    ) -> ZoneSpecies {
        let (known, suits) = (u64::from(sums.known[species]), u64::from(sums.suits[species]));
        let told = |count: fn(&FactorCells) -> u64| most_cells(by_factor, sums.cells, count);
        let stands_for_suiting = listing.is_listed() || listing == Listing::InParts;
        let rating = (suits > 0 && stands_for_suiting).then(|| {
            // A rating byte is the floor, so the mean is at most 0.005 too low and lifts
            // no class. But all of these cells reach the wanted class, so the mean does.
            let mean = as_f64(sums.ground.rating_bytes[species]) / as_f64(200 * suits);
            mean.max(self.settings.wanted())
        });
        let class = match (listing, rating) {
            (Listing::NotKnown, _) => None,
            (_, Some(rating)) => Some(self.settings.limits.class_of(rating, true)),
            (_, None) => self.class_where_kept_out(by_factor, sums.cells),
        };
        let reasons = Reasons {
            rests_on: self.rests_on(species, by_factor, sums.cells),
            limited_by: match (listing, class) {
                (Listing::Throughout | Listing::Mostly, Some(Class::S1)) => Vec::new(),
                (Listing::Throughout | Listing::Mostly, _) => told(|cells| cells.below_best),
                _ => told(|cells| cells.below_wanted),
            },
            lacking: if known < sums.cells {
                told(|cells| cells.unknown)
            } else {
                Vec::new()
            },
            no_opinion_on: (0..by_factor.len())
                .filter(|&factor| share(by_factor[factor].no_opinion, sums.cells) >= TOLD_SHARE)
                .collect(),
        };
        ZoneSpecies {
            share: share(suits, known),
            known_share: share(known, sums.cells),
            rating: MaybeShare::from(rating),
            soil_share: MaybeShare::from(soil_share),
            reasons: self.reasons.shared(reasons),
            species: narrow(species),
            listing,
            class,
        }
    }

    /// Questions with a score on at least a tenth of the zone.
    fn rests_on(&self, species: usize, by_factor: &[FactorCells], zone_cells: u64) -> usize {
        let scored = |factors: &[usize]| factors.iter().map(|&factor| by_factor[factor].scored).sum();
        let questions = self.questions.questions().iter().zip(&self.named_by);
        questions
            .filter(|(_, named_by)| share(scored(named_by), zone_cells) >= TOLD_SHARE)
            .map(|(question, _)| self.questions.rests_on(species, question))
            .sum()
    }

    /// The class of a species where it is known and does not suit: under the limiting
    /// rule that of the mean score of the factor which keeps it out of most cells, else
    /// that of the mean scores of all factors together.
    fn class_where_kept_out(&self, by_factor: &[FactorCells], zone_cells: u64) -> Option<Class> {
        let Settings { rule, limits, .. } = self.settings;
        let rated = |factor: usize| &self.questions.factors()[factor];
        let in_order_s = |score: f64| score >= limits.lowest_of(Class::S3);
        if self.settings.lowest_decides() {
            let keeps_out = most_cells(by_factor, zone_cells, |cells| cells.below_wanted);
            let low = |factor: usize| by_factor[factor].low_scores / as_f64(by_factor[factor].below_wanted);
            let remediable = keeps_out
                .iter()
                .all(|&factor| rated(factor).factor.remediable || in_order_s(low(factor)));
            let &first = keeps_out.first()?;
            return Some(limits.class_of(low(first), remediable));
        }
        let means = by_factor.iter().enumerate().filter(|(_, cells)| cells.scored > 0);
        let means: Vec<(usize, f64)> = means
            .map(|(factor, cells)| (factor, cells.scores / as_f64(cells.scored)))
            .collect();
        let combined = |change: &dyn Fn(usize, f64) -> f64| {
            let scores = means.iter();
            let weighted: Vec<(f64, f64)> = scores
                .map(|&(factor, score)| (rated(factor).weight, change(factor, score)))
                .collect();
            rule.combine(&weighted)
        };
        let rating = combined(&|_, score| score)?;
        let put_right = combined(&|factor, score| {
            if rated(factor).factor.remediable {
                1.0
            } else {
                score
            }
        })?;
        // These cells are below the wanted class, so what stands for them must be.
        let rating = rating.min(self.settings.wanted().next_down());
        Some(limits.class_of(rating, in_order_s(put_right)))
    }

    /// Whether an area is smaller than what a factor's source can show.
    fn is_below_support(&self, factor: usize, area_m2: f64) -> bool {
        self.supports_m[factor].is_some_and(|side| side * side > area_m2)
    }
}

fn ground_value(sums: &FactorSums) -> GroundValue {
    match sums {
        FactorSums::Measured(sums) => {
            let greatest = if sums.beyond > 0 {
                f32::INFINITY
            } else {
                sums.greatest
            };
            match sums.mean() {
                // Most cells are beyond reach, and the mean of the others is not theirs.
                _ if sums.beyond > sums.known => GroundValue::Measured {
                    mean: f64::INFINITY,
                    least: sums.least,
                    greatest,
                },
                Some(mean) => GroundValue::Measured {
                    mean,
                    least: sums.least,
                    greatest,
                },
                None => GroundValue::Missing,
            }
        }
        FactorSums::Classes(counts) => {
            let most = counts.iter().rev().max_by_key(|&(_, count)| count);
            most.map_or(GroundValue::Missing, |(class, count)| GroundValue::Class {
                class: u16::try_from(class).unwrap_or(u16::MAX),
                share: share(count, counts.cells()),
            })
        }
    }
}

#[cfg(test)]
#[path = "describe_tests.rs"]
mod tests;
