//! Values needed, against responses whose spans are plain to see.

use super::*;
use crate::project::Missing;
use crate::rating::RatedFactor;
use crate::score::Score;
use crate::species::{Condition, Form, Holds, Species};

fn needed_of(
    responses: Vec<(Option<Condition>, Response)>,
    id: &str,
    drainage: f32,
    units: Units,
) -> Option<String> {
    let rated = |id: &str| RatedFactor {
        factor: Factor::standard(id).unwrap(),
        missing: Missing::Unknown,
        weight: 1.0,
        from_raster: false,
    };
    let opinions = responses.into_iter().map(|(given, response)| Opinion {
        factor: id.to_owned(),
        given,
        response,
        source: "made up".to_owned(),
        note: String::new(),
        set_aside: Vec::new(),
    });
    let plant = Species {
        id: "made-up".to_owned(),
        scientific_name: String::new(),
        common_name: String::new(),
        form: Form::Forb,
        traits: vec![],
        opinions: opinions.collect(),
    };
    let questions = Questions::new(vec![rated(id), rated("texture"), rated("drainage")], &[plant]);
    Needs::new(&questions, units).text(0, 0, &[0.0, f32::NAN, drainage], 0.6)
}

fn needed(response: Response, id: &str, units: Units) -> Option<String> {
    needed_of(vec![(None, response)], id, f32::NAN, units)
}

#[test]
fn a_range_reaches_the_class_where_its_ramps_do() {
    let range = |low: f64, best: f64, to: f64, high: f64| {
        Response::range(Some(low), Some(best), Some(to), Some(high)).unwrap()
    };
    let metric = Units::Metric;
    // Score 0.6 at 4 + 0.6 x 1 = 4.6 and at 8 - 0.6 x 1 = 7.4.
    let ph = needed(range(4.0, 5.0, 7.0, 8.0), "ph", metric);
    assert_eq!(ph.unwrap(), "pH 4.6 to 7.4");
    let slope = needed(
        Response::range(None, None, Some(20.0), Some(45.0)).unwrap(),
        "slope",
        metric,
    );
    assert_eq!(slope.unwrap(), "at most 30 %");
    let index = needed(
        Response::range(Some(0.2), Some(0.3), None, None).unwrap(),
        "heat_load",
        metric,
    );
    assert_eq!(index.unwrap(), "at least 0.26");
    let narrow = needed(range(6.01, 6.02, 6.02, 6.03), "ph", metric);
    assert_eq!(narrow.unwrap(), "pH 6.016 to 6.024");
}

#[test]
fn lengths_are_told_in_the_units_people_read() {
    let response = || Response::range(Some(0.0), Some(100.0), None, None).unwrap();
    assert_eq!(
        needed(response(), "distance", Units::Metric).unwrap(),
        "at least 60 m"
    );
    // 60 m are 196.85 ft, rounded into the span.
    assert_eq!(
        needed(response(), "distance", Units::Us).unwrap(),
        "at least 196.9 ft"
    );
}

#[test]
fn a_curve_may_need_one_of_several_spans() {
    let curve = Response::curve(vec![(0.0, 1.0), (10.0, 0.0), (20.0, 1.0)]).unwrap();
    assert_eq!(
        needed(curve, "soil_salinity", Units::Metric).unwrap(),
        "at most 4 dS/m or at least 16 dS/m"
    );
    let never = Response::curve(vec![(0.0, 0.5)]).unwrap();
    assert_eq!(needed(never, "soil_salinity", Units::Metric), None);
}

#[test]
fn classes_are_named_and_only_the_holding_opinion_counts() {
    let scores = |fitting: [bool; 5]| {
        let score = |fits| Some(if fits { Score::BEST } else { Score::NONE });
        Response::Classes(fitting.map(score).into())
    };
    let given = |classes: Vec<u16>| {
        Some(Condition {
            factor: "drainage".to_owned(),
            holds: Holds::Classes(classes),
        })
    };
    let opinions = || {
        vec![
            (given(vec![0, 1]), scores([true, true, true, false, false])),
            (given(vec![6]), scores([true, false, false, false, false])),
        ]
    };
    let on = |drainage| needed_of(opinions(), "spray_salt", drainage, Units::Metric);
    assert_eq!(on(1.0).unwrap(), "none, slight, moderate");
    assert_eq!(on(6.0).unwrap(), "none");
    assert_eq!(on(3.0), None);
}
