//! `cuts`: measured values into classes of a factor.

use super::definition::class_index;
use crate::factor::{Factor, Kind};
use crate::plural::counted;
use crate::project::table::Table;
use crate::project::value::FINITE;

/// Where measured values are cut, and the class of each piece.
///
/// # Units
/// Those of the layer; metres for a distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Cuts {
    /// The ends of all pieces but the last, rising.
    pub bounds: Vec<f64>,
    /// The class of each piece; one more than there are bounds.
    pub classes: Vec<u16>,
}

impl Cuts {
    /// The class of a value; a value on a bound belongs to the piece beyond it.
    ///
    /// # Missing
    /// Nothing for a value that is not a number; endless ones are in the last
    /// piece.
    #[must_use]
    pub fn class_of(&self, value: f64) -> Option<u16> {
        if value.is_nan() {
            return None;
        }
        let piece = self.bounds.partition_point(|&bound| bound <= value);
        self.classes.get(piece).copied()
    }
}

pub(super) fn read(table: &Table, factor: Option<&Factor>) -> Option<Cuts> {
    let found = table.tables("cuts")?;
    if let (Some(spot), Some(_)) = (table.spot_of("words"), factor) {
        spot.problem("found `words` beside `cuts`, needed only one of them");
    }
    if let Some(factor) = factor
        && matches!(factor.kind, Kind::Measured(_))
    {
        found.spot.problem(format!(
            "found `cuts` for `{}`, which is measured; needed a factor in classes",
            factor.id
        ));
        return None;
    }
    let mut cuts = Cuts {
        bounds: Vec::new(),
        classes: Vec::new(),
    };
    let count = found.value.len();
    for (index, cut) in found.value.iter().enumerate() {
        cut.require(&["class"]);
        let to = cut.number("to", FINITE);
        let class = cut.text("class");
        match (to, cut.spot_of("to").is_some()) {
            (Some(to), _) => {
                if let Some(last) = cuts.bounds.last().filter(|&&last| to.value <= last) {
                    to.spot.problem(format!(
                        "found {}, needed more than {last}, the cut before",
                        to.value
                    ));
                }
                if index + 1 == count {
                    cut.spot.problem(format!(
                        "found `to = {}` in the last cut, needed a last one without `to`, for all that lies beyond",
                        to.value
                    ));
                }
                cuts.bounds.push(to.value);
            }
            (None, false) if index + 1 < count => {
                let text = "found a cut without `to` before the last one, needed `to`, where it ends";
                cut.spot.problem(text);
            }
            (None, _) => {}
        }
        if let (Some(class), Some(factor)) = (class, factor) {
            cuts.classes.extend(class_index(&class.spot, factor, class.value));
        }
        cut.finish();
    }
    if count < 2 {
        found
            .spot
            .problem(format!("found {}, needed two or more", counted(count, "cut")));
    }
    (cuts.classes.len() == cuts.bounds.len() + 1).then_some(cuts)
}
