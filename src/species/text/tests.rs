//! Text forms of responses and conditions: what they read, what they refuse,
//! and that printing loses nothing.

use proptest::prelude::*;

use super::numbers::Numbers;
use crate::factor::{Factor, Kind, Unit};
use crate::score::Score;
use crate::species::profile::{Condition, Holds};
use crate::species::{Response, parse_condition, parse_response, print_condition, print_response};

fn factor(id: &str) -> Factor {
    Factor::standard(id).unwrap()
}

fn read(text: &str, id: &str) -> Result<Response, Vec<String>> {
    parse_response(text, &factor(id), &mut Numbers::with_points())
}

fn faults(text: &str, id: &str) -> String {
    read(text, id).unwrap_err().join("\n")
}

#[test]
fn each_form_reads() {
    assert_eq!(
        read("range 4.5 5.5 7.0 7.8", "ph").unwrap(),
        Response::range(Some(4.5), Some(5.5), Some(7.0), Some(7.8)).unwrap()
    );
    assert_eq!(
        read("Range - - 40 70", "canopy").unwrap(),
        Response::range(None, None, Some(40.0), Some(70.0)).unwrap()
    );
    assert_eq!(
        read("threshold 2.0 slope 7.3", "soil_salinity").unwrap(),
        Response::threshold(2.0, 7.3).unwrap()
    );
    let classes = read(
        "classes Well drained=1; moderately well drained = 0.8;",
        "drainage",
    )
    .unwrap();
    assert_eq!(classes.score(2.0), Some(Score::BEST));
    assert_eq!(classes.score(3.0), Score::new(0.8));
    assert_eq!(classes.score(4.0), None);
}

#[test]
fn each_slip_is_told() {
    assert!(faults("rnage 1 2 3 4", "ph").contains("did you mean `range`"));
    assert!(faults("range 4.5 5.5 7.0", "ph").contains("found 3"));
    assert!(faults("range 5 4 7 8", "ph").contains("best range 4 to 7 lies outside the limits 5 to 8"));
    assert!(faults("range 5 - 7 8", "ph").contains("open end"));
    assert!(faults("range - - - -", "ph").contains("says nothing"));
    assert!(faults("curve 0:1 40", "canopy").contains("value:score"));
    assert!(faults("curve 40:1 20:0.5", "canopy").contains("rise"));
    assert!(faults("curve", "canopy").contains("at least one point"));
    assert!(faults("classes well drained=1", "ph").contains("measured in pH"));
    assert!(faults("range 1 2 3 4", "drainage").contains("has classes"));
    assert!(faults("classes wel drained=1", "drainage").contains("did you mean `well drained`"));
    assert!(faults("classes well drained=1; Well drained=0.5", "drainage").contains("two scores"));
    assert!(faults("classes well drained=1.5", "drainage").contains("within 0 to 1"));
    assert!(faults("classes", "drainage").contains("at least one class"));
    assert!(faults("threshold 2 slop 7", "soil_salinity").contains("slope"));
    assert!(faults("threshold 2 slope 0", "soil_salinity").contains("above 0"));
}

#[test]
fn all_slips_of_one_text_are_told_at_once() {
    let told = read("classes wet=1; well drained=x; poorly drained=2", "drainage").unwrap_err();
    assert_eq!(told.len(), 3, "{told:?}");
}

#[test]
fn conditions_read_and_refuse() {
    let factors = [factor("drainage"), factor("canopy")];
    let read = |text: &str| parse_condition(text, &factors, &mut Numbers::with_points());
    assert_eq!(
        read("drainage: well drained, excessively drained").unwrap().holds,
        Holds::Classes(vec![0, 2])
    );
    assert_eq!(read("canopy: 0..40").unwrap().holds, Holds::Between(0.0, 40.0));
    assert_eq!(
        read("canopy: 40..").unwrap().holds,
        Holds::Between(40.0, f64::INFINITY)
    );
    for bad in [
        "canopy",
        "canopy: 40",
        "canopy: 40..10",
        "canopy: ..",
        "canopie: 0..4",
        "drainage: ",
        "drainage: wet",
    ] {
        assert!(read(bad).is_err(), "{bad}");
    }
}

/// A factor whose class names hold every mark of the notation.
fn awkward() -> Factor {
    let names = ["a=b", "c; d", "e, \"f\"", "g: h", "plain"]
        .map(str::to_owned)
        .to_vec();
    Factor::added(
        "awkward",
        Kind::Classes {
            names,
            ordered: false,
        },
    )
}

fn responses() -> impl Strategy<Value = (Factor, Response)> {
    let number = -1e6..1e6f64;
    let range = (prop::collection::vec(number.clone(), 4), 0..3).prop_map(|(mut limits, open)| {
        limits.sort_by(f64::total_cmp);
        let some = |at: usize, is: bool| is.then_some(limits[at]);
        let (low, high) = (open != 1, open != 2);
        Response::range(some(0, low), some(1, low), some(2, high), some(3, high)).unwrap()
    });
    let curve = prop::collection::btree_map(any::<i32>(), 0.0..=1.0f64, 1..8).prop_map(|points| {
        Response::curve(
            points
                .into_iter()
                .map(|(value, score)| (f64::from(value) / 7.0, score))
                .collect(),
        )
        .unwrap()
    });
    let threshold = (0.0..1e3f64, 1e-6..1e3f64)
        .prop_map(|(threshold, slope)| Response::threshold(threshold, slope).unwrap());
    let classes = prop::collection::vec(prop::option::of(0.0..=1.0f64), 5)
        .prop_filter("one score at least", |scores| scores.iter().any(Option::is_some))
        .prop_map(|scores| {
            Response::Classes(
                scores
                    .into_iter()
                    .map(|score| score.and_then(Score::new))
                    .collect(),
            )
        });
    let measured = prop_oneof![range, curve, threshold]
        .prop_map(|response| (Factor::added("measured", Kind::Measured(Unit::Index)), response));
    prop_oneof![measured, classes.prop_map(|response| (awkward(), response))]
}

proptest! {
    #[test]
    fn a_printed_response_reads_back_the_same((factor, response) in responses()) {
        let text = print_response(&response, &factor);
        prop_assert_eq!(parse_response(&text, &factor, &mut Numbers::with_points()), Ok(response), "{}", text);
    }

    #[test]
    fn a_printed_condition_reads_back_the_same(
        classes in prop::collection::btree_set(0u16..5, 1..5),
        from in prop::option::of(-1e6..0.0f64),
        to in 0.5..1e6f64,
    ) {
        let factors = [awkward(), factor("canopy")];
        let conditions = [
            Condition { factor: "awkward".to_owned(), holds: Holds::Classes(classes.into_iter().collect()) },
            Condition { factor: "canopy".to_owned(), holds: Holds::Between(from.unwrap_or(f64::NEG_INFINITY), to) },
        ];
        for condition in conditions {
            let text = print_condition(&condition, &factors);
            prop_assert_eq!(parse_condition(&text, &factors, &mut Numbers::with_points()), Ok(condition), "{}", text);
        }
    }

    #[test]
    fn no_text_makes_the_readers_panic(text in "\\PC{0,60}", word in "(range|curve|classes|threshold|drainage:|canopy:) ") {
        let text = format!("{word}{text}");
        for id in ["ph", "drainage"] {
            let _ = parse_response(&text, &factor(id), &mut Numbers::with_points());
        }
        let _ = parse_condition(&text, &[factor("canopy"), factor("drainage")], &mut Numbers::with_points());
    }
}
