//! Zones from hand-made sums: listings, classes, limits and what lacks are plain to
//! see beforehand.

use super::*;
use crate::factor::{Factor, Kind, Unit};
use crate::project::{Missing, Rule};
use crate::rating::AsRated;
use crate::rating::RatedFactor;
use crate::score::ClassLimits;
use crate::species::{Form, Opinion, Response, Species};
use crate::zones::ground::GroundShape;
use crate::zones::{Border, border_factors};

const WET: usize = 0;
const ACID: usize = 1;
const SPRAY: usize = 2;

fn rated(factor: Factor) -> RatedFactor {
    RatedFactor {
        factor,
        missing: Missing::Unknown,
        weight: 1.0,
        from_raster: false,
    }
}

/// Three classes of wetness (not to be put right), pH (to be put right), spray, and
/// shade that stands in for wetness.
fn factors() -> Vec<RatedFactor> {
    let classes = Kind::Classes {
        names: ["dry", "mesic", "wet"].map(str::to_owned).into(),
        ordered: true,
    };
    let shade = Factor {
        stands_in_for: Some("wetness".to_owned()),
        ..Factor::added("shade", Kind::Measured(Unit::Percent))
    };
    let wetness = Factor {
        decisive: true,
        ..Factor::added("wetness", classes)
    };
    [
        wetness,
        Factor::standard("ph").unwrap(),
        Factor::standard("spray_salt").unwrap(),
        shade,
    ]
    .map(rated)
    .into()
}

fn opinion(factor: &str, response: Response) -> Opinion {
    Opinion {
        factor: factor.to_owned(),
        given: None,
        response,
        source: "made up".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    }
}

fn plant(wetness: [f64; 3], ph: Option<(f64, f64)>) -> Species {
    let scores = wetness.map(|score| Some(crate::score::Score::clamped(score)));
    let mut opinions = vec![opinion("wetness", Response::Classes(scores.into()))];
    let ramp = |(from, to)| Response::range(Some(from), Some(to), None, None).unwrap();
    opinions.extend(ph.map(|ph| opinion("ph", ramp(ph))));
    Species {
        id: "made-up".to_owned(),
        scientific_name: String::new(),
        common_name: String::new(),
        form: Form::Forb,
        traits: vec![],
        opinions,
    }
}

/// So many cells with these values of wetness, pH, spray and shade.
type Cells = (u64, [f32; 4]);

/// The sums of some cells, counted one by one by the plain meaning.
struct Counted {
    ground: ZoneGround,
    known: Vec<u32>,
    suits: Vec<u32>,
    cells: u64,
}

fn count(questions: &Questions, rater: &CellRater, settings: &Settings, cells: &[Cells]) -> Counted {
    let species = questions.species_count();
    let shape = GroundShape {
        measured: vec![false, true, false, true],
        questions: questions.questions().len(),
        species,
    };
    let mut counted = Counted {
        ground: ZoneGround::empty(&shape),
        known: vec![0; species],
        suits: vec![0; species],
        cells: cells.iter().map(|(count, _)| count).sum(),
    };
    let mut row = AsRated::default();
    for (times, values) in cells {
        for _ in 0..*times {
            let rows: Vec<&[f32]> = values.iter().map(std::slice::from_ref).collect();
            for (factor, values) in counted.ground.factors.iter_mut().zip(&rows) {
                factor.add_values(values);
            }
            rater.rate_whole(&rows, 1, &mut row);
            for (counts, numbers) in counted.ground.questions.iter_mut().zip(&row.ground) {
                counts.add(numbers[0], 1);
            }
            for index in 0..species {
                match crate::rating::rate(questions, settings, index, values).state(settings) {
                    crate::rating::State::Suits => {
                        counted.known[index] += 1;
                        counted.suits[index] += 1;
                        counted.ground.rating_bytes[index] += u64::from(row.bytes[0][index]);
                    }
                    crate::rating::State::DoesNot => counted.known[index] += 1,
                    crate::rating::State::Unknown => {}
                }
            }
        }
    }
    counted
}

