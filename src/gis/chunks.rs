//! Pieces of a raster that several tiles of a grid need, each decoded once and kept
//! for the neighbours. In come places of pieces and a way to read one; out go their
//! values. Knows no files. What is kept changes the time that reading takes, never the
//! values.

use std::collections::{BTreeMap, VecDeque};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};

use crate::grid::PackedCells;

/// Row and column of a piece among the pieces.
pub(super) type Place = (usize, usize);

/// The pieces held in memory. Tiles are mostly read from north to south, and in a row from
/// west to east, so of the first and the last in that order the one goes that lies further
/// from what comes: nobody is about to come back to it.
#[derive(Debug)]
pub(super) struct Chunks {
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Debug, Default)]
struct State {
    most: usize,
    held: BTreeMap<Place, Held>,
}

#[derive(Debug)]
enum Held {
    /// Some thread is at it.
    BeingRead,
    Read(Arc<PackedCells>),
}

/// Takes the mark off again when reading fails or breaks off, so that nobody waits
/// for ever.
struct Mark<'c> {
    chunks: &'c Chunks,
    place: Place,
}

impl Drop for Mark<'_> {
    fn drop(&mut self) {
        let mut state = self.chunks.state();
        if let Some(Held::BeingRead) = state.held.get(&self.place) {
            state.held.remove(&self.place);
        }
        drop(state);
        self.chunks.changed.notify_all();
    }
}

impl Chunks {
    /// Room for so many pieces.
    pub fn with_room_for(most: usize) -> Chunks {
        let state = State {
            most,
            ..State::default()
        };
        Chunks {
            state: Mutex::new(state),
            changed: Condvar::new(),
        }
    }

    /// Lets all pieces go; there is as much room for others as before.
    pub fn let_go(&self) {
        let mut state = self.state();
        state.held.retain(|_, held| matches!(held, Held::BeingRead));
    }

    /// Calls `each` with the values of some pieces, in any order, read unless they are
    /// here. What another thread is reading comes last and is waited for; `read` itself
    /// must not wait for other threads.
    ///
    /// # Errors
    /// What `read` says; the piece is then read anew when it is next wanted.
    pub fn each<E>(
        &self,
        places: impl Iterator<Item = Place>,
        read: impl Fn(Place) -> Result<PackedCells, E>,
        mut each: impl FnMut(Place, &PackedCells),
    ) -> Result<(), E> {
        let mut busy = Vec::new();
        for place in places {
            match self.get(place, false, || read(place))? {
                Some(values) => each(place, &values),
                None => busy.push(place),
            }
        }
        for place in busy {
            if let Some(values) = self.get(place, true, || read(place))? {
                each(place, &values);
            }
        }
        Ok(())
    }

    /// The values of a piece; nothing when another thread is reading it and is not to be
    /// waited for.
    fn get<E>(
        &self,
        place: Place,
        wait: bool,
        read: impl FnOnce() -> Result<PackedCells, E>,
    ) -> Result<Option<Arc<PackedCells>>, E> {
        let mut state = self.state();
        loop {
            match state.held.get(&place) {
                Some(Held::Read(values)) => return Ok(Some(Arc::clone(values))),
                Some(Held::BeingRead) if !wait => return Ok(None),
                Some(Held::BeingRead) => {
                    state = self.changed.wait(state).unwrap_or_else(PoisonError::into_inner);
                }
                None => break,
            }
        }
        state.held.insert(place, Held::BeingRead);
        drop(state);
        let mark = Mark { chunks: self, place };
        let values = Arc::new(read()?);
        let mut state = self.state();
        state.make_way_for(place);
        state.held.insert(place, Held::Read(Arc::clone(&values)));
        drop(state);
        drop(mark);
        Ok(Some(values))
    }

