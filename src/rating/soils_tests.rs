use super::*;
use crate::factor::{Factor, Kind, Unit};
use crate::project::{Missing, Rule};
use crate::rating::{RatedFactor, Rating, State, rate};
use crate::score::ClassLimits;
use crate::soil::{
    LeachingWater, MoistureNudge, RootZone, SALT_WATER, SaltOfSoils, SoilMixes, SoilPart, Told, WetnessNudge,
};
use crate::species::{Condition, Form, Holds, Opinion, Response, Species};

const DRAINAGE: usize = 0;
const PH: usize = 1;
const SPRAY: usize = 2;
const UNIT: usize = 3;

fn rated(factor: Factor) -> RatedFactor {
    RatedFactor {
        factor,
        missing: Missing::Unknown,
        weight: 1.0,
        from_raster: false,
    }
}

fn factors() -> Vec<RatedFactor> {
    let units = Kind::Classes {
        names: ["a", "b", "c"].map(str::to_owned).to_vec(),
        ordered: false,
    };
    let standard = |id| rated(Factor::standard(id).unwrap());
    vec![
        standard("drainage"),
        standard("ph"),
        standard("spray_salt"),
        rated(Factor::added("map_unit", units)),
    ]
}

fn opinion(factor: &str, given: Option<Condition>, response: Response) -> Opinion {
    Opinion {
        factor: factor.to_owned(),
        given,
        response,
        source: "made up".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    }
}

fn plant(opinions: Vec<Opinion>) -> Species {
    Species {
        id: "made-up".to_owned(),
        scientific_name: String::new(),
        common_name: String::new(),
        form: Form::Forb,
        traits: vec![],
        opinions,
    }
}

fn classes(scores: &[f64]) -> Response {
    Response::Classes(scores.iter().map(|&score| Some(Score::clamped(score))).collect())
}

/// Dry ground suits it, and so does ground that is not sour.
fn dry_plant() -> Species {
    plant(vec![
        opinion("drainage", None, classes(&[1.0, 0.9, 0.7, 0.5, 0.3, 0.1, 0.0])),
        opinion(
            "ph",
            None,
            Response::range(Some(5.0), Some(6.0), None, None).unwrap(),
        ),
        opinion("spray_salt", None, classes(&[1.0, 1.0, 0.7, 0.3, 0.0])),
    ])
}

fn settings() -> Settings {
    Settings {
        rule: Rule::Limiting,
        limits: ClassLimits::new(0.85, 0.6, 0.4).unwrap(),
        at_least: Class::S2,
    }
}

fn mixes(units: &[&[(f64, f32, f32)]]) -> SoilMixes {
    let parts = |unit: &&[(f64, f32, f32)]| {
        let part = |&(share, drainage, ph): &(f64, f32, f32)| SoilPart {
            name: "soil".to_owned(),
            share,
            values: vec![drainage, ph],
        };
        unit.iter().map(part).collect()
    };
    SoilMixes {
        map_unit: UNIT,
        drawn: vec![DRAINAGE, PH],
        units: units.iter().map(parts).collect(),
        nudge: None,
        salt: None,
        suits_share: 0.5,
    }
}

fn questions(plant: Species, units: &[&[(f64, f32, f32)]]) -> Questions {
    Questions::new(factors(), &[plant]).with_soils(mixes(units), settings())
}

/// Rating and state on the first unit, without spray.
fn on(unit: &[(f64, f32, f32)]) -> (Option<f64>, State) {
    let questions = questions(dry_plant(), &[unit]);
    // What the cell shows of the drawn factors must not matter.
    let rating = rate(&questions, &settings(), 0, &[6.0, f32::NAN, 0.0, 0.0]);
    let number = match &rating {
        Rating::Known { rating, .. } => Some(*rating),
        Rating::Unknown { .. } => None,
    };
    (number, rating.state(&settings()))
}

#[test]
fn half_marsh_and_half_dune_is_not_middling() {
    // The mean of 1 and 0 would not suit; half of the unit does, and well.
    assert_eq!(on(&[(0.5, 0.0, 7.0), (0.5, 6.0, 7.0)]), (Some(1.0), State::Suits));
    assert_eq!(
        on(&[(0.49, 0.0, 7.0), (0.51, 6.0, 7.0)]),
        (Some(0.0), State::DoesNot)
    );
}

#[test]
fn each_soil_is_rated_on_all_its_factors_together() {
    // Half is dry and half is not sour, but no soil is both.
    assert_eq!(
        on(&[(0.5, 0.0, 5.0), (0.5, 6.0, 7.0)]),
        (Some(0.0), State::DoesNot)
    );
    // 60 % suits.
    assert_eq!(
        on(&[(0.6, 0.0, 7.0), (0.2, 6.0, 7.0), (0.2, 0.0, 5.0)]),
        (Some(1.0), State::Suits)
    );
}

