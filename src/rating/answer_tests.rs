//! Answers drawn by hand: which factor speaks, and what lacks where none does.

use super::*;
use crate::factor::Factor;
use crate::rating::RatedFactor;
use crate::species::{Condition, Form, Holds, Opinion, Response, Species};

fn rated(id: &str, missing: Missing) -> RatedFactor {
    RatedFactor {
        factor: Factor::standard(id).unwrap(),
        missing,
        weight: 1.0,
        from_raster: false,
    }
}

fn opinion(factor: &str, given: Option<(&str, Vec<u16>)>) -> Opinion {
    let classes = Factor::standard(factor).unwrap().kind.classes().map(<[_]>::len);
    Opinion {
        factor: factor.to_owned(),
        given: given.map(|(factor, classes)| Condition {
            factor: factor.to_owned(),
            holds: Holds::Classes(classes),
        }),
        response: match classes {
            Some(count) => Response::Classes(vec![Some(Score::BEST); count]),
            None => Response::range(Some(0.0), Some(1.0), None, None).unwrap(),
        },
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

/// The answer of a species with these opinions to the only question.
fn answer(factors: Vec<RatedFactor>, opinions: Vec<Opinion>, values: &[f32]) -> Answer {
    let questions = Questions::new(factors, &[plant(opinions)]);
    questions.answer(0, &questions.questions()[0], values)
}

#[test]
fn slight_spray_harms_none_but_an_absent_opinion_is_told() {
    let at = |class| answer(vec![rated("spray_salt", Missing::Unknown)], vec![], &[class]);
    let harmless = |told| Answer::Harmless { factor: 0, told };
    assert_eq!(at(0.0), harmless(false));
    assert_eq!(at(1.0), harmless(true));
    let gap = Gap::Opinion;
    assert_eq!(at(2.0), Answer::Unknown { factor: 0, gap });
}

#[test]
fn a_stand_in_answers_where_it_has_a_value_and_an_opinion() {
    let factors = || {
        vec![
            rated("sun_hours", Missing::Unknown),
            rated("canopy", Missing::Unknown),
        ]
    };
    let used = |opinions: &[&str], values: [f32; 2]| {
        let opinions = opinions.iter().map(|id| opinion(id, None)).collect();
        answer(factors(), opinions, &values)
    };
    let score = Score::BEST;
    let both = ["sun_hours", "canopy"];
    assert_eq!(used(&both, [5.0, 5.0]), Answer::Scored { factor: 0, score });
    assert_eq!(used(&both, [f32::NAN, 5.0]), Answer::Scored { factor: 1, score });
    assert_eq!(used(&["canopy"], [5.0, 5.0]), Answer::Scored { factor: 1, score });
    let lacks = |factor, gap| Answer::Unknown { factor, gap };
    assert_eq!(used(&["sun_hours"], [f32::NAN, 5.0]), lacks(0, Gap::Value));
    assert_eq!(used(&[], [f32::NAN, 5.0]), lacks(1, Gap::Opinion));
}

#[test]
fn an_ignored_missing_value_counts_nowhere() {
    let lone = || vec![rated("ph", Missing::Ignore)];
    let silence = Silence::Ignored;
    let silent = Answer::Silent { factor: 0, silence };
    assert_eq!(answer(lone(), vec![opinion("ph", None)], &[f32::NAN]), silent);
    assert_eq!(answer(lone(), vec![], &[f32::NAN]), silent);
    // Another factor answers the same question and has a value.
    let two = vec![
        rated("sun_hours", Missing::Ignore),
        rated("canopy", Missing::Unknown),
    ];
    let gap = Gap::Opinion;
    assert_eq!(
        answer(two, vec![], &[f32::NAN, 50.0]),
        Answer::Unknown { factor: 1, gap }
    );
}

#[test]
fn a_condition_without_a_value_lacks_that_value_and_not_an_opinion() {
    let given = || vec![opinion("ph", Some(("drainage", vec![0, 1, 2])))];
    let at = |drainage| {
        let questions = Questions::new(
            vec![rated("ph", Missing::Unknown), rated("drainage", Missing::Unknown)],
            &[plant(given())],
        );
        questions.answer(0, &questions.questions()[0], &[6.0, drainage])
    };
    let score = Score::BEST;
    assert_eq!(at(2.0), Answer::Scored { factor: 0, score });
    let lacks = |factor, gap| Answer::Unknown { factor, gap };
    assert_eq!(at(3.0), lacks(0, Gap::Case));
    assert_eq!(at(f32::NAN), lacks(1, Gap::Value));
}

#[test]
fn no_opinion_on_a_helpful_factor_does_not_limit() {
    let silence = Silence::NoOpinion;
    assert_eq!(
        answer(vec![rated("slope", Missing::Unknown)], vec![], &[12.0]),
        Answer::Silent { factor: 0, silence }
    );
}
