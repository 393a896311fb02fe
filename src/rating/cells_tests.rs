//! The tables against the plain meaning, one cell and one species at a time.

use proptest::prelude::*;

use super::*;
use crate::factor::{Factor, Harmless, Kind, Unit};
use crate::project::{Missing, Rule};
use crate::rating::{AsRated, RatedFactor, RatedRow, Rating, SaidApart, State, rate};
use crate::score::{Class, ClassLimits};
use crate::soil::{
    LeachingWater, MoistureNudge, RootZone, SaltOfSoils, SoilMixes, SoilPart, Told, WetnessNudge,
};
use crate::species::{Condition, Form, Holds, Opinion, Response, Species};

fn factors() -> Vec<RatedFactor> {
    let classes = |count: usize| Kind::Classes {
        names: (0..count).map(|index| format!("class {index}")).collect(),
        ordered: true,
    };
    let mut list = vec![
        Factor::added("wet", classes(3)),
        Factor::added("acid", Kind::Measured(Unit::Ph)),
        Factor::added("shade", Kind::Measured(Unit::Percent)),
        Factor::added("sun", Kind::Measured(Unit::HoursPerDay)),
        Factor::added("salt", Kind::Measured(Unit::DecisiemensPerMetre)),
        Factor::added("spray", classes(4)),
    ];
    list[0].decisive = true;
    list[2].decisive = true;
    list[3].stands_in_for = Some("shade".to_owned());
    list[4].decisive = true;
    list[4].harmless = Harmless::Below(2.0);
    list[5].decisive = true;
    list[5].harmless = Harmless::UpToClass {
        last: 1,
        told_from: 1,
    };
    list.into_iter()
        .zip(1u8..)
        .map(|(factor, place)| RatedFactor {
            factor,
            missing: if place == 2 {
                Missing::Ignore
            } else {
                Missing::Unknown
            },
            weight: f64::from(place),
            from_raster: matches!(place, 3..=5),
        })
        .collect()
}

fn response(classes: Option<usize>) -> BoxedStrategy<Response> {
    let score = prop_oneof![Just(0.0), Just(1.0), Just(0.6), Just(0.85), 0.0..=1.0f64];
    if let Some(classes) = classes {
        let one = proptest::option::weighted(0.9, score.prop_map(Score::clamped));
        return proptest::collection::vec(one, classes)
            .prop_map(Response::Classes)
            .boxed();
    }
    let limits = proptest::collection::vec(0.0..10.0f64, 4).prop_map(|mut limits| {
        limits.sort_by(f64::total_cmp);
        Response::range(Some(limits[0]), Some(limits[1]), Some(limits[2]), Some(limits[3])).unwrap()
    });
    let open = (0.0..5.0f64, 0.0..5.0f64)
        .prop_map(|(from, width)| Response::range(None, None, Some(from), Some(from + width)).unwrap());
    let curve = proptest::collection::btree_map(0u8..10, score, 1..5).prop_map(|points| {
        let points = points.into_iter().map(|(value, score)| (f64::from(value), score));
        Response::curve(points.collect()).unwrap()
    });
    let line = (0.0..5.0f64, 1.0..60.0f64).prop_map(|(a, b)| Response::threshold(a, b).unwrap());
    prop_oneof![limits, open, curve, line].boxed()
}

fn opinions(factor: &'static str, classes: Option<usize>) -> BoxedStrategy<Vec<Opinion>> {
    let opinion = move |given: Option<Condition>, response: Response| Opinion {
        factor: factor.to_owned(),
        given,
        response,
        source: "made up".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    };
    let plain = response(classes).prop_map(move |response| vec![opinion(None, response)]);
    let by_class = (response(classes), 0u16..3).prop_map(move |(response, class)| {
        let holds = Holds::Classes(vec![class]);
        let factor = "wet".to_owned();
        vec![opinion(Some(Condition { factor, holds }), response)]
    });
    let by_value = (response(classes), response(classes), 1.0..9.0f64).prop_map(move |(low, high, at)| {
        let given = |from, to| Condition {
            factor: "acid".to_owned(),
            holds: Holds::Between(from, to),
        };
        vec![
            opinion(Some(given(0.0, at)), low),
            opinion(Some(given(at, 9.5)), high),
        ]
    });
    prop_oneof![2 => Just(vec![]), 4 => plain, 1 => by_class, 1 => by_value].boxed()
}

