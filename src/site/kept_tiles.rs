//! Tiles kept from one pass over the grid for the next, packed: what was decoded, warped or
//! computed once need not be again. In come tiles as they are read, out go the same. Knows
//! not what their values mean.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use super::tile_values::{Met, TileValues};
use crate::grid::{PackedCells, Raster, Runs, Window};

/// The tiles kept, all that come or none: what is left over of many has to be read again
/// anyway, and on a large site the room is needed elsewhere.
#[derive(Debug, Default)]
pub(super) struct KeptTiles {
    state: Mutex<State>,
}

#[derive(Debug, Default)]
struct State {
    /// What all may take; none are kept where it is 0.
    room_bytes: usize,
    bytes: usize,
    tiles: HashMap<Window, Arc<KeptTile>>,
}

/// One tile, packed.
#[derive(Debug)]
struct KeptTile {
    factors: Vec<PackedCells>,
    status: Runs<u8>,
    overlapping: BTreeMap<usize, Runs<u8>>,
    met: Met,
}

impl KeptTiles {
    /// Keeps tiles from now on while all fit into so much memory; 0 lets those go that are
    /// here.
    pub fn make_room(&self, room_bytes: usize) {
        let mut state = self.state();
        state.room_bytes = room_bytes;
        if state.bytes > room_bytes {
            state.tiles = HashMap::new();
            state.bytes = 0;
        }
    }

    /// A tile as it was kept.
    pub fn tile(&self, window: Window) -> Option<TileValues> {
        let kept = self.state().tiles.get(&window).cloned();
        kept.map(|tile| tile.unpacked(window))
    }

    /// Keeps a tile, if there is room.
    pub fn keep(&self, tile: &TileValues) {
        if self.state().room_bytes == 0 {
            return;
        }
        let kept = KeptTile::of(tile);
        let bytes = kept.bytes();
        let mut state = self.state();
        if state.bytes + bytes > state.room_bytes {
            *state = State::default();
        } else if state.tiles.insert(tile.window, Arc::new(kept)).is_none() {
            state.bytes += bytes;
        }
    }

    fn state(&self) -> MutexGuard<'_, State> {
        // What is kept is whole even when another thread broke off.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl KeptTile {
    fn of(tile: &TileValues) -> KeptTile {
        let factors = tile.factors.iter();
        let runs = |raster: &Raster<u8>| Runs::of(raster.values().iter().copied());
        let overlapping = tile.overlapping.iter();
        KeptTile {
            factors: factors
                .map(|raster| PackedCells::of(Cow::Borrowed(raster.values())))
                .collect(),
            status: runs(&tile.status),
            overlapping: overlapping.map(|(&layer, mask)| (layer, runs(mask))).collect(),
            met: tile.met.clone(),
        }
    }

    /// What is met is little beside the cells.
    fn bytes(&self) -> usize {
        let factors = self.factors.iter().map(PackedCells::bytes);
        let overlapping = self.overlapping.values().map(Runs::bytes);
        factors.chain(overlapping).sum::<usize>() + self.status.bytes()
    }

    fn unpacked(&self, window: Window) -> TileValues {
        let factor = |packed: &PackedCells| {
            let mut raster = Raster::filled(window, f32::NAN);
            packed.copy(0..window.cells(), raster.values_mut());
            raster
        };
        let raster = |runs: &Runs<u8>| {
            let mut raster = Raster::filled(window, 0);
            let values = raster.values_mut();
            runs.each(0..window.cells(), |cells, value| values[cells].fill(value));
            raster
        };
        let overlapping = self.overlapping.iter();
        TileValues {
            window,
            factors: self.factors.iter().map(factor).collect(),
            status: raster(&self.status),
            overlapping: overlapping.map(|(&layer, runs)| (layer, raster(runs))).collect(),
            met: self.met.clone(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::{OUTSIDE, TO_RATE};

    const WINDOW: Window = Window {
        row: 512,
        col: 0,
        rows: 4,
        cols: 8,
    };

    fn tile(window: Window) -> TileValues {
        let filled = |value| Raster::filled(window, value);
        let mut slopes = filled(0.5f32);
        let numbered = (0u8..).zip(slopes.values_mut());
        numbered.for_each(|(number, slope)| *slope += f32::from(number) / 7.0);
        slopes.values_mut()[3] = f32::NAN;
        let mut status = Raster::filled(window, TO_RATE);
        status.row_mut(1)[2..5].fill(OUTSIDE);
        let mut met = Met::default();
        met.unknown_codes.entry(1).or_default().insert(7, 2);
        TileValues {
            window,
            factors: vec![filled(f32::INFINITY), slopes, filled(3.0)],
            overlapping: [(0, status.clone())].into_iter().collect(),
            status,
            met,
        }
    }

    fn bits(tile: &TileValues) -> Vec<u32> {
        let values = tile.factors.iter().flat_map(Raster::values);
        values.map(|value| value.to_bits()).collect()
    }

    #[test]
    fn a_kept_tile_is_the_tile_that_was_read() {
        let (kept, read) = (KeptTiles::default(), tile(WINDOW));
        kept.keep(&read);
        assert!(kept.tile(WINDOW).is_none(), "nobody asked for it");
        kept.make_room(1000);
        kept.keep(&read);
        let found = kept.tile(WINDOW).unwrap();
        assert_eq!(bits(&found), bits(&read));
        assert_eq!(found.status.values(), read.status.values());
        assert_eq!(found.overlapping[&0].values(), read.overlapping[&0].values());
        assert_eq!((found.window, found.met), (read.window, read.met));
        assert!(kept.tile(Window { row: 0, ..WINDOW }).is_none());
    }

    #[test]
    fn where_not_all_fit_none_are_kept() {
        let kept = KeptTiles::default();
        kept.make_room(400);
        let other = Window { row: 0, ..WINDOW };
        kept.keep(&tile(WINDOW));
        assert!(kept.tile(WINDOW).is_some());
        kept.keep(&tile(other));
        kept.keep(&tile(WINDOW));
        assert!(kept.tile(WINDOW).is_none() && kept.tile(other).is_none());
    }
}
