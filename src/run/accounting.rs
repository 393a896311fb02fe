//! Where the time of a run goes.

use std::time::Instant;

/// A clock with laps.
pub struct Clock {
    started: Instant,
    lap: Instant,
    laps: Vec<(String, f64)>,
}

impl Clock {
    /// A clock that starts now.
    pub fn start() -> Clock {
        let now = Instant::now();
        Clock {
            started: now,
            lap: now,
            laps: Vec::new(),
        }
    }

    /// Ends a lap and names it.
    pub fn lap(&mut self, name: &str) {
        let now = Instant::now();
        self.laps.push((name.to_owned(), (now - self.lap).as_secs_f64()));
        self.lap = now;
    }

    /// The laps so far, with their seconds.
    pub fn laps(&self) -> &[(String, f64)] {
        &self.laps
    }

    /// Seconds since the start.
    pub fn seconds(&self) -> f64 {
        self.started.elapsed().as_secs_f64()
    }
}