fn species() -> impl Strategy<Value = Species> {
    let all = (
        opinions("wet", Some(3)),
        opinions("acid", None),
        opinions("shade", None),
        opinions("sun", None),
        opinions("salt", None),
        opinions("spray", Some(4)),
    );
    all.prop_map(|(wet, acid, shade, sun, salt, spray)| Species {
        id: "made-up".to_owned(),
        scientific_name: String::new(),
        common_name: String::new(),
        form: Form::Forb,
        traits: vec![],
        opinions: [wet, acid, shade, sun, salt, spray].concat(),
    })
}

fn measured() -> impl Strategy<Value = f32> {
    prop_oneof![
        1 => Just(f32::NAN),
        1 => Just(f32::INFINITY),
        3 => (0u8..=20).prop_map(|half| f32::from(half) / 2.0),
        5 => -1.0..11.0f32,
    ]
}

fn class(count: u8) -> impl Strategy<Value = f32> {
    prop_oneof![1 => Just(f32::NAN), 6 => (0..count).prop_map(f32::from)]
}

fn cell() -> impl Strategy<Value = [f32; 6]> {
    (class(3), measured(), measured(), measured(), measured(), class(4))
        .prop_map(|(wet, acid, shade, sun, salt, spray)| [wet, acid, shade, sun, salt, spray])
}

/// A row of cells, many of them like the one before.
fn stretches_of_cells() -> impl Strategy<Value = Vec<[f32; 6]>> {
    let stretch = (cell(), 1_usize..4).prop_map(|(cell, count)| vec![cell; count]);
    proptest::collection::vec(stretch, 1..20).prop_map(|stretches| stretches.concat())
}

/// A unit of a few soils whose shares come to 1 or less.
fn unit() -> impl Strategy<Value = Vec<SoilPart>> {
    proptest::collection::vec((1u8..=4, class(3), measured()), 0..4).prop_map(|soils| {
        let all: u8 = soils.iter().map(|(share, ..)| share).sum();
        let whole = f64::from(all.max(8));
        let part = |(share, wet, acid)| SoilPart {
            name: "soil".to_owned(),
            share: f64::from(share) / whole,
            values: vec![wet, acid],
        };
        soils.into_iter().map(part).collect()
    })
}

/// What salt does to soils: what counts of it, and whether the amount of water is a
/// factor.
fn salt() -> impl Strategy<Value = SaltOfSoils> {
    let tells = prop_oneof![Just(Told::Mean), Just(Told::SpringPeak), Just(Told::Stays)];
    let amount = prop_oneof![
        3 => (50.0..400.0f64).prop_map(LeachingWater::Everywhere),
        1 => Just(LeachingWater::Factor(8))
    ];
    (tells, amount, 0.0..2.0f64).prop_map(|(tells, amount, background_ds_m)| SaltOfSoils {
        salinity: 4,
        drainage: 0,
        salt_water: 7,
        amount,
        zone: RootZone {
            leaching: [0.7, 0.3, 0.1, 0.05, 0.05, 0.05, 0.05],
            root_water_mm: 150.0,
            background_ds_m,
            tells,
            most_ds_m: 30.0,
        },
    })
}

