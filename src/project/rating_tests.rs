use crate::project::tests::{first_problem, project_with};
use crate::project::{RatingSection, Rule};
use crate::score::Class;

fn rating(keys: &str) -> RatingSection {
    project_with("ph", &format!("layer = \"canopy.tif\"\n[rating]\n{keys}")).rating
}

fn told(keys: &str) -> String {
    first_problem("ph", &format!("layer = \"canopy.tif\"\n[rating]\n{keys}"))
}

#[test]
fn limits_go_with_the_rule() {
    assert_eq!(rating("").rule, Rule::Limiting);
    assert_eq!(rating("").at_least, Class::S2);
    assert_eq!(rating("").limits.lowest_of(Class::S1), 0.85);
    for rule in [Rule::Geometric, Rule::SquareRoot, Rule::Product] {
        let section = rating(&format!("rule = \"{}\"", rule.word()));
        assert_eq!(section.rule, rule);
        assert_eq!(section.limits.lowest_of(Class::S3), 0.25);
    }
    let section = rating("limits = { S2 = 0.7 }");
    assert_eq!(section.limits.lowest_of(Class::S2), 0.7);
    assert_eq!(section.limits.lowest_of(Class::S3), 0.4);
}

#[test]
fn limits_out_of_order_are_told_with_all_three() {
    let text = told("limits = { S1 = 0.5 }");
    assert!(text.contains("found S1 = 0.5, S2 = 0.6, S3 = 0.4"), "{text}");
    assert!(told("limits = { S3 = 0 }").contains("needed a number above 0"));
}

#[test]
fn weights_belong_to_the_geometric_mean_and_to_factors_of_the_project() {
    let section = rating("rule = \"geometric\"\nweights = { ph = 2 }");
    assert_eq!(section.weights, [("ph".to_owned(), 2.0)]);
    assert!(told("weights = { ph = 2 }").contains("needed the rule `geometric`"));
    assert!(told("rule = \"geometric\"\nweights = { phh = 2 }").contains("nearest is `ph`"));
    assert!(told("rule = \"geometric\"\nweights = { ph = -2 }").contains("needed a number above 0"));
}