#[test]
fn the_class_is_that_of_a_soil_and_never_of_a_mean() {
    // The best half reaches 0.7: a mean would be 0.775, and the best soil 1.
    assert_eq!(
        on(&[(0.3, 0.0, 7.0), (0.3, 2.0, 7.0), (0.4, 2.0, 7.0)]),
        (Some(0.7), State::Suits)
    );
}

#[test]
fn unknown_soils_decide_nothing() {
    let nan = f32::NAN;
    // 40 % suits, 20 % is not known: either way is open.
    assert_eq!(
        on(&[(0.4, 0.0, 7.0), (0.2, nan, 7.0), (0.4, 6.0, 7.0)]),
        (None, State::Unknown)
    );
    // Whatever the unknown fifth is.
    assert_eq!(
        on(&[(0.5, 0.0, 7.0), (0.2, nan, 7.0), (0.3, 6.0, 7.0)]).1,
        State::Suits
    );
    assert_eq!(
        on(&[(0.2, 0.0, 7.0), (0.2, nan, 7.0), (0.6, 6.0, 7.0)]),
        (Some(0.0), State::DoesNot)
    );
    // A known low score settles a soil whatever else lacks.
    assert_eq!(on(&[(0.6, 6.0, nan), (0.4, 0.0, 7.0)]).1, State::DoesNot);
    // What is not told of a unit is unknown: of 45 and 10 % one cannot tell.
    assert_eq!(on(&[(0.45, 0.0, 7.0), (0.45, 6.0, 7.0)]), (None, State::Unknown));
    // Shares that come to half only by sums of thirds and the like.
    assert_eq!(
        on(&[(0.1, 0.0, 7.0), (0.2, 0.0, 7.0), (0.2, 0.0, 7.0), (0.5, 6.0, 7.0)]).1,
        State::Suits
    );
}

#[test]
fn a_condition_on_the_soil_is_looked_at_soil_by_soil() {
    let given = |classes: Vec<u16>| {
        Some(Condition {
            factor: "drainage".to_owned(),
            holds: Holds::Classes(classes),
        })
    };
    // Bears spray only where the ground drains.
    let plant = plant(vec![
        opinion("spray_salt", given(vec![0, 1, 2, 3]), classes(&[1.0; 5])),
        opinion(
            "spray_salt",
            given(vec![4, 5, 6]),
            classes(&[1.0, 1.0, 0.2, 0.1, 0.0]),
        ),
        opinion("drainage", None, classes(&[1.0; 7])),
    ]);
    let questions = questions(
        plant,
        &[
            &[(0.6, 0.0, 7.0), (0.4, 6.0, 7.0)],
            &[(0.4, 0.0, 7.0), (0.6, 6.0, 7.0)],
        ],
    );
    // Spray hangs on drainage, so it is asked together with it.
    assert_eq!(questions.questions().len(), 1);
    let state = |unit: f32, spray: f32| {
        // pH is decisive and without an opinion: let it be known to be harmless.
        let rating = rate(&questions, &settings(), 0, &[f32::NAN, f32::NAN, spray, unit]);
        rating.state(&settings())
    };
    // A decisive factor without an opinion leaves it unknown, soil by soil as ever.
    assert_eq!(state(0.0, 3.0), State::Unknown);
    assert_eq!(state(1.0, 3.0), State::DoesNot);
}

#[test]
fn ground_beyond_mending_is_not_called_mendable() {
    let mut factors = factors();
    factors[PH].factor.remediable = false;
    let questions =
        Questions::new(factors, &[dry_plant()]).with_soils(mixes(&[&[(1.0, 6.0, 5.1)]]), settings());
    let rating = rate(&questions, &settings(), 0, &[f32::NAN, f32::NAN, 0.0, 0.0]);
    // Drainage scores 0 and could be mended, pH 0.1 and could not.
    assert_eq!(rating.class(&settings()), Some(Class::N2));
}

#[test]
fn a_verdict_tells_the_shares() {
    let questions = questions(
        dry_plant(),
        &[&[(0.6, 0.0, 7.0), (0.25, 6.0, 7.0), (0.15, f32::NAN, 7.0)]],
    );
    let question = &questions.questions()[0];
    let verdict = questions
        .soil_verdict(0, question, &[f32::NAN, f32::NAN, 0.0, 0.0])
        .unwrap();
    assert!((verdict.suits - 0.6).abs() < 1e-12 && (verdict.unknown - 0.15).abs() < 1e-12);
    assert_eq!(verdict.needed, 0.5);
    assert_eq!(
        verdict.soils[1].2,
        SoilState::Rated(Score::clamped(0.0), DRAINAGE)
    );
    assert_eq!(verdict.soils[2].2, SoilState::Unknown(DRAINAGE, Gap::Value));
    assert_eq!(questions.questions()[1].members, [SPRAY]);
    assert_eq!(
        questions.soil_verdict(0, &questions.questions()[1], &[0.0; 4]),
        None
    );
}

