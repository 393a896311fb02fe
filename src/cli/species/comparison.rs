//! Two species held against each other: the traits that differ, the scores side by
//! side, and what the one stands and the other does not.

use serde::Serialize;

use super::Opened;
use super::bars::class_word;
use super::curve_plot::{score_at, span_of, ticks};
use super::profile_json::given_text;
use super::stands::STANDS_FROM;
use super::stood_span::{OpenSpan, stood_by_one};
use crate::factor::{Factor, Kind, Unit, Units};
use crate::score::Score;
use crate::species::{KNOWN_TRAITS, Opinion, Response, Species, Trait, short_number};

/// Values along the axis of a measured factor, about so many.
const ALONG: usize = 8;

/// What there is to tell of two species.
#[derive(Serialize)]
pub(super) struct Comparison<'a> {
    pub(super) species: [&'a str; 2],
    /// How many traits have the same value.
    pub(super) alike: usize,
    pub(super) differing: Vec<TraitPair<'a>>,
    pub(super) responses: Vec<ResponsePair<'a>>,
    /// What the first stands and the second does not, and the other way round.
    pub(super) stood_by_one: [Vec<Stood<'a>>; 2],
}

/// A trait of which the two have different values, or one has none.
#[derive(Serialize)]
pub(super) struct TraitPair<'a> {
    pub(super) name: &'a str,
    pub(super) values: [Option<&'a Trait>; 2],
}

/// Scores on one factor, perhaps under a condition.
#[derive(Serialize)]
pub(super) struct ResponsePair<'a> {
    pub(super) factor: &'a str,
    pub(super) given: Option<String>,
    pub(super) alike: bool,
    pub(super) rows: Vec<ScorePair>,
}

/// Scores at one value or class; nothing where it is not known.
#[derive(Serialize)]
pub(super) struct ScorePair {
    pub(super) at: String,
    pub(super) scores: [Option<f64>; 2],
    pub(super) classes: [Option<&'static str>; 2],
}

/// Values of one factor that only one of the two stands.
#[derive(Serialize)]
pub(super) struct Stood<'a> {
    pub(super) factor: &'a str,
    pub(super) given: Option<String>,
    pub(super) values: Vec<String>,
}

impl<'a> Comparison<'a> {
    /// Numbers are in `units`.
    pub(super) fn of(pair: [&'a Species; 2], opened: &'a Opened, units: Units) -> Comparison<'a> {
        let names = trait_names(pair);
        let count = names.len();
        let differing: Vec<TraitPair<'_>> = names
            .into_iter()
            .map(|name| TraitPair {
                name,
                values: pair.map(|species| species.trait_of(name)),
            })
            .filter(|both| {
                let [one, other] = both.values.map(|held| held.map(|held| &held.value));
                one != other
            })
            .collect();
        let mut comparison = Comparison {
            species: pair.map(|species| species.id.as_str()),
            alike: count - differing.len(),
            differing,
            responses: Vec::new(),
            stood_by_one: [Vec::new(), Vec::new()],
        };
        for factor in &opened.factors {
            for case in cases(pair, factor, opened) {
                comparison.add(&case, factor, units);
            }
        }
        comparison
    }

    fn add(&mut self, case: &Case<'a>, factor: &'a Factor, units: Units) {
        let responses = case.opinions.map(|held| held.map(|held| &held.response));
        self.responses.push(ResponsePair {
            factor: &factor.id,
            given: case.given.clone(),
            alike: responses[0] == responses[1],
            rows: rows(responses, factor, units),
        });
        let [Some(one), Some(other)] = responses else {
            return;
        };
        for (place, (one, other)) in [(one, other), (other, one)].into_iter().enumerate() {
            let values = stood(one, other, factor, units);
            if !values.is_empty() {
                self.stood_by_one[place].push(Stood {
                    factor: &factor.id,
                    given: case.given.clone(),
                    values,
                });
            }
        }
    }
}

/// Traits that one of the two has, known ones first.
fn trait_names(pair: [&Species; 2]) -> Vec<&str> {
    let held = |name: &str| pair.iter().any(|species| species.trait_of(name).is_some());
    let known = KNOWN_TRAITS.iter().map(|known| known.name);
    let mut names: Vec<&str> = known.filter(|name| held(name)).collect();
    for value in pair.into_iter().flat_map(|species| &species.traits) {
        if !names.contains(&value.name.as_str()) {
            names.push(&value.name);
        }
    }
    names
}