fn settings(rule: Rule) -> Settings {
    let [s1, s2, s3] = rule.usual_limits();
    Settings {
        rule,
        limits: ClassLimits::new(s1, s2, s3).unwrap(),
        at_least: Class::S2,
    }
}

/// The zone of some cells, and its entries in the order of the species.
fn zone(species: &[Species], settings: Settings, cells: &[Cells]) -> Zone {
    let questions = Questions::new(factors(), species);
    let rater = CellRater::new(&questions, settings).unwrap();
    let counted = count(&questions, &rater, &settings, cells);
    let supports = [Some(30.0), None, None, Some(100.0)];
    let book = ReasonBook::default();
    let rules = ListingRules::default();
    let mut describer = Describer::new(&questions, &rater, settings, rules, &supports, &book);
    let sums = ZoneSums {
        number: 7,
        stable_id: "e1n1",
        cells: counted.cells,
        area_m2: 899.0,
        known: &counted.known,
        suits: &counted.suits,
        ground: &counted.ground,
        border_factor: Some(WET),
    };
    let all = describer.zone(&sums, |_| true, |species| panic!("{species:?} is told of"));
    let mut passed_over = Vec::new();
    let listed = describer.zone(&sums, Listing::is_listed, |species| passed_over.push(species));
    // What is left out changes nothing that is told of the others or of the zone.
    assert!(listed.species.iter().all(|entry| all.species.contains(entry)));
    let (told, others): (Vec<_>, Vec<_>) = all.species.iter().partition(|entry| entry.listing.is_listed());
    let others: Vec<SpeciesShares> = others.into_iter().map(SpeciesShares::from).collect();
    assert_eq!((told.len(), passed_over), (listed.species.len(), others));
    let whole = Zone {
        species: all.species.clone(),
        ..listed
    };
    assert_eq!(whole, all);
    all
}

const NO_SPRAY: f32 = 0.0;
const SLIGHT: f32 = 1.0;
const NONE: f32 = f32::NAN;

#[test]
fn listings_ratings_and_classes_follow_the_cells() {
    let species = [
        plant([1.0, 1.0, 1.0], Some((3.0, 5.0))),
        plant([1.0, 0.7, 0.0], Some((3.0, 5.0))),
        plant([0.7, 0.0, 0.0], Some((3.0, 5.0))),
        plant([0.0, 0.0, 0.0], Some((3.0, 5.0))),
        plant([1.0, 1.0, 1.0], None),
        plant([0.0, 0.5, 1.0], Some((3.0, 5.0))),
    ];
    let cells = [
        (3, [0.0, 6.0, NO_SPRAY, NONE]),
        (5, [1.0, 6.0, NO_SPRAY, NONE]),
        (2, [2.0, 6.0, NO_SPRAY, NONE]),
    ];
    let zone = zone(&species, settings(Rule::Limiting), &cells);
    let told: Vec<_> = zone
        .species
        .iter()
        .map(|entry| (entry.listing, entry.class, entry.reasons.limited_by.clone()))
        .collect();
    assert_eq!(
        told,
        [
            (Listing::Throughout, Some(Class::S1), vec![]),
            (Listing::Mostly, Some(Class::S2), vec![WET]),
            (Listing::InParts, Some(Class::S2), vec![WET]),
            (Listing::NotListed, Some(Class::N2), vec![WET]),
            (Listing::NotKnown, None, vec![]),
            // Suits a fifth, which is not in parts: the class is that of the rest, the
            // mean of three cells of 0.0 and five of 0.5.
            (Listing::NotListed, Some(Class::N2), vec![WET]),
        ]
    );
    assert_eq!((zone.species[5].rating.get(), zone.species[5].share), (None, 0.2));
    // Three cells of 1.0 and five of 0.7.
    assert_eq!(
        zone.species[1].rating.get(),
        Some((3.0 * 200.0 + 5.0 * 140.0) / 1600.0)
    );
    assert_eq!(zone.species[1].share, 0.8);
    assert_eq!((zone.species[3].rating.get(), zone.species[3].share), (None, 0.0));
    assert_eq!(zone.species[4].reasons.lacking, [ACID]);
    assert!(zone.species[3].reasons.lacking.is_empty());
    assert_eq!(zone.best_class, Some(Class::S1));
    assert_eq!(zone.unknown_share, 10.0 / 60.0);
    // The species that is not known is kept off by what lacks, not by a factor.
    assert_eq!(zone.limited_by, [WET]);
    assert_eq!(zone.species[0].reasons.rests_on, 2);
}

