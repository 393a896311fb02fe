//! A straight piece of salted road, and what it lays down at a point. It knows no
//! other pieces and no cells.

use super::decay::Decay;
use super::share_table::ShareTable;

/// A straight piece of road with what leaves it.
///
/// Places are metres east and south of the grid's corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Source {
    /// Where it begins.
    pub from: [f64; 2],
    /// Its direction, of length 1.
    pub along: [f64; 2],
    /// Its length.
    pub length_m: f64,
    /// Half the width of the pavement.
    pub half_width_m: f64,
    /// Grams that a metre throws to the side where [`Seen::across`] is positive, and
    /// to the other.
    pub spray_g_m: [f64; 2],
    /// Grams that seep in on either side of a metre.
    pub runoff_g_m: f64,
    /// Litres that run off to either side of a metre in a year.
    pub runoff_l_m: f64,
}

/// A point as seen from a piece of road, in metres.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    /// Distance from the line through the piece, with its side as sign.
    pub across: f64,
    /// The begin and the end of the piece, from the foot of the perpendicular.
    pub back: f64,
    /// See above.
    pub ahead: f64,
    /// Distance across from the pavement's edge, 0 on the pavement.
    pub off: f64,
}

/// One exponential of the decay with distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Term {
    /// Decay constant, per metre.
    pub per_m: f64,
    /// Its share of the mass.
    pub share: f64,
    /// It counts up to this distance from the pavement's edge.
    pub reach_m: f64,
}

impl Source {
    /// The piece between two places, that sheds nothing yet; nothing without a length.
    pub fn between(from: [f64; 2], to: [f64; 2], half_width_m: f64) -> Option<Source> {
        let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
        let length_m = dx.hypot(dy);
        (length_m.is_finite() && length_m > 0.0).then(|| Source {
            from,
            along: [dx / length_m, dy / length_m],
            length_m,
            half_width_m,
            spray_g_m: [0.0; 2],
            runoff_g_m: 0.0,
            runoff_l_m: 0.0,
        })
    }

    pub fn seen_from(&self, x: f64, y: f64) -> Seen {
        let (dx, dy) = (x - self.from[0], y - self.from[1]);
        let foot = dx * self.along[0] + dy * self.along[1];
        let across = dy * self.along[0] - dx * self.along[1];
        Seen {
            across,
            back: -foot,
            ahead: self.length_m - foot,
            off: (across.abs() - self.half_width_m).max(0.0),
        }
    }

    /// Grams thrown by a metre to the side of a point; on the pavement something
    /// between the two sides.
    pub fn side_g_m(&self, seen: &Seen) -> f64 {
        let [left, right] = self.spray_g_m;
        let lean = (seen.across / self.half_width_m).clamp(-1.0, 1.0);
        f64::midpoint(left, right) + 0.5 * lean * (left - right)
    }
}

impl Seen {
    /// Squared distance from the nearest point of the piece.
    pub fn distance2(&self) -> f64 {
        // Before its begin, beyond its end, or beside it.
        let beyond = self.back.max(-self.ahead).max(0.0);
        self.across * self.across + beyond * beyond
    }

    /// Distance from the nearest point of the piece.
    pub fn distance_m(&self) -> f64 {
        self.distance2().sqrt()
    }

    /// Where the nearest point of the piece lies, from its begin.
    pub fn nearest_along_m(&self, length_m: f64) -> f64 {
        (-self.back).clamp(0.0, length_m)
    }
}

impl Term {
    /// The near and the far term of a decay, up to a reach.
    pub fn of_decay(decay: &Decay, reach_m: f64) -> [Term; 2] {
        let term = |share, per_m: f64| Term {
            per_m,
            share,
            // Beyond exp(-18) of it nothing is left that shows.
            reach_m: reach_m.min(18.0 / per_m),
        };
        [
            term(decay.near_share, decay.near_per_m),
            term(1.0 - decay.near_share, decay.far_per_m),
        ]
    }

    /// Grams on a square metre for each gram that a metre of road throws to a side.
    ///
    /// Only what lies within the reach of the point counts: so a piece may be cut
    /// anywhere without any change.
    pub fn at(&self, table: &ShareTable, seen: &Seen) -> f64 {
        let within2 = self.reach_m * self.reach_m - seen.off * seen.off;
        if within2 <= 0.0 {
            return 0.0;
        }
        let within = within2.sqrt();
        let (from, to) = (seen.back.max(-within), seen.ahead.min(within));
        if from >= to {
            return 0.0;
        }
        let scaled = self.per_m * seen.off;
        let stretch =
            table.half_road_share(scaled, self.per_m * to) - table.half_road_share(scaled, self.per_m * from);
        self.share * self.per_m * (-scaled).exp() * 0.5 * stretch
    }

    /// The mean of the term over a square is this many times its value in the middle,
    /// as long as no road lies in the square.
    ///
    /// # Method
    /// Away from its source the field f obeys the Helmholtz equation (its Laplacian is
    /// k^2 f). For a wave along a side the factor is sinh(h)/h, h half the side times k;
    /// along a diagonal the square of that of h over the root of 2. They differ by less
    /// than 0.3 % up to h = 1; the mean of both is taken.
    pub fn square_factor(&self, side_m: f64) -> f64 {
        let bulge = |h: f64| if h < 1e-6 { 1.0 } else { h.sinh() / h };
        let half = 0.5 * self.per_m * side_m;
        let diagonal = bulge(half * std::f64::consts::FRAC_1_SQRT_2);
        f64::midpoint(bulge(half), diagonal * diagonal)
    }

    /// Into how many parts a side is cut so that the factor above is true.
    pub fn parts_of_side(&self, side_m: f64) -> u32 {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a small count"
        )]
        let parts = (0.5 * self.per_m * side_m).ceil().clamp(1.0, 64.0) as u32;
        parts
    }
}