fn rule() -> impl Strategy<Value = Rule> {
    prop_oneof![
        3 => Just(Rule::Limiting),
        1 => Just(Rule::Geometric),
        1 => Just(Rule::SquareRoot),
        1 => Just(Rule::Product)
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// The same where soils are rated one by one: the tables hang on map units, and on
    /// bins of what else their questions ask about.
    #[test]
    fn tables_equal_the_plain_loop_soil_by_soil(
        catalogue in proptest::collection::vec(species(), 1..5),
        cells in stretches_of_cells(),
        units in proptest::collection::vec(unit(), 3),
        suits_share in prop_oneof![Just(0.5), 0.05..=1.0f64],
        terrain in (0.0..5.0f64, 5.0..10.0f64),
        salt in proptest::option::weighted(0.7, salt()),
    ) {
        let mut factors = factors();
        let names = ["a", "b", "c"].map(str::to_owned).to_vec();
        factors.push(RatedFactor {
            factor: Factor::added("map_unit", Kind::Classes { names, ordered: false }),
            from_raster: false,
            ..factors[0].clone()
        });
        for id in ["salt_water", "leaching_water"] {
            factors.push(RatedFactor {
                factor: Factor::added(id, Kind::Measured(Unit::DecisiemensPerMetre)),
                ..factors[4].clone()
            });
        }
        // Soils tell of wetness and acid, and salt hangs on wetness; shade moves wetness as terrain would.
        let mixes = SoilMixes {
            map_unit: 6,
            drawn: vec![0, 1],
            units,
            nudge: Some(MoistureNudge {
                moisture: 0,
                wetness_index: 2,
                nudge: WetnessNudge { drier_below: terrain.0, wetter_from: terrain.1 },
            }),
            salt,
            suits_share,
        };
        let settings = Settings {
            rule: Rule::Limiting,
            limits: ClassLimits::new(0.85, 0.6, 0.4).unwrap(),
            at_least: Class::S2,
        };
        let questions = Questions::new(factors, &catalogue).with_soils(mixes, settings);
        let rater = CellRater::new(&questions, settings).unwrap();
        // The first factor of a cell says which unit it is in.
        let value = |cell: &[f32; 6], factor: usize| match factor {
            6 => cell[0],
            7 => cell[4],
            8 => cell[3] * 40.0,
            _ => cell[factor],
        };
        let values: Vec<Vec<f32>> = (0..9)
            .map(|factor| cells.iter().map(|cell| value(cell, factor)).collect())
            .collect();
        let values: Vec<&[f32]> = values.iter().map(Vec::as_slice).collect();
        let mut whole = AsRated::default();
        rater.rate_whole(&values, cells.len(), &mut whole);
        for index in 0..cells.len() {
            let cell: Vec<f32> = values.iter().map(|row| row[index]).collect();
            let at = whole.stretch_of(index);
            for species in 0..catalogue.len() {
                let plain = rate(&questions, &settings, species, &cell);
                let bit = |set: &[u64]| set[at] >> species & 1 == 1;
                let state = match (bit(&whole.suits), bit(&whole.known)) {
                    (true, _) => State::Suits,
                    (false, true) => State::DoesNot,
                    (false, false) => State::Unknown,
                };
                prop_assert_eq!(state, plain.state(&settings), "{:?} {:?}", cell, plain);
                if let Rating::Known { rating, .. } = plain {
                    prop_assert_eq!(whole.bytes[at][species], Score::clamped(rating).to_byte());
                }
            }
        }
    }

    /// Sets, combined sets and bytes say what a plain loop over cells and species
    /// says, with unknowns, conditions, stand-ins and harmless values.
    #[test]
    fn tables_equal_the_plain_loop(
        catalogue in prop_oneof![9 => proptest::collection::vec(species(), 0..5), 1 => proptest::collection::vec(species(), 62..67)],
        cells in stretches_of_cells(),
        rule in rule(),
    ) {
        let questions = Questions::new(factors(), &catalogue);
        let settings = Settings {
            rule,
            limits: ClassLimits::new(0.85, 0.6, 0.4).unwrap(),
            at_least: Class::S2,
        };
        let rater = CellRater::new(&questions, settings).unwrap();
        let words = rater.words();
        let factors: Vec<Vec<f32>> = (0..6).map(|factor| cells.iter().map(|cell| cell[factor]).collect()).collect();
        let values: Vec<&[f32]> = factors.iter().map(Vec::as_slice).collect();
        let mut row = RatedRow::new(words);
        let cut = cells.len() / 3;
        for part in [0..cut, cut..cells.len()] {
            let here: Vec<&[f32]> = values.iter().map(|values| &values[part.clone()]).collect();
            rater.rate_cells(&here, part.len(), &mut row);
        }
        prop_assert_eq!(row.cols(), cells.len());
        let mut combined = vec![0; cells.len() * 2 * words];
        for stretch in row.stretches() {
            for (word, said) in stretch.said.iter().enumerate() {
                for col in stretch.cols.clone() {
                    let cell = &mut combined[col * 2 * words..][..2 * words];
                    (cell[word], cell[words + word]) = said.together(said.suits, said.fails);
                }
            }
        }
        let mut whole = AsRated::default();
        for _ in 0..2 {
            rater.rate_whole(&values, cells.len(), &mut whole);
        }
        for (index, cell) in cells.iter().enumerate() {
            let sets = &combined[index * 2 * words..][..2 * words];
            let place = whole.stretch_of(index);
            for word in 0..words {
                let at = word * whole.ends().len() + place;
                prop_assert_eq!((sets[word], !sets[words + word]), (whole.suits[at], whole.known[at]));
            }
            for species in 0..catalogue.len() {
                let plain = rate(&questions, &settings, species, cell);
                let bit = |word: usize| sets[word + species / 64] >> (species % 64) & 1 == 1;
                let state = match (bit(0), bit(words)) {
                    (true, false) => State::Suits,
                    (false, false) => State::DoesNot,
                    (false, true) => State::Unknown,
                    (true, true) => panic!("suits and unknown at once"),
                };
                prop_assert_eq!(state, plain.state(&settings), "{:?} {:?}", cell, plain);
                if let Rating::Known { rating, .. } = plain {
                    let bytes = &whole.bytes[species / WORD * whole.ends().len() + place];
                    prop_assert_eq!(bytes[species % WORD], Score::clamped(rating).to_byte());
                }
            }
            let past = catalogue.len();
            if past % 64 != 0 {
                prop_assert_eq!(sets[past / 64] >> (past % 64), 0, "bits past the last species suit nothing");
            }
        }
    }
}

/// Whatever raster and vector parts say, a cell marked as not rated is unknown for
/// every species.
#[test]
fn a_cell_that_is_not_rated_stays_so() {
    let said = SaidApart {
        below: u64::MAX,
        unknown: u64::MAX,
        ..SaidApart::default()
    };
    assert_eq!(said.together(0b01, 0b10), (0, u64::MAX));
}

/// Cells with one number on a question are alike to every species, class by class.
#[test]
fn a_number_stands_for_values_of_the_same_class() {
    let shade = Species {
        id: "made-up".to_owned(),
        scientific_name: String::new(),
        common_name: String::new(),
        form: Form::Forb,
        traits: vec![],
        opinions: vec![Opinion {
            factor: "shade".to_owned(),
            given: None,
            response: Response::range(Some(0.0), Some(4.0), Some(6.0), Some(10.0)).unwrap(),
            source: "made up".to_owned(),
            note: String::new(),
            set_aside: Vec::new(),
        }],
    };
    let questions = Questions::new(factors(), std::slice::from_ref(&shade));
    let settings = Settings {
        rule: Rule::Limiting,
        limits: ClassLimits::new(0.851, 0.6, 0.4).unwrap(),
        at_least: Class::S2,
    };
    let rater = CellRater::new(&questions, settings).unwrap();
    let shades: Vec<f32> = (0u16..1000).map(|step| f32::from(step) / 100.0).collect();
    let missing = vec![f32::NAN; shades.len()];
    let values: Vec<&[f32]> = (0..6)
        .map(|factor| if factor == 2 { &*shades } else { &*missing })
        .collect();
    let mut row = AsRated::default();
    rater.rate_whole(&values, shades.len(), &mut row);
    assert_eq!(row.ends().last(), Some(&shades.len()));
    for (col, &value) in shades.iter().enumerate() {
        let number = row.ground[2][row.stretch_of(col)];
        let sample = rater.ground_sample(2, number)[2];
        let class = |value: f32| {
            let score = shade.opinions[0].response.score(value).unwrap();
            settings.limits.class_of(score.get(), true)
        };
        assert_eq!(class(sample), class(value), "{sample} stands for {value}");
    }
}
