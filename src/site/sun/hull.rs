//! The highest point ahead along one line of points, within a reach. In come heights along
//! the line; out go the slopes of the steepest views. Knows no grid.

use super::horizon::SEEN_RADIUS_M;

/// A point of a line: metres along it, and height less the Earth's curve, both from the start
/// of a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Point {
    x: f64,
    w: f64,
}

/// Whether the middle of three points, from left to right, lies on or below the line of the
/// others.
fn is_below(left: Point, middle: Point, right: Point) -> bool {
    (middle.w - left.w) * (right.x - left.x) <= (right.w - left.w) * (middle.x - left.x)
}

/// Views along one line after another. A view from point i takes in the points from
/// `near + 1` to `steps` ahead.
///
/// # Method
/// The line is cut into pieces as long as the view, at places fixed to the grid; a view then
/// takes in the end of one piece and the beginning of the next. Going backward along the
/// line, the upper hull of the end of a piece grows by one point, as in Andrew 1979, Another
/// efficient algorithm for convex hulls in two dimensions, Information Processing Letters
/// 9:216-219. That of the beginning of the next
/// piece is built forward once, and taken back point by point. Each point is put on and
/// taken off once, and a view is a search by halving among the few points of a hull: the
/// work hardly grows with the reach.
#[derive(Debug)]
pub struct Sweep {
    step_m: f64,
    near: i64,
    /// Points of a view, and of a piece.
    width: i64,
    first: i64,
    /// Heights of the ground at the points that look.
    pub ground: Vec<f64>,
    /// Heights of what is seen, from the same first point on, `steps` more.
    pub tops: Vec<f64>,
    /// The slope to the highest point of each view.
    pub slopes: Vec<f64>,
    /// Whether heights within a view are unknown.
    pub unknown: Vec<bool>,
    /// Leftmost point last.
    end: Vec<Point>,
    /// Leftmost point first; points past the length may be called back.
    beginning: Vec<Point>,
    length: usize,
    /// For each point of the beginning what putting it on did.
    history: Vec<Change>,
}

/// A point put on the beginning: the length before, and the point that was overwritten.
#[derive(Debug, Clone, Copy)]
struct Change {
    length: usize,
    overwritten: Option<(usize, Point)>,
}

impl Sweep {
    /// For views past `near` points, up to and with `steps`.
    #[expect(clippy::cast_possible_wrap, reason = "cells of a window")]
    pub fn new(step_m: f64, near: usize, steps: usize) -> Sweep {
        Sweep {
            step_m,
            near: near as i64,
            width: steps as i64 - near as i64,
            first: 0,
            ground: Vec::new(),
            tops: Vec::new(),
            slopes: Vec::new(),
            unknown: Vec::new(),
            end: Vec::new(),
            beginning: Vec::new(),
            length: 0,
            history: Vec::new(),
        }
    }

    /// Begins a line whose first point has this number on the grid.
    pub fn begin(&mut self, first: i64) {
        self.first = first;
        for list in [&mut self.ground, &mut self.tops, &mut self.slopes] {
            list.clear();
        }
        self.unknown.clear();
    }

