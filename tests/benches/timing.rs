//! Runs a piece of work some times and prints the median, with what it did in a
//! second. A plain loop: the work takes tens of milliseconds, where the median of a
//! few runs says enough, and no bench library has to be built with every test.

use std::hint::black_box;
use std::time::Instant;

/// How often work is run, and which.
pub struct Timing {
    runs: usize,
    wanted: Vec<String>,
}

impl Timing {
    /// What the command line asks for: words that names must hold. Without `--bench`,
    /// which `cargo bench` gives, everything runs once, to see that it works.
    pub fn from_command_line() -> Timing {
        let (options, wanted): (Vec<String>, Vec<String>) =
            std::env::args().skip(1).partition(|word| word.starts_with('-'));
        Timing {
            runs: if options.iter().any(|option| option == "--bench") {
                7
            } else {
                1
            },
            wanted,
        }
    }

    /// Whether everything is to run once only, and may be small.
    pub fn is_trial(&self) -> bool {
        self.runs == 1
    }

    /// Times `work`, which does `amount` of a unit. What `ready` gives it is not timed.
    pub fn time<A, B>(
        &self,
        name: &str,
        amount: f64,
        unit: &str,
        mut ready: impl FnMut() -> A,
        mut work: impl FnMut(A) -> B,
    ) {
        if !self.wanted.is_empty() && !self.wanted.iter().any(|word| name.contains(word.as_str())) {
            return;
        }
        let mut seconds: Vec<f64> = (0..self.runs)
            .map(|_| {
                let given = black_box(ready());
                let started = Instant::now();
                let made = black_box(work(given));
                let taken = started.elapsed().as_secs_f64();
                drop(made);
                taken
            })
            .collect();
        seconds.sort_by(f64::total_cmp);
        let median = seconds[seconds.len() / 2];
        let spread = seconds[seconds.len() - 1] - seconds[0];
        println!(
            "{name:<34} {:>10.2} ms  +- {:>6.2}  {:>14} {unit} a second",
            median * 1e3,
            spread * 500.0,
            grouped(amount / median)
        );
    }
}

/// A number with three digits that count and a word for its size.
fn grouped(number: f64) -> String {
    let sizes = [(1e9, "thousand million"), (1e6, "million"), (1e3, "thousand")];
    let found = sizes.into_iter().find(|(size, _)| number >= *size);
    let (size, word) = found.unwrap_or((1.0, ""));
    format!("{:.2} {word}", number / size)
}
