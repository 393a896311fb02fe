//! The factor of a `[factors.NAME]`: a standard one with what the project
//! changes about it, or one of the project's own.

use super::{NOTHING, limit, sun};
use crate::factor::{Factor, Harmless, Kind, Unit};
use crate::nearest::{listed, nearest, quoted, suggest};
use crate::plural::one_or_many;
use crate::project::reader::{Found, Spot};
use crate::project::table::Table;
use crate::project::value::FINITE;

#[derive(Clone, Copy)]
enum KindWord {
    Measured,
    Classes,
}

const KINDS: [(&str, KindWord); 2] = [("measured", KindWord::Measured), ("classes", KindWord::Classes)];

pub(super) fn read(table: &Table, id: &str) -> Option<Factor> {
    let factor = match Factor::standard(id) {
        Some(factor) => {
            for key in ["kind", "classes", "ordered"] {
                if let Some(spot) = table.spot_of(key) {
                    spot.problem(format!(
                        "found `{key}` for the standard factor `{id}`, which is {}: take it out, or give the factor another name",
                        settled_kind(&factor.kind)
                    ));
                }
            }
            if let Some(spot) = table.spot_of("limit") {
                spot.problem(format!(
                    "found a limit called `{id}`, which is a standard factor; needed a name of its own, such as `[factors.sight_triangle]`"
                ));
            }
            Some(factor)
        }
        None => added(table, id),
    };
    let decisive = table.flag("decisive");
    let remediable = table.flag("remediable");
    let stands_in_for = table.text("stands_in_for");
    let harmless = factor.as_ref().and_then(|factor| harmless(table, factor));
    if factor.is_none() {
        // Asked for all the same, so that it is not called an unknown key.
        table.spot_of("harmless_below");
    }
    let mut factor = factor?;
    if let Some(found) = decisive {
        factor.decisive = found.value;
    }
    if let Some(found) = remediable {
        factor.remediable = found.value;
    }
    if let Some(found) = stands_in_for {
        factor.stands_in_for = Some(found.value.to_owned()).filter(|other| other != NOTHING);
    }
    if let Some(harmless) = harmless {
        factor.harmless = harmless;
    }
    if matches!(factor.id.as_str(), "sun_hours" | "spring_sun_hours")
        && let Some((full_from, shade_below)) = sun::words(table)
    {
        factor.words = vec![
            (f64::NEG_INFINITY, "shade".to_owned()),
            (shade_below, "part sun".to_owned()),
            (full_from, "full sun".to_owned()),
        ];
    }
    Some(factor)
}

fn settled_kind(kind: &Kind) -> String {
    match kind {
        Kind::Measured(unit) => format!("measured in {unit}"),
        Kind::Classes { names, .. } => {
            let ends = (names.first(), names.last());
            let (Some(first), Some(last)) = ends else {
                return "in classes".to_owned();
            };
            format!("in the classes `{first}` to `{last}`")
        }
    }
}

fn added(table: &Table, id: &str) -> Option<Factor> {
    let kind = table.word("kind", &KINDS);
    let classes = table.texts("classes");
    let ordered = table.flag("ordered");
    if table.spot_of("limit").is_some() {
        for key in ["kind", "classes", "ordered"] {
            if let Some(spot) = table.spot_of(key) {
                spot.problem(format!(
                    "found `{key}` for a limit, needed none: its ground is free or limited"
                ));
            }
        }
        return plain_name(table, id).then(|| limit::factor(id));
    }
    if table.spot_of("kind").is_none() {
        let near = nearest(id, Factor::standard_ids());
        let hint = near.map_or_else(String::new, |name| format!("; nearest is `{name}`"));
        table.spot.problem(format!(
            "no standard factor is called {}{hint}; a factor of your own needs `kind` (`measured` or `classes`)",
            quoted(id)
        ));
        return None;
    }
    if !plain_name(table, id) {
        return None;
    }
    added_by_kind(table, id, kind?.value, classes, ordered)
}

