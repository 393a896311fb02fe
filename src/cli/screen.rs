//! What a run tells while it works, and how a failure is told. Progress goes to the
//! error stream: a bar with rate and time left on a terminal, plain lines elsewhere.
//! No colour anywhere.

use std::error::Error as _;
use std::io::{self, IsTerminal, Write};
use std::iter;
use std::process::ExitCode;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::Failure;
use crate::run::Progress;

/// How often a plain line is written where there is no terminal.
const LINE_EVERY: Duration = Duration::from_secs(5);

/// Tells how far a run is.
pub struct Screen {
    quiet: bool,
    terminal: bool,
    stage: Mutex<Option<Stage>>,
}

struct Stage {
    name: String,
    rows: u64,
    done: u64,
    started: Instant,
    told: Instant,
    bar: Option<ProgressBar>,
}

impl Screen {
    /// A screen that tells nothing when `quiet`.
    pub fn new(quiet: bool) -> Screen {
        Screen {
            quiet,
            terminal: io::stderr().is_terminal(),
            stage: Mutex::new(None),
        }
    }

    /// The stage that runs; a panic elsewhere does not hide it.
    fn stage(&self) -> MutexGuard<'_, Option<Stage>> {
        self.stage.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Tells one line, unless quiet.
    pub fn line(&self, text: &str) {
        if !self.quiet {
            // Progress that cannot be told must not stop a run.
            let _ = writeln!(io::stderr(), "{text}");
        }
    }
}

impl Progress for Screen {
    fn begin(&self, stage: &str, rows: u64) {
        if self.quiet {
            return;
        }
        let bar = self.terminal.then(|| {
            let bar = ProgressBar::with_draw_target(Some(rows), ProgressDrawTarget::stderr());
            let shape = "{msg:10} [{bar:30}] {percent:>3} %  {per_sec} rows, {eta} left";
            bar.set_style(
                ProgressStyle::with_template(shape).unwrap_or_else(|_| ProgressStyle::default_bar()),
            );
            bar.set_message(stage.to_owned());
            bar
        });
        let now = Instant::now();
        *self.stage() = Some(Stage {
            name: stage.to_owned(),
            rows,
            done: 0,
            started: now,
            told: now,
            bar,
        });
    }

    #[expect(clippy::cast_precision_loss, reason = "rates for people")]
    fn advance(&self, rows: u64) {
        let mut stage = self.stage();
        let Some(stage) = stage.as_mut() else { return };
        stage.done += rows;
        if let Some(bar) = &stage.bar {
            bar.inc(rows);
        } else if stage.told.elapsed() >= LINE_EVERY {
            stage.told = Instant::now();
            let seconds = stage.started.elapsed().as_secs_f64();
            let rate = stage.done as f64 / seconds;
            let left = (stage.rows - stage.done.min(stage.rows)) as f64 / rate;
            let line = format!(
                "{}: {} of {} rows, {rate:.0} rows/s, {left:.0} s left",
                stage.name, stage.done, stage.rows
            );
            let _ = writeln!(io::stderr(), "{line}");
        }
    }

    fn end(&self) {
        if let Some(bar) = self.stage().take().and_then(|stage| stage.bar) {
            bar.finish_and_clear();
        }
    }
}

/// Tells a failure once: what, why, and the next step to try.
pub fn tell_failure(failure: &Failure) -> ExitCode {
    let mut lines = vec![format!("error: {failure}")];
    let causes = iter::successors(failure.source(), |&cause| cause.source());
    lines.extend(causes.map(|cause| format!("caused by: {cause}")));
    lines.extend(failure.advice().map(|advice| format!("try: {advice}")));
    let _ = writeln!(io::stderr(), "{}", lines.join("\n"));
    ExitCode::from(failure.exit_code())
}