    /// Finds the views of the line that was put in.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_possible_wrap,
        reason = "indices of a line, which were taken from its length"
    )]
    pub fn run(&mut self) {
        let points = self.ground.len();
        self.slopes.resize(points, f64::NEG_INFINITY);
        self.unknown.resize(points, false);
        self.find_unknown();
        let first_view = self.first + self.near + 1;
        let last_view = first_view + points as i64 - 1;
        for piece in first_view.div_euclid(self.width)..=last_view.div_euclid(self.width) {
            let start = piece * self.width;
            let next = start + self.width;
            let (from, to) = (first_view.max(start), last_view.min(next - 1));
            self.build_beginning(next, to + self.width - 1);
            self.end.clear();
            for view in (from..next).rev() {
                self.put_before(self.point(view, start));
                if view > to {
                    continue;
                }
                let index = (view - first_view) as usize;
                let last = view + self.width - 1;
                self.take_back((last - next + 1) as usize);
                let looks = view - self.near - 1;
                let ground = self.ground[index];
                let end = self.end.as_slice();
                let by_end = steepest(self.eye(looks, start, ground), end.len(), |at| {
                    end[end.len() - 1 - at]
                });
                let beginning = &self.beginning[..self.length];
                let by_beginning =
                    steepest(self.eye(looks, next, ground), beginning.len(), |at| beginning[at]);
                self.slopes[index] = by_end.max(by_beginning);
            }
        }
    }

    /// Marks views that take in unknown heights.
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "small counts"
    )]
    fn find_unknown(&mut self) {
        let (near, width) = (self.near as usize, self.width as usize);
        let mut nearest = usize::MAX;
        for at in (0..self.tops.len()).rev() {
            if self.tops[at].is_nan() {
                nearest = at;
            }
            if let Some(view) = at.checked_sub(near + 1)
                && view < self.unknown.len()
            {
                self.unknown[view] = nearest < at + width;
            }
        }
    }

    #[expect(clippy::cast_precision_loss, reason = "cells of a window")]
    fn at(&self, number: i64, origin: i64, height: f64) -> Point {
        let x = (number - origin) as f64 * self.step_m;
        Point {
            x,
            w: height - x * x / (2.0 * SEEN_RADIUS_M),
        }
    }

    fn eye(&self, number: i64, origin: i64, ground: f64) -> Point {
        self.at(number, origin, ground)
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "an index of the line"
    )]
    fn point(&self, number: i64, origin: i64) -> Point {
        let index = (number - self.first) as usize;
        self.at(number, origin, self.tops[index])
    }

    /// Puts a point on the hull of an end, left of all others.
    fn put_before(&mut self, point: Point) {
        if point.w.is_nan() {
            return;
        }
        while let [.., second, first] = self.end[..]
            && is_below(point, first, second)
        {
            self.end.pop();
        }
        self.end.push(point);
    }

    /// Builds the hull of a beginning, up to and with a point.
    fn build_beginning(&mut self, start: i64, last: i64) {
        self.beginning.clear();
        self.history.clear();
        self.length = 0;
        for number in start..=last {
            let point = self.point(number, start);
            let mut change = Change {
                length: self.length,
                overwritten: None,
            };
            if !point.w.is_nan() {
                let mut length = self.length;
                while length >= 2 && is_below(self.beginning[length - 2], self.beginning[length - 1], point) {
                    length -= 1;
                }
                if let Some(old) = self.beginning.get_mut(length) {
                    change.overwritten = Some((length, *old));
                    *old = point;
                } else {
                    self.beginning.push(point);
                }
                self.length = length + 1;
            }
            self.history.push(change);
        }
    }

    /// Takes points back until so many are left.
    fn take_back(&mut self, left: usize) {
        while self.history.len() > left {
            let Some(change) = self.history.pop() else { return };
            self.length = change.length;
            if let Some((at, point)) = change.overwritten {
                self.beginning[at] = point;
            }
        }
    }
}

/// The slope from an eye, left of all points, to the steepest point of a hull that runs from
/// left to right; along a hull slopes rise and then fall.
fn steepest(eye: Point, length: usize, point: impl Fn(usize) -> Point) -> f64 {
    let slope = |at: usize| {
        let point = point(at);
        (point.w - eye.w) / (point.x - eye.x)
    };
    if length == 0 {
        return f64::NEG_INFINITY;
    }
    let (mut low, mut high) = (0, length - 1);
    while low < high {
        let middle = low + (high - low) / 2;
        if slope(middle) < slope(middle + 1) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    // The parabola of the Earth's curve was laid through the piece's start.
    slope(low) + eye.x / SEEN_RADIUS_M
}
