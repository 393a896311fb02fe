//! Classes of order N, and what limits, drawn by hand.

use super::*;
use crate::factor::{Factor, Kind, Unit};
use crate::project::{Missing, Rule};
use crate::rating::RatedFactor;
use crate::score::ClassLimits;
use crate::species::{Form, Opinion, Response, Species};

/// Two factors whose values are their scores: the first can be put right, the second
/// cannot.
fn questions() -> Questions {
    let factors = [("mendable", true), ("fixed", false)].map(|(id, remediable)| RatedFactor {
        factor: Factor {
            remediable,
            ..Factor::added(id, Kind::Measured(Unit::Index))
        },
        missing: Missing::Unknown,
        weight: 1.0,
        from_raster: false,
    });
    let opinion = |id: &str| Opinion {
        factor: id.to_owned(),
        given: None,
        response: Response::range(Some(0.0), Some(1.0), None, None).unwrap(),
        source: "made up".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    };
    let plant = Species {
        id: "made-up".to_owned(),
        scientific_name: String::new(),
        common_name: String::new(),
        form: Form::Forb,
        traits: vec![],
        opinions: vec![opinion("mendable"), opinion("fixed")],
    };
    Questions::new(factors.into(), &[plant])
}

fn settings(rule: Rule) -> Settings {
    let [s1, s2, s3] = rule.usual_limits();
    Settings {
        rule,
        limits: ClassLimits::new(s1, s2, s3).unwrap(),
        at_least: Class::S2,
    }
}

fn class(rule: Rule, values: [f32; 2]) -> Class {
    let settings = settings(rule);
    rate(&questions(), &settings, 0, &values)
        .class(&settings)
        .unwrap()
}

/// FAO, A Framework for Land Evaluation, 1976, chapter 3: N1 has limitations that may
/// be surmountable in time, N2 such that preclude the use.
#[test]
fn only_what_keeps_it_out_of_order_s_parts_n1_from_n2() {
    assert_eq!(class(Rule::Limiting, [0.3, 1.0]), Class::N1);
    assert_eq!(class(Rule::Limiting, [1.0, 0.3]), Class::N2);
    assert_eq!(class(Rule::Limiting, [0.3, 0.3]), Class::N2);
    // The factor that cannot be put right limits too, but only to S3.
    assert_eq!(class(Rule::Limiting, [0.3, 0.5]), Class::N1);
}

#[test]
fn a_product_is_n1_when_mending_lifts_it() {
    // 0.4 x 0.5 = 0.20 is N; with the first put right 0.50.
    assert_eq!(class(Rule::Product, [0.4, 0.5]), Class::N1);
    assert_eq!(class(Rule::Product, [0.9, 0.2]), Class::N2);
    assert_eq!(class(Rule::Geometric, [0.0, 0.9]), Class::N1);
}

#[test]
fn limiting_factors_come_lowest_first_and_ties_in_the_projects_order() {
    let limiting = |values: [f32; 2]| match rate(&questions(), &settings(Rule::Limiting), 0, &values) {
        Rating::Known { limiting, .. } => limiting.into_iter().map(|(factor, _)| factor).collect(),
        Rating::Unknown { .. } => vec![],
    };
    assert_eq!(limiting([0.5, 0.25]), [1, 0]);
    assert_eq!(limiting([0.5, 0.5]), [0, 1]);
    assert_eq!(limiting([0.75, 0.5]), [1]);
}

#[test]
fn one_known_factor_below_settles_whatever_is_missing() {
    let state = |rule, values: [f32; 2]| {
        let settings = settings(rule);
        rate(&questions(), &settings, 0, &values).state(&settings)
    };
    assert_eq!(state(Rule::Limiting, [0.5, f32::NAN]), State::DoesNot);
    assert_eq!(state(Rule::Limiting, [0.7, f32::NAN]), State::Unknown);
    assert_eq!(state(Rule::Product, [0.2, f32::NAN]), State::Unknown);
    assert_eq!(state(Rule::Product, [0.0, f32::NAN]), State::DoesNot);
}
