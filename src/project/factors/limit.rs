//! `limit`: ground on which plants must stay low or thin: a sight triangle, the strip
//! under a line, a clear zone. Opens no layer.

use crate::factor::{Factor, Harmless, Kind};
use crate::project::exclude::{Exclude, width};
use crate::project::layer::LayerRef;
use crate::project::table::Table;
use crate::project::value::{ABOVE_ZERO, ZERO_OR_MORE};

/// What a plant may grow to on limited ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlantLimit {
    /// `highest_m`: height at maturity.
    pub highest_m: Option<f64>,
    /// `thickest_stem_mm`: thickness of a stem at maturity.
    pub thickest_stem_mm: Option<f64>,
}

impl PlantLimit {
    /// Class of ground that is not limited; harmless to every plant.
    pub const FREE: u16 = 0;
    /// Class of ground that is.
    pub const LIMITED: u16 = 1;

    pub(super) fn read(table: &Table) -> PlantLimit {
        table.require(&["highest_m", "thickest_stem_mm"]);
        PlantLimit {
            highest_m: table.number("highest_m", ABOVE_ZERO).map(|found| found.value),
            thickest_stem_mm: table
                .number("thickest_stem_mm", ABOVE_ZERO)
                .map(|found| found.value),
        }
    }
}

/// The factor that a limit makes: decisive, and nobody can put it right.
pub(super) fn factor(id: &str) -> Factor {
    Factor {
        decisive: true,
        harmless: Harmless::UpToClass {
            last: PlantLimit::FREE,
            told_from: PlantLimit::LIMITED,
        },
        ..Factor::added(
            id,
            Kind::Classes {
                names: vec!["free".to_owned(), "limited".to_owned()],
                ordered: true,
            },
        )
    }
}

/// The ground that is limited, widened as an exclude is.
pub(super) fn ground(table: &Table, id: &str, layer: Option<LayerRef>) -> Option<Exclude> {
    let width = width(table);
    let setback_m = table
        .number("setback_m", ZERO_OR_MORE)
        .map_or(0.0, |found| found.value);
    Some(Exclude {
        name: id.to_owned(),
        layer: layer?,
        width,
        setback_m,
    })
}
