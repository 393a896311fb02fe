//! Shapes of features made by several threads, in the order of the features, and
//! brought to another system. Knows no files.

use std::cell::RefCell;
use std::sync::{Mutex, PoisonError};

use geo::MapCoordsInPlace;

use super::geometry::{NoShape, Raw, Shape};
use super::{GisError, Transform};

/// Features whose shapes are made by one thread at a time.
pub(super) const SHAPES_AT_ONCE: usize = 512;

/// Shapes as threads finish them, with the number of the first feature of each part.
#[derive(Default)]
pub(super) struct Shapes(Mutex<Vec<Part>>);

type Part = (usize, Vec<Result<Shape, NoShape>>);

impl Shapes {
    /// Makes the shapes of some features.
    pub fn make(&self, first: usize, raws: Vec<Raw>) {
        let shapes = raws.into_iter().map(Raw::shape).collect();
        let mut parts = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        parts.push((first, shapes));
    }

    /// All shapes, in the order of their features.
    pub fn in_order(self) -> impl Iterator<Item = Result<Shape, NoShape>> {
        let mut parts = self.0.into_inner().unwrap_or_else(PoisonError::into_inner);
        parts.sort_by_key(|(first, _)| *first);
        parts.into_iter().flat_map(|(_, shapes)| shapes)
    }
}

/// Brings geometries over in one call, which is many times faster than one each.
pub(super) fn brought_over<'g>(
    geometries: impl Iterator<Item = &'g mut geo::Geometry<f64>>,
    transform: &Transform,
) -> Result<(), GisError> {
    if transform.told().same {
        return Ok(());
    }
    let mut geometries: Vec<_> = geometries.collect();
    // Both walks take the coordinates in the same order. The closures must be
    // copies of each other, so what they share stands outside.
    let points = RefCell::new(Vec::new());
    for geometry in &mut geometries {
        geometry.map_coords_in_place(|coord| {
            points.borrow_mut().push((coord.x, coord.y));
            coord
        });
    }
    let mut points = points.into_inner();
    transform.apply(&mut points)?;
    let points = RefCell::new(points.into_iter());
    for geometry in geometries {
        geometry.map_coords_in_place(|coord| points.borrow_mut().next().map_or(coord, Into::into));
    }
    Ok(())
}
