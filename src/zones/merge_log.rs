//! The merge log as text: the zones after phase 1 with their sums, and the merges
//! in order, so that another number of zones can be cut without a new run. Zones
//! and merges come in, lines go out; [`MergeLog::parse`] reads them back. Knows no
//! files.
//!
//! The text is plain, a record a line, words apart by one blank:
//!
//! ```text
//! groundfit-merges 1
//! limits <list> <throughout> <in parts> <known> <keep>     millionths
//! species <number>, then a line for each with its id
//! zones <number>, then a line for each:
//!   <row> <col> <cells> | <known ...> | <suits ...> | <sums ...>
//! outside | <known ...> | <suits ...>                      rated cells in no zone
//! merges <number>, then a line for each:
//!   <into> <from> <cost> <listed and suits> <listed and known>
//! rows <number> <columns>, then a line for each: <cells>x<zone> ..., or = for the
//!   same as the row before; 0 0 when the log has no rows
//! end
//! ```
//!
//! For each species, `=` among the known stands for all cells, among those that
//! suit for all known, among the sums for `2 suits + cells - known`.

mod reading;

use std::io::{self, Write};

use super::absorb::PhaseOne;
use super::error::ZonesError;
use super::fidelity::Fidelity;
use super::merge_rules::MergeRules;
use super::merging::MergeSequence;
use super::runs::{RunRows, narrow};
use super::tally::{SpeciesCells, Tallies};
use super::voted_sums::{VotedSums, read_sums};
use crate::grid::CellIndex;
use crate::in_order::write_in_order;

/// First line of a log; the number is the version of the format.
pub(super) const HEAD: &str = "groundfit-merges 1";

/// All that is needed to cut other zones from a finished run.
#[derive(Debug, Clone, PartialEq)]
pub struct MergeLog {
    /// The species in the order of their bits.
    pub species_ids: Vec<String>,
    /// The rules that guarded the merges.
    pub rules: MergeRules,
    /// Cells of zone `n` of phase 1 at `n - 1`.
    pub cells: Vec<u64>,
    /// First cells of the zones of phase 1.
    pub first_cells: Vec<CellIndex>,
    /// Sums over the cells as voted; see [`PhaseOne::sums`].
    pub sums: VotedSums,
    /// Tallies of the zones of phase 1.
    pub tallies: Tallies,
    /// The merges.
    pub sequence: MergeSequence,
    /// The zone of phase 1 of every cell, where outlines are to be drawn anew.
    pub rows: Option<RunRows>,
}

impl MergeLog {
    /// The log of a run.
    ///
    /// # Errors
    /// When the parts are of different sizes.
    pub fn new(
        species_ids: Vec<String>,
        rules: MergeRules,
        phase_one: PhaseOne,
        tallies: Tallies,
        sequence: MergeSequence,
        rows: Option<RunRows>,
    ) -> Result<MergeLog, ZonesError> {
        for (what, found, needed) in [
            ("names of species", species_ids.len(), phase_one.species),
            ("species in the tallies", tallies.species(), phase_one.species),
            ("zones in the tallies", tallies.zones(), phase_one.len()),
            ("zones in the merges", sequence.zones as usize, phase_one.len()),
        ] {
            if found != needed {
                return Err(ZonesError::SizesDiffer { what, found, needed });
            }
        }
        Ok(MergeLog {
            species_ids,
            rules,
            cells: phase_one.cells,
            first_cells: phase_one.first_cells,
            sums: phase_one.sums,
            tallies,
            sequence,
            rows,
        })
    }