#[test]
fn the_wetness_of_terrain_moves_each_soil() {
    let standard = |id| rated(Factor::standard(id).unwrap());
    let units = Kind::Classes {
        names: vec!["a".to_owned()],
        ordered: false,
    };
    let factors = vec![
        standard("moisture"),
        standard("wetness_index"),
        rated(Factor::added("map_unit", units)),
    ];
    let mesic = plant(vec![opinion(
        "moisture",
        None,
        classes(&[0.0, 0.2, 1.0, 0.2, 0.0]),
    )]);
    let part = |share, moisture| SoilPart {
        name: "soil".to_owned(),
        share,
        values: vec![moisture],
    };
    let mixes = SoilMixes {
        map_unit: 2,
        drawn: vec![0],
        units: vec![vec![part(0.6, 1.0), part(0.4, 4.0)]],
        nudge: Some(MoistureNudge {
            moisture: 0,
            wetness_index: 1,
            nudge: WetnessNudge {
                drier_below: 4.0,
                wetter_from: 9.0,
            },
        }),
        salt: None,
        suits_share: 0.5,
    };
    let questions = Questions::new(factors, &[mesic]).with_soils(mixes, settings());
    let state = |index| rate(&questions, &settings(), 0, &[f32::NAN, index, 0.0]).state(&settings());
    assert_eq!([5.0, 9.0].map(state), [State::DoesNot, State::Suits]);
}

/// Common practice, no source: salt is washed out of sand sooner than out of clay.
#[test]
fn the_salt_of_a_road_is_that_of_each_soil() {
    let standard = |id| rated(Factor::standard(id).unwrap());
    let units = Kind::Classes {
        names: vec!["a".to_owned()],
        ordered: false,
    };
    let water = Kind::Measured(Unit::DecisiemensPerMetre);
    let factors = vec![
        standard("drainage"),
        standard("soil_salinity"),
        rated(Factor::added("map_unit", units)),
        rated(Factor::added(SALT_WATER, water)),
    ];
    let salt_shy = plant(vec![
        opinion("drainage", None, classes(&[1.0; 7])),
        opinion("soil_salinity", None, Response::threshold(1.0, 20.0).unwrap()),
    ]);
    let part = |name: &str, drainage| SoilPart {
        name: name.to_owned(),
        share: 0.5,
        values: vec![drainage],
    };
    let mixes = SoilMixes {
        map_unit: 2,
        drawn: vec![0],
        units: vec![vec![part("sand", 0.0), part("clay", 5.0)]],
        nudge: None,
        salt: Some(SaltOfSoils {
            salinity: 1,
            drainage: 0,
            salt_water: 3,
            amount: LeachingWater::Everywhere(250.0),
            zone: RootZone {
                leaching: [0.7, 0.6, 0.5, 0.4, 0.25, 0.15, 0.1],
                root_water_mm: 150.0,
                background_ds_m: 0.0,
                tells: Told::Mean,
                most_ds_m: 200.0,
            },
        }),
        suits_share: 0.5,
    };
    // What the cell shows of drainage and salinity is that of one soil, and must not matter.
    let cell = |water: f32| [5.0, 40.0, 0.0, water];
    let soils = mixes.soils(&cell(2.0));
    let (sand, clay) = (soils[0].values[1], soils[1].values[1]);
    assert!(0.5 < sand && 2.0 * sand < clay, "{sand} {clay}");
    let questions = Questions::new(factors, &[salt_shy]).with_soils(mixes, settings());
    assert_eq!(questions.questions().len(), 1);
    assert_eq!(
        (questions.asked(), questions.factors_of(&questions.questions()[0])),
        (2, vec![2, 3])
    );
    let verdict = |water| {
        questions
            .soil_verdict(0, &questions.questions()[0], &cell(water))
            .unwrap()
    };
    let suiting = |water| {
        let soils = verdict(water).soils.into_iter();
        let suits =
            soils.map(|(_, _, state)| matches!(state, SoilState::Rated(score, _) if score.get() >= 0.6));
        suits.collect::<Vec<bool>>()
    };
    assert_eq!(suiting(2.0), [true, false]);
    assert_eq!(verdict(2.0).suits, 0.5);
    assert!(matches!(verdict(2.0).soils[1].2, SoilState::Rated(_, 1)));
    assert_eq!((verdict(0.0).suits, verdict(10.0).suits), (1.0, 0.0));
    assert_eq!(verdict(f32::NAN).unknown, 1.0);
}