/// What both say of one factor on the same ground.
struct Case<'a> {
    given: Option<String>,
    opinions: [Option<&'a Opinion>; 2],
}

/// One case where neither hangs on a condition, else one for each condition.
fn cases<'a>(pair: [&'a Species; 2], factor: &'a Factor, opened: &Opened) -> Vec<Case<'a>> {
    let held = pair.map(|species| species.opinions_on(&factor.id).collect::<Vec<_>>());
    let mut givens: Vec<Option<String>> = Vec::new();
    for opinion in held.iter().flatten() {
        let given = given_text(opinion, opened);
        if !givens.contains(&given) {
            givens.push(given);
        }
    }
    if givens.len() > 1 {
        givens.retain(Option::is_some);
    }
    let of = |opinions: &[&'a Opinion], given: &Option<String>| {
        let on = |wanted: &Option<String>| {
            let mut opinions = opinions.iter();
            opinions
                .find(|opinion| given_text(opinion, opened) == *wanted)
                .copied()
        };
        on(given).or_else(|| on(&None))
    };
    givens
        .into_iter()
        .map(|given| Case {
            opinions: [of(&held[0], &given), of(&held[1], &given)],
            given,
        })
        .collect()
}

fn rows(responses: [Option<&Response>; 2], factor: &Factor, units: Units) -> Vec<ScorePair> {
    let pair = |at: String, scores: [Option<f64>; 2]| ScorePair {
        at,
        scores,
        classes: scores.map(|score| score.map(class_word)),
    };
    match factor.kind {
        Kind::Classes { ref names, .. } => names
            .iter()
            .enumerate()
            .map(|(class, name)| pair(name.clone(), responses.map(|held| class_score(held?, class))))
            .collect(),
        Kind::Measured(unit) => {
            let mut knots: Vec<f64> = responses
                .into_iter()
                .flatten()
                .flat_map(Response::knots)
                .collect();
            knots.sort_by(f64::total_cmp);
            let Some((from, to)) = span_of(&knots, factor) else {
                return Vec::new();
            };
            let read = |value| unit.for_people(value, units).0;
            let back = read(1.0) - read(0.0);
            ticks(read(from), read(to), ALONG)
                .into_iter()
                .map(|tick| {
                    let value = (tick - read(0.0)) / back;
                    let scores = responses.map(|held| held.map(|held| score_at(held, value)));
                    pair(told(value, unit, units), scores)
                })
                .collect()
        }
    }
}

fn class_score(response: &Response, class: usize) -> Option<f64> {
    match response {
        Response::Classes(scores) => scores.get(class).copied().flatten().map(Score::get),
        _ => None,
    }
}

fn told(value: f64, unit: Unit, units: Units) -> String {
    let (number, symbol) = unit.for_people(value, units);
    unit.beside(&short_number(number), symbol)
}

/// What `one` stands and `other` does not, in words.
fn stood(one: &Response, other: &Response, factor: &Factor, units: Units) -> Vec<String> {
    match factor.kind {
        Kind::Classes { ref names, .. } => names
            .iter()
            .enumerate()
            .filter(|(class, _)| {
                let scores = [one, other].map(|held| class_score(held, *class));
                matches!(scores, [Some(one), Some(other)] if one >= STANDS_FROM && other < STANDS_FROM)
            })
            .map(|(_, name)| name.clone())
            .collect(),
        Kind::Measured(unit) => stood_by_one(one, other, factor)
            .into_iter()
            .map(|span| span_told(span, unit, units))
            .collect(),
    }
}

fn span_told(span: OpenSpan, unit: Unit, units: Units) -> String {
    let told = |value| told(value, unit, units);
    match span {
        (Some(from), Some(to)) => {
            let [from, to] = [from, to].map(|value| short_number(unit.for_people(value, units).0));
            unit.beside(&format!("{from} to {to}"), unit.for_people(0.0, units).1)
        }
        (Some(from), None) => format!("from {} on", told(from)),
        (None, Some(to)) => format!("up to {}", told(to)),
        (None, None) => "all".to_owned(),
    }
}