    /// Writes the log as text. Line breaks in a species' id become blanks.
    ///
    /// # Errors
    /// When `to` cannot be written.
    pub fn write(&self, to: &mut (impl Write + Send)) -> io::Result<()> {
        let mut head = format!("{HEAD}\nlimits").into_bytes();
        let limits = &self.rules.listing;
        let shares = [
            limits.list_share,
            limits.throughout,
            limits.in_parts,
            limits.known_share,
            self.rules.keep,
        ];
        for share in shares {
            push_word(&mut head, share.millionths());
        }
        writeln!(head, "\nspecies {}", self.species_ids.len())?;
        for id in &self.species_ids {
            writeln!(head, "{}", id.replace(['\n', '\r'], " "))?;
        }
        writeln!(head, "zones {}", self.cells.len())?;
        to.write_all(&head)?;
        write_in_order(to, self.cells.len(), LINES_AT_ONCE, |zones, text| {
            let (mut counts, mut sums) = (SpeciesCells::default(), Vec::new());
            zones.for_each(|at| self.push_zone(text, at, &mut counts, &mut sums));
            Ok(())
        })?;
        let mut outside = b"outside |".to_vec();
        let SpeciesCells { known, suits } = self.tallies.counts(0);
        push_counts(&mut outside, known.into_iter().map(|count| (count, None)));
        outside.extend(b" |");
        push_counts(&mut outside, suits.into_iter().map(|count| (count, None)));
        writeln!(outside, "\nmerges {}", self.sequence.merges.len())?;
        to.write_all(&outside)?;
        let merges = &self.sequence.merges;
        write_in_order(to, merges.len(), LINES_AT_ONCE, |range, text| {
            for merge in &merges[range] {
                let Fidelity {
                    listed_and_suits,
                    listed_and_known,
                    ..
                } = merge.fidelity;
                let (into, from, cost) = (merge.into, merge.from, merge.cost);
                writeln!(text, "{into} {from} {cost} {listed_and_suits} {listed_and_known}")?;
            }
            Ok(())
        })?;
        self.write_rows(to)?;
        to.write_all(b"end\n")
    }

    fn push_zone(&self, text: &mut Vec<u8>, at: usize, counts: &mut SpeciesCells, sums: &mut Vec<u32>) {
        let cells = u32::try_from(self.cells[at]).unwrap_or(u32::MAX);
        self.tallies.read(narrow(at + 1), counts);
        let SpeciesCells { known, suits } = counts;
        read_sums(self.sums.codes(at), cells, self.species_ids.len(), sums);
        push_number(text, self.first_cells[at].row as u64);
        text.push(b' ');
        push_number(text, self.first_cells[at].col as u64);
        push_word(text, cells);
        text.extend(b" |");
        push_counts(text, known.iter().map(|&count| (count, Some(cells))));
        text.extend(b" |");
        let of_known = suits
            .iter()
            .zip(&*known)
            .map(|(&count, &known)| (count, Some(known)));
        push_counts(text, of_known);
        text.extend(b" |");
        let usual = suits
            .iter()
            .zip(&*known)
            .map(|(&suits, &known)| usual_sum(cells, known, suits));
        push_counts(text, sums.iter().copied().zip(usual));
        text.push(b'\n');
    }

    fn write_rows(&self, to: &mut (impl Write + Send)) -> io::Result<()> {
        let Some(rows) = &self.rows else {
            return to.write_all(b"rows 0 0\n");
        };
        to.write_all(format!("rows {} {}\n", rows.rows(), rows.cols()).as_bytes())?;
        write_in_order(to, rows.rows(), LINES_AT_ONCE, |range, text| {
            for row in range {
                let runs = rows.row(row);
                if row > 0 && runs == rows.row(row - 1) {
                    text.extend(b"=\n");
                    continue;
                }
                let mut start = 0;
                for (at, &(end, zone)) in runs.iter().enumerate() {
                    if at > 0 {
                        text.push(b' ');
                    }
                    push_number(text, u64::from(end - start));
                    text.push(b'x');
                    push_number(text, u64::from(zone));
                    start = end;
                }
                text.push(b'\n');
            }
            Ok(())
        })
    }
}

/// The sum that a zone has when the vote and later factors changed nothing.
pub(super) fn usual_sum(cells: u32, known: u32, suits: u32) -> Option<u32> {
    cells.checked_sub(known)?.checked_add(suits.checked_mul(2)?)
}

/// Lines that are made at a time on one thread.
const LINES_AT_ONCE: usize = 128;

/// Appends counts, each `=` when it is the usual one.
fn push_counts(text: &mut Vec<u8>, counts: impl Iterator<Item = (u32, Option<u32>)>) {
    for (count, usual) in counts {
        if usual == Some(count) {
            text.extend(b" =");
        } else {
            push_word(text, count);
        }
    }
}

/// Appends a blank and a number.
fn push_word(text: &mut Vec<u8>, number: u32) {
    text.push(b' ');
    push_number(text, u64::from(number));
}

fn push_number(text: &mut Vec<u8>, mut number: u64) {
    let mut digits = [0; 20];
    let mut start = digits.len();
    loop {
        start -= 1;
        digits[start] = b'0' + u8::try_from(number % 10).unwrap_or(0);
        number /= 10;
        if number == 0 {
            break;
        }
    }
    text.extend_from_slice(&digits[start..]);
}

#[cfg(test)]
mod tests;
