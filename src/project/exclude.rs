//! `[[exclude]]`: ground that is not to be rated: pavement, water, buildings.

use super::layer::LayerRef;
use super::table::Table;
use super::value::{ABOVE_ZERO, ZERO_OR_MORE};
use crate::nearest::quoted;

/// One `[[exclude]]`: the features of a layer, widened, are not rated.
///
/// Keys: `name` and `layer` (needed; with `sublayer`, `filter`, `crs`),
/// `width_m` or `width_attribute`, `setback_m`.
#[derive(Debug, Clone, PartialEq)]
pub struct Exclude {
    /// `name`: the cause that is told for the ground left out.
    pub name: String,
    /// `layer`: polygons, or lines with a width.
    pub layer: LayerRef,
    /// The full width of lines, half of it to each side.
    pub width: Option<Width>,
    /// `setback_m`: a strip all around, from the edge outward; 0 unless given.
    pub setback_m: f64,
}

/// How wide the lines of a layer are.
#[derive(Debug, Clone, PartialEq)]
pub enum Width {
    /// `width_m`: all the same, in metres.
    Metres(f64),
    /// `width_attribute`: the attribute that holds the width in metres.
    Attribute(String),
}

impl Exclude {
    pub(super) fn read_all(tables: &[Table]) -> Vec<Exclude> {
        let mut names: Vec<&str> = Vec::new();
        for name in tables.iter().filter_map(|table| table.text("name")) {
            if names.contains(&name.value) {
                name.spot.problem(format!(
                    "found a second exclude called {}, needed a name of its own for each",
                    quoted(name.value)
                ));
            }
            names.push(name.value);
        }
        tables.iter().filter_map(Exclude::read).collect()
    }

    fn read(table: &Table) -> Option<Exclude> {
        table.require(&["name"]);
        table.require(&["layer"]);
        let name = table.text("name");
        let layer = LayerRef::read(table, "layer");
        let width = width(table);
        let setback_m = table
            .number("setback_m", ZERO_OR_MORE)
            .map_or(0.0, |found| found.value);
        table.finish();
        Some(Exclude {
            name: name?.value.to_owned(),
            layer: layer?,
            width,
            setback_m,
        })
    }
}

/// How wide lines are, by `width_m` or `width_attribute`.
pub(super) fn width(table: &Table) -> Option<Width> {
    let metres = table.number("width_m", ABOVE_ZERO);
    let attribute = table.text("width_attribute");
    if let (Some(_), Some(attribute)) = (&metres, &attribute) {
        let text = "found `width_m` and `width_attribute`, needed only one of them";
        attribute.spot.problem(text);
    }
    let width = metres.map(|found| Width::Metres(found.value));
    width.or_else(|| attribute.map(|found| Width::Attribute(found.value.to_owned())))
}