/// Whether a factor of the project's own has a name that files can use.
fn plain_name(table: &Table, id: &str) -> bool {
    let first = id
        .chars()
        .next()
        .is_some_and(|letter| letter.is_ascii_lowercase());
    let plain = |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '_';
    if !first || !id.chars().all(plain) || id == NOTHING {
        table.spot.problem(format!(
            "found the name {}, needed a name of small letters, digits and `_` that starts with a letter{}",
            quoted(id),
            if id == NOTHING {
                " and is not `nothing`"
            } else {
                ""
            }
        ));
        return false;
    }
    true
}

fn added_by_kind(
    table: &Table,
    id: &str,
    kind: KindWord,
    classes: Option<Found<'_, Vec<Found<'_, &str>>>>,
    ordered: Option<Found<'_, bool>>,
) -> Option<Factor> {
    match kind {
        KindWord::Measured => {
            for key in ["classes", "ordered"] {
                if let Some(spot) = table.spot_of(key) {
                    spot.problem(format!(
                        "found `{key}` for a measured factor, needed `kind = \"classes\"`"
                    ));
                }
            }
            own_unit(table).map(|unit| Factor::added(id, Kind::Measured(unit)))
        }
        KindWord::Classes => {
            table.require(&["classes"]);
            let found = classes?;
            let mut names: Vec<String> = Vec::new();
            for class in found.value {
                let name = class.value.trim();
                if names.iter().any(|other| other.eq_ignore_ascii_case(name)) {
                    class
                        .spot
                        .problem(format!("found the class {} twice", quoted(name)));
                }
                names.push(name.to_owned());
            }
            // Class indices must stay exact in single-precision rasters.
            if !(2..=1000).contains(&names.len()) {
                found.spot.problem(format!(
                    "found {} {}, needed 2 to 1000",
                    names.len(),
                    one_or_many(names.len(), "class", "classes")
                ));
                return None;
            }
            let ordered = ordered.is_some_and(|found| found.value);
            Some(Factor::added(id, Kind::Classes { names, ordered }))
        }
    }
}

/// The unit of a factor of the project's own, by its symbol.
fn own_unit(table: &Table) -> Option<Unit> {
    table.require(&["unit"]);
    let written = table.text("unit")?;
    let unit = Unit::ALL
        .into_iter()
        .find(|unit| unit.symbol().eq_ignore_ascii_case(written.value.trim()));
    if unit.is_none() {
        let symbols = Unit::ALL.map(Unit::symbol);
        written.spot.problem(format!(
            "found the unit {}, needed one of {}",
            quoted(written.value),
            listed(&symbols)
        ));
    }
    unit
}

fn harmless(table: &Table, factor: &Factor) -> Option<Harmless> {
    match &factor.kind {
        Kind::Measured(_) => {
            let below = table.number("harmless_below", FINITE)?;
            Some(Harmless::Below(below.value))
        }
        Kind::Classes { ordered: false, .. } => {
            let spot = table.spot_of("harmless_below")?;
            spot.problem("found `harmless_below` for classes without an order, needed `ordered = true`");
            None
        }
        Kind::Classes { .. } => {
            let class = table.text("harmless_below")?;
            let first_harmful = class_index(&class.spot, factor, class.value)?;
            Some(match first_harmful.checked_sub(1) {
                None => Harmless::Nothing,
                // Only the first class is so harmless that nothing need be told.
                Some(last) => Harmless::UpToClass { last, told_from: 1 },
            })
        }
    }
}

/// The index of a class of the factor; a word that is none is a problem.
pub(super) fn class_index(spot: &Spot, factor: &Factor, word: &str) -> Option<u16> {
    let index = factor.kind.class_index(word);
    if index.is_none() {
        let names = factor.kind.classes().unwrap_or_default();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        spot.problem(format!(
            "found the class {}, needed a class of `{}`; {}",
            quoted(word),
            factor.id,
            suggest(word, &names)
        ));
    }
    index
}