    fn state(&self) -> MutexGuard<'_, State> {
        // What is held is whole even when another thread broke off.
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl State {
    /// Lets pieces go until there is room for another.
    fn make_way_for(&mut self, (row, col): Place) {
        let far = |place: &Place| (row.abs_diff(place.0), col.abs_diff(place.1));
        let read = self.held.iter().filter(|(_, held)| matches!(held, Held::Read(_)));
        let mut read: VecDeque<Place> = read.map(|(&place, _)| place).collect();
        while read.len() >= self.most.max(1) {
            let (Some(first), Some(last)) = (read.front(), read.back()) else {
                return;
            };
            let goes = if far(first) > far(last) {
                read.pop_front()
            } else {
                read.pop_back()
            };
            goes.map(|place| self.held.remove(&place));
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    fn piece(value: f32) -> PackedCells {
        PackedCells::of(vec![value].into())
    }

    fn value(piece: &PackedCells) -> f32 {
        let mut copied = [0.0];
        piece.copy(0..1, &mut copied);
        copied[0]
    }

    #[test]
    fn a_piece_is_read_again_only_after_it_had_to_go() {
        let chunks = Chunks::with_room_for(2);
        let reads = AtomicUsize::new(0);
        let get = |place| {
            let read = |_| {
                reads.fetch_add(1, Ordering::Relaxed);
                Ok::<_, ()>(piece(1.0))
            };
            chunks
                .each([place].into_iter(), read, |at, values| {
                    assert_eq!((at, value(values)), (place, 1.0));
                })
                .unwrap();
            reads.load(Ordering::Relaxed)
        };
        assert_eq!((get((0, 0)), get((0, 1)), get((0, 0))), (1, 2, 2));
        assert_eq!(get((0, 2)), 3, "(0, 0) goes");
        assert_eq!((get((0, 1)), get((0, 0))), (3, 4));
        assert_eq!((get((0, 1)), get((0, 0))), (4, 4), "(0, 2) has gone");
        assert_eq!(get((9, 0)), 5);
        assert_eq!((get((1, 0)), get((0, 0))), (6, 6), "what lies far away goes");
        chunks.let_go();
        assert_eq!((get((0, 1)), get((0, 1))), (7, 7));
    }

    /// Tiles of a piece each with a cell around, read in order, as on a site that was looked
    /// at in some places before.
    #[test]
    fn each_piece_is_read_once_in_a_pass_with_room_for_two_rows() {
        const ROWS: usize = 9;
        const COLS: usize = 24;
        let chunks = Chunks::with_room_for(2 * COLS + 6);
        let reads = Mutex::new(BTreeMap::new());
        let tile = |row: usize, col: usize| {
            let around = |at: usize, end: usize| at.saturating_sub(1)..(at + 2).min(end);
            let places = around(row, ROWS).flat_map(|row| around(col, COLS).map(move |col| (row, col)));
            let read = |place| {
                *reads.lock().unwrap().entry(place).or_insert(0) += 1;
                Ok::<_, ()>(piece(1.0))
            };
            chunks.each(places, read, |_, _| ()).unwrap();
        };
        for row in [4, 7] {
            (2..COLS).step_by(7).for_each(|col| tile(row, col));
        }
        reads.lock().unwrap().clear();
        for row in 0..ROWS {
            (0..COLS).for_each(|col| tile(row, col));
        }
        let reads = reads.into_inner().unwrap();
        assert!(reads.values().all(|&times| times == 1), "{reads:?}");
    }

    #[test]
    fn a_failure_is_told_and_forgotten() {
        let chunks = Chunks::with_room_for(2);
        let place = || [(0, 0)].into_iter();
        assert_eq!(chunks.each(place(), |_| Err("spoilt"), |_, _| ()), Err("spoilt"));
        let mut found: Vec<f32> = Vec::new();
        let read = |_| Ok::<_, ()>(piece(2.0));
        chunks
            .each(place(), read, |_, values| found.push(value(values)))
            .unwrap();
        assert_eq!(found, [2.0]);
    }

    #[test]
    fn threads_that_want_the_same_pieces_read_each_once() {
        let chunks = Chunks::with_room_for(8);
        let reads = AtomicUsize::new(0);
        std::thread::scope(|scope| {
            for _ in 0..8 {
                scope.spawn(|| {
                    let read = |(row, _)| {
                        reads.fetch_add(1, Ordering::Relaxed);
                        std::thread::sleep(std::time::Duration::from_millis(5));
                        Ok::<_, ()>(piece(f32::from(u8::try_from(row).unwrap_or(0))))
                    };
                    let mut sum = 0.0;
                    let places = (0..4).map(|row| (row, 4));
                    chunks
                        .each(places, read, |_, values| sum += value(values))
                        .unwrap();
                    assert_eq!(sum, 6.0);
                });
            }
        });
        assert_eq!(reads.load(Ordering::Relaxed), 4);
    }
}