#[test]
fn what_can_be_put_right_is_n1() {
    let species = [
        plant([1.0, 1.0, 1.0], Some((6.0, 8.0))),
        plant([0.5, 0.5, 0.5], Some((6.0, 8.0))),
        plant([0.1, 0.1, 0.1], Some((6.0, 8.0))),
    ];
    let cells = [(10, [0.0, 6.25, NO_SPRAY, NONE])];
    let classes = |rule| -> Vec<_> {
        let zone = zone(&species, settings(rule), &cells);
        zone.species.iter().map(|entry| entry.class.unwrap()).collect()
    };
    // pH scores 0.125 and can be put right; wetness cannot, but 0.5 alone is S3.
    assert_eq!(classes(Rule::Limiting), [Class::N1, Class::S3, Class::N2]);
    assert_eq!(classes(Rule::Product), [Class::N1, Class::N1, Class::N2]);
}

#[test]
fn a_rule_without_a_factor_below_the_wanted_class_still_gives_a_class() {
    // 0.6 x 0.7 = 0.42, below 0.50 although neither factor is.
    let species = [plant([0.6, 0.6, 0.6], Some((4.6, 6.6)))];
    let zone = zone(
        &species,
        settings(Rule::Product),
        &[(10, [0.0, 6.0, NO_SPRAY, NONE])],
    );
    let entry = &zone.species[0];
    assert_eq!(
        (entry.listing, entry.class),
        (Listing::NotListed, Some(Class::S3))
    );
    assert!(entry.reasons.limited_by.is_empty());
}

#[test]
fn a_rating_on_the_limit_keeps_its_class_whatever_the_number_of_cells() {
    for cells in 1..60 {
        let species = [plant([0.6, 0.85, 0.0], Some((3.0, 5.0)))];
        let at = |class| {
            zone(
                &species,
                settings(Rule::Limiting),
                &[(cells, [class, 6.0, NO_SPRAY, NONE])],
            )
        };
        assert_eq!(at(0.0).species[0].class, Some(Class::S2), "{cells} cells");
        assert_eq!(at(1.0).species[0].class, Some(Class::S1), "{cells} cells");
    }
    // A limit between two bytes: the floor must not drop a class that all cells reach.
    let between = Settings {
        limits: ClassLimits::new(0.85, 0.607, 0.4).unwrap(),
        ..settings(Rule::Limiting)
    };
    let species = [plant([0.608, 0.0, 0.0], Some((3.0, 5.0)))];
    let entry = &zone(&species, between, &[(5, [0.0, 6.0, NO_SPRAY, NONE])]).species[0];
    assert_eq!((entry.class, entry.rating.get()), (Some(Class::S2), Some(0.607)));
}

#[test]
fn an_absent_opinion_on_slight_spray_is_told() {
    let species = [plant([1.0, 1.0, 1.0], Some((3.0, 5.0)))];
    let at = |spray| {
        zone(
            &species,
            settings(Rule::Limiting),
            &[(10, [0.0, 6.0, spray, NONE])],
        )
    };
    assert!(at(NO_SPRAY).species[0].reasons.no_opinion_on.is_empty());
    let slight = &at(SLIGHT).species[0];
    assert_eq!(slight.reasons.no_opinion_on, [SPRAY]);
    assert_eq!(slight.listing, Listing::Throughout);
}

