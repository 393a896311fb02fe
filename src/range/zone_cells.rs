//! The cells of each zone as runs, and how far a place lies from them.

use rstar::RTree;
use rstar::primitives::GeomWithData;

use crate::grid::{CellIndex, Grid};
use crate::zones::RunRows;

/// Places of records of one species; what goes with each is not needed here.
pub(super) type Places = RTree<GeomWithData<[f64; 2], ()>>;

/// Cells of a row that belong to one zone, from a column up to another, without it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Run {
    pub row: u32,
    pub from: u32,
    pub to: u32,
}

/// The cells of every zone.
#[derive(Debug)]
pub struct ZoneCells {
    starts: Vec<usize>,
    runs: Vec<Run>,
}

impl ZoneCells {
    /// The cells of `zones` zones, which are the labels from 1 on.
    #[must_use]
    pub fn new(rows: &RunRows, zones: usize) -> ZoneCells {
        let each = |take: &mut dyn FnMut(usize, Run)| {
            for row in 0..rows.rows() {
                let mut from = 0;
                for &(to, label) in rows.row(row) {
                    if label > 0 {
                        let row = u32::try_from(row).unwrap_or(u32::MAX);
                        take(label as usize - 1, Run { row, from, to });
                    }
                    from = to;
                }
            }
        };
        let mut starts = vec![0; zones + 1];
        each(&mut |zone, _| starts[zone + 1] += 1);
        for zone in 0..zones {
            starts[zone + 1] += starts[zone];
        }
        let mut next = starts.clone();
        let mut runs = vec![
            Run {
                row: 0,
                from: 0,
                to: 0
            };
            starts[zones]
        ];
        each(&mut |zone, run| {
            runs[next[zone]] = run;
            next[zone] += 1;
        });
        ZoneCells { starts, runs }
    }

    /// One cell as a zone of its own.
    pub(super) fn of_cell(cell: CellIndex) -> ZoneCells {
        let index = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        let run = Run {
            row: index(cell.row),
            from: index(cell.col),
            to: index(cell.col + 1),
        };
        ZoneCells {
            starts: vec![0, 1],
            runs: vec![run],
        }
    }

    /// Number of zones.
    #[must_use]
    pub fn zones(&self) -> usize {
        self.starts.len() - 1
    }

    /// The runs of a zone by its place in the list.
    pub(super) fn of_zone(&self, zone: usize) -> &[Run] {
        &self.runs[self.starts[zone]..self.starts[zone + 1]]
    }
}

/// A zone on the map, for measuring from.
pub(super) struct ZoneShape {
    /// West, south, east, north of each run.
    boxes: Vec<[f64; 4]>,
    middle: [f64; 2],
    /// No cell lies farther from the middle.
    radius_m: f64,
}

impl ZoneShape {
    pub fn new(grid: &Grid, runs: &[Run]) -> ZoneShape {
        let boxes: Vec<[f64; 4]> = runs
            .iter()
            .map(|run| {
                let (west, north) = grid.corner_to_map(run.row as usize, run.from as usize);
                let (east, south) = grid.corner_to_map(run.row as usize + 1, run.to as usize);
                [west, south, east, north]
            })
            .collect();
        let whole = boxes.iter().fold(
            [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY],
            |[w, s, e, n], [west, south, east, north]| {
                [w.min(*west), s.min(*south), e.max(*east), n.max(*north)]
            },
        );
        let [west, south, east, north] = whole;
        ZoneShape {
            boxes,
            middle: [f64::midpoint(west, east), f64::midpoint(south, north)],
            radius_m: (east - west).hypot(north - south) / 2.0,
        }
    }

    /// The distance to the nearest place, 0 where one lies in the zone.
    ///
    /// # Missing
    /// No place within `reach_m`.
    ///
    /// # Method
    /// Places come by their distance from the zone's middle; once that is longer than the
    /// best found and the zone's radius, no other can be nearer.
    pub fn nearest_m(&self, places: &Places, reach_m: f64) -> Option<f64> {
        let mut best = f64::INFINITY;
        for (place, squared) in places.nearest_neighbor_iter_with_distance_2(&self.middle) {
            if squared.sqrt() - self.radius_m > best.min(reach_m) {
                break;
            }
            best = best.min(self.distance_m(*place.geom()));
            if best == 0.0 {
                break;
            }
        }
        (best <= reach_m).then_some(best)
    }

    fn distance_m(&self, [x, y]: [f64; 2]) -> f64 {
        let outside = |value: f64, low: f64, high: f64| (low - value).max(value - high).max(0.0);
        let squared = self.boxes.iter().map(|&[west, south, east, north]| {
            outside(x, west, east).powi(2) + outside(y, south, north).powi(2)
        });
        squared.fold(f64::INFINITY, f64::min).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Crs, Extent};
    use proptest::prelude::*;

    fn grid() -> Grid {
        let extent = Extent {
            west: 0.0,
            south: 0.0,
            east: 80.0,
            north: 80.0,
        };
        let crs = Crs {
            name: "plane".to_owned(),
            code: None,
            wkt: "plane".to_owned(),
        };
        Grid::covering(&extent, 10.0, crs).unwrap()
    }

    proptest! {
        #[test]
        fn the_nearest_place_is_that_of_a_plain_loop(
            labels in proptest::collection::vec(0_u32..4, 64),
            places in proptest::collection::vec((-100.0..200.0, -100.0..200.0), 0..8),
        ) {
            let grid = grid();
            let mut rows = RunRows::new(8);
            for row in labels.chunks(8) {
                for (col, &label) in (1..).zip(row) {
                    rows.push_run(col, label);
                }
                rows.end_row();
            }
            let cells = ZoneCells::new(&rows, 3);
            let filed = places.iter().map(|&(x, y)| GeomWithData::new([x, y], ())).collect();
            let filed = Places::bulk_load(filed);
            for zone in 0..3 {
                let mut plain = f64::INFINITY;
                for row in 0..8 {
                    for col in 0..8 {
                        if labels[row * 8 + col] as usize != zone + 1 {
                            continue;
                        }
                        let (x, y) = grid.cell_to_map(CellIndex { row, col });
                        for &(to_x, to_y) in &places {
                            let gap = |one: f64, other: f64| ((one - other).abs() - 5.0).max(0.0);
                            plain = plain.min(gap(x, to_x).hypot(gap(y, to_y)));
                        }
                    }
                }
                let runs = cells.of_zone(zone);
                if runs.is_empty() {
                    continue;
                }
                let fast = ZoneShape::new(&grid, runs).nearest_m(&filed, 60.0);
                match fast {
                    Some(fast) => prop_assert!((fast - plain).abs() < 1e-6),
                    None => prop_assert!(plain > 60.0 - 1e-6),
                }
            }
        }
    }
}
