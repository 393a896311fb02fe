//! Shapes of features made by several threads, in the order of the features, and
//! brought to another system. Knows no files.

use std::cell::RefCell;
use std::sync::{Mutex, PoisonError};

use geo::MapCoordsInPlace;

use super::geometry::{NoShape, Raw, Shape};
use super::{GisError, Transform};

/// Features whose shapes are made by one thread at a time.
pub(super) const SHAPES_AT_ONCE: usize = 512;

/// What is made of shapes, as threads finish it, with the number of the first feature of
/// each part.
pub(super) struct Shapes<T, F> {
    make: F,
    parts: Mutex<Vec<Part<T>>>,
}

type Part<T> = (usize, Vec<Result<T, NoShape>>);

impl<T, F: Fn(Shape) -> T> Shapes<T, F> {
    /// None yet.
    pub fn new(make: F) -> Shapes<T, F> {
        Shapes {
            make,
            parts: Mutex::new(Vec::new()),
        }
    }

    /// Makes what is made of the shapes of some features.
    pub fn make(&self, first: usize, raws: Vec<Raw>) {
        let shapes = raws.into_iter().map(|raw| raw.shape().map(&self.make));
        let shapes = shapes.collect();
        let mut parts = self.parts.lock().unwrap_or_else(PoisonError::into_inner);
        parts.push((first, shapes));
    }

    /// All that was made, in the order of the features.
    pub fn in_order(self) -> impl Iterator<Item = Result<T, NoShape>> {
        let mut parts = self.parts.into_inner().unwrap_or_else(PoisonError::into_inner);
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