#[test]
fn factors_that_stand_in_for_one_another_count_once() {
    let mut species = plant([1.0, 1.0, 1.0], Some((3.0, 5.0)));
    let shade = Response::range(None, None, Some(50.0), Some(100.0)).unwrap();
    species.opinions.push(opinion("shade", shade));
    // Half the zone knows its wetness, the other half only its shade.
    let cells = [(5, [0.0, 6.0, NO_SPRAY, 10.0]), (5, [NONE, 6.0, NO_SPRAY, 10.0])];
    let zone = zone(&[species], settings(Rule::Limiting), &cells);
    assert_eq!(zone.species[0].reasons.rests_on, 2);
    assert_eq!(zone.species[0].listing, Listing::Throughout);
}

#[test]
fn a_zone_is_flagged_by_the_factor_that_draws_its_border_alone() {
    let species = [plant([1.0, 0.0, 0.0], Some((3.0, 5.0)))];
    // 899 m2 are below 30 m x 30 m; shade is coarser still, but draws no border.
    let zone = zone(
        &species,
        settings(Rule::Limiting),
        &[(4, [0.0, 6.0, NO_SPRAY, 10.0])],
    );
    assert_eq!(zone.below_support_of, Some(WET));
}

#[test]
fn the_factor_that_differs_most_draws_the_border() {
    let species = [plant([1.0, 0.5, 0.0], Some((3.0, 5.0)))];
    let questions = Questions::new(factors(), &species);
    let settings = settings(Rule::Limiting);
    let rater = CellRater::new(&questions, settings).unwrap();
    let grounds = [
        [(10, [0.0, 6.0, NO_SPRAY, NONE])],
        [(10, [2.0, 6.0, NO_SPRAY, NONE])],
        [(10, [2.0, 3.5, NO_SPRAY, NONE])],
        // Like the third to every species.
        [(10, [2.0, 3.4, NO_SPRAY, 20.0])],
    ]
    .map(|cells| count(&questions, &rater, &settings, &cells).ground);
    let borders = [
        Border::between(1, 2, 4),
        Border::between(2, 3, 9),
        Border::between(3, 4, 50),
    ];
    let found = |borders: &[Border]| {
        border_factors(
            borders,
            grounds.len(),
            |at| grounds[at].clone(),
            &questions,
            &rater,
        )
    };
    assert_eq!(found(&borders), [Some(WET), Some(ACID), Some(ACID), None]);
    assert_eq!(found(&borders[..1]), [Some(WET), Some(WET), None, None]);
}

#[test]
fn a_distance_mostly_beyond_reach_has_no_mean_of_the_rest() {
    let ground = |values: &[f32]| {
        let shape = GroundShape {
            measured: vec![true],
            questions: 0,
            species: 0,
        };
        let mut ground = ZoneGround::empty(&shape);
        ground.factors[0].add_values(values);
        ground_value(&ground.factors[0])
    };
    let infinity = f32::INFINITY;
    assert_eq!(
        ground(&[5.0, infinity, infinity]),
        GroundValue::Measured {
            mean: f64::INFINITY,
            least: 5.0,
            greatest: infinity
        }
    );
    assert_eq!(
        ground(&[5.0, 7.0, infinity]),
        GroundValue::Measured {
            mean: 6.0,
            least: 5.0,
            greatest: infinity
        }
    );
    assert_eq!(ground(&[f32::NAN]), GroundValue::Missing);
}

#[test]
fn the_most_frequent_class_stands_for_the_zone_and_the_lower_of_two() {
    let counts = [(0, 2), (1, 5), (2, 5)].into_iter().collect();
    assert_eq!(
        ground_value(&FactorSums::Classes(counts)),
        GroundValue::Class {
            class: 1,
            share: 5.0 / 12.0
        }
    );
}
