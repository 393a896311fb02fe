//! Where a projection bends so little that no edge on that ground needs a trial of
//! its own. Edges and a function that projects come in; yes or no goes out.

use std::collections::{BTreeSet, HashMap};

use super::densify::{GREATEST_DEGREE_M, Project};

/// The side of a block of ground, in tolerances.
const BLOCK_TOLERANCES: f64 = 640.0;

/// The part of a block's side that an edge may be long.
const EDGE_SHARE: f64 = 0.25;

/// Steps between the points that try a block, along each side.
const STEPS: u32 = 3;

/// The share of the tolerance by which a block may bend.
const GREATEST_SHARE: f64 = 0.5;

type Block = (i64, i64);

/// Which blocks of ground hardly bend.
///
/// # Method
/// Blocks are squares of the map, each tried with half a block around it by a net of
/// points, twice the block's side apart at most. If the projection is a plain affine one
/// there to within half the tolerance, no chord is off by more than the tolerance; and
/// those of edges an eighth as long as the net are off by a sixty-fourth of it, where the
/// projection bends evenly.
pub(super) struct Bends {
    tolerance_m: f64,
    side: f64,
    hardly: HashMap<Block, bool>,
}

impl Bends {
    /// No block is known yet.
    pub(super) fn new(tolerance_m: f64) -> Bends {
        Bends {
            tolerance_m,
            side: tolerance_m * BLOCK_TOLERANCES,
            hardly: HashMap::new(),
        }
    }

    /// Tries the blocks of some courses that have not been tried yet.
    pub(super) fn look_at<E>(&mut self, courses: &[Vec<(f64, f64)>], project: Project<'_, E>) {
        let edges = courses.iter().flat_map(|course| course.windows(2));
        let blocks: BTreeSet<Block> = edges
            .filter_map(|pair| self.block_of(pair[0], pair[1]))
            .filter(|block| !self.hardly.contains_key(block))
            .collect();
        let mut net: Vec<(f64, f64)> = blocks.iter().flat_map(|&block| self.net(block)).collect();
        // A block may reach beyond the ground the projection is made for; edges there
        // are tried one by one.
        let all_projected = project(&mut net).is_ok();
        let of_block = ((STEPS + 1) * (STEPS + 1)) as usize;
        for (block, points) in blocks.into_iter().zip(net.chunks_exact(of_block)) {
            let hardly = all_projected && self.is_affine(points);
            self.hardly.insert(block, hardly);
        }
    }

    /// Whether an edge lies where the projection hardly bends.
    pub(super) fn are_small(&self, from: (f64, f64), to: (f64, f64)) -> bool {
        let block = self.block_of(from, to);
        block.is_some_and(|block| self.hardly.get(&block).copied().unwrap_or(false))
    }

    /// The block of an edge's middle; nothing for an edge that may reach out of it.
    #[expect(
        clippy::cast_possible_truncation,
        reason = "a block far out is cut to the farthest"
    )]
    fn block_of(&self, from: (f64, f64), to: (f64, f64)) -> Option<Block> {
        let longest = self.side * EDGE_SHARE;
        let is_short = (from.0 - to.0).abs() <= longest && (from.1 - to.1).abs() <= longest;
        let block = |one: f64, other: f64| (f64::midpoint(one, other) / self.side).floor() as i64;
        is_short.then(|| (block(from.0, to.0), block(from.1, to.1)))
    }

    /// Points of a block and half a block around it, row by row.
    #[expect(clippy::cast_precision_loss, reason = "a block far out is beyond all ground")]
    fn net(&self, (col, row): Block) -> impl Iterator<Item = (f64, f64)> {
        let (west, south) = (col as f64 - 0.5, row as f64 - 0.5);
        let along = |step: u32| 2.0 * f64::from(step) / f64::from(STEPS);
        let side = self.side;
        (0..=STEPS).flat_map(move |up| {
            (0..=STEPS).map(move |right| ((west + along(right)) * side, (south + along(up)) * side))
        })
    }

    /// Whether a net in longitude and latitude is that of an affine projection.
    fn is_affine(&self, net: &[(f64, f64)]) -> bool {
        let row = STEPS as usize + 1;
        let (corner, right, up) = (net[0], net[row - 1], net[net.len() - row]);
        let shares = |step: usize| f64::from(u32::try_from(step).unwrap_or(0)) / f64::from(STEPS);
        net.iter().enumerate().all(|(at, &(lon, lat))| {
            let (along, across) = (shares(at % row), shares(at / row));
            let plain = |of: fn((f64, f64)) -> f64| {
                of(corner) + along * (of(right) - of(corner)) + across * (of(up) - of(corner))
            };
            let off = (lon - plain(|point| point.0)).hypot(lat - plain(|point| point.1));
            off * GREATEST_DEGREE_M <= self.tolerance_m * GREATEST_SHARE
        })
    }
}

#[cfg(test)]
mod tests {
    use std::convert::Infallible;

    use super::*;

    type Projected = Result<(), Infallible>;

    /// Degrees of a plane, with a term that bends it.
    fn bent(bend: f64) -> impl Fn(&mut [(f64, f64)]) -> Projected {
        move |points| {
            for (x, y) in points {
                (*x, *y) = (*x / 111_320.0 + bend * *x * *y, *y / 111_320.0);
            }
            Ok(())
        }
    }

    #[test]
    fn short_edges_pass_where_the_ground_hardly_bends() {
        let course = vec![vec![(10.0, 10.0), (30.0, 20.0), (2000.0, 20.0)]];
        let mut flat = Bends::new(0.5);
        flat.look_at(&course, &bent(1e-12));
        assert!(flat.are_small(course[0][0], course[0][1]));
        // It may leave the block.
        assert!(!flat.are_small(course[0][1], course[0][2]));
        // Nobody looked there.
        assert!(!flat.are_small((9000.0, 0.0), (9010.0, 0.0)));
        let mut crooked = Bends::new(0.5);
        crooked.look_at(&course, &bent(1e-9));
        assert!(!crooked.are_small(course[0][0], course[0][1]));
    }

    #[test]
    fn where_no_net_can_be_projected_every_edge_is_tried() {
        let mut bends = Bends::new(0.5);
        let course = vec![vec![(10.0, 10.0), (30.0, 20.0)]];
        bends.look_at(&course, &|_: &mut [(f64, f64)]| Err(std::fmt::Error));
        assert!(!bends.are_small(course[0][0], course[0][1]));
    }
}
