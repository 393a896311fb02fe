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

use std::io::{self, Write};

use super::absorb::PhaseOne;
use super::error::ZonesError;
use super::fidelity::Fidelity;
use super::merge_rules::MergeRules;
use super::merging::MergeSequence;
use super::runs::{RunRows, narrow};
use super::tally::Tallies;
use crate::grid::CellIndex;

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
    /// Sums over the cells as voted, zones x species; see [`PhaseOne::sums`].
    pub sums: Vec<u32>,
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
        phase_one: &PhaseOne,
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
            cells: phase_one.cells.clone(),
            first_cells: phase_one.first_cells.clone(),
            sums: phase_one.sums.clone(),
            tallies,
            sequence,
            rows,
        })
    }

    /// Writes the log as text. Line breaks in a species' id become blanks.
    ///
    /// # Errors
    /// When `to` cannot be written.
    pub fn write(&self, to: &mut impl Write) -> io::Result<()> {
        writeln!(to, "{HEAD}")?;
        let limits = &self.rules.listing;
        let shares = [
            limits.list_share,
            limits.throughout,
            limits.in_parts,
            limits.known_share,
            self.rules.keep,
        ];
        write!(to, "limits")?;
        for share in shares {
            write!(to, " {}", share.millionths())?;
        }
        writeln!(to, "\nspecies {}", self.species_ids.len())?;
        for id in &self.species_ids {
            writeln!(to, "{}", id.replace(['\n', '\r'], " "))?;
        }
        writeln!(to, "zones {}", self.cells.len())?;
        for at in 0..self.cells.len() {
            self.write_zone(to, at)?;
        }
        write!(to, "outside |")?;
        write_counts(to, self.tallies.known(0).iter().map(|&count| (count, None)))?;
        write!(to, " |")?;
        write_counts(to, self.tallies.suits(0).iter().map(|&count| (count, None)))?;
        writeln!(to, "\nmerges {}", self.sequence.merges.len())?;
        for merge in &self.sequence.merges {
            let Fidelity {
                listed_and_suits,
                listed_and_known,
                ..
            } = merge.fidelity;
            let (into, from, cost) = (merge.into, merge.from, merge.cost);
            writeln!(to, "{into} {from} {cost} {listed_and_suits} {listed_and_known}")?;
        }
        self.write_rows(to)?;
        writeln!(to, "end")
    }

    fn write_zone(&self, to: &mut impl Write, at: usize) -> io::Result<()> {
        let zone = narrow(at + 1);
        let cells = u32::try_from(self.cells[at]).unwrap_or(u32::MAX);
        let (known, suits) = (self.tallies.known(zone), self.tallies.suits(zone));
        let species = self.species_ids.len();
        let sums = &self.sums[at * species..(at + 1) * species];
        write!(
            to,
            "{} {} {cells} |",
            self.first_cells[at].row, self.first_cells[at].col
        )?;
        write_counts(to, known.iter().map(|&count| (count, Some(cells))))?;
        write!(to, " |")?;
        write_counts(
            to,
            suits
                .iter()
                .zip(known)
                .map(|(&count, &known)| (count, Some(known))),
        )?;
        write!(to, " |")?;
        let usual = suits
            .iter()
            .zip(known)
            .map(|(&suits, &known)| usual_sum(cells, known, suits));
        write_counts(to, sums.iter().copied().zip(usual))?;
        writeln!(to)
    }

    fn write_rows(&self, to: &mut impl Write) -> io::Result<()> {
        let Some(rows) = &self.rows else {
            return writeln!(to, "rows 0 0");
        };
        writeln!(to, "rows {} {}", rows.rows(), rows.cols())?;
        for row in 0..rows.rows() {
            let runs = rows.row(row);
            if row > 0 && runs == rows.row(row - 1) {
                writeln!(to, "=")?;
                continue;
            }
            let mut start = 0;
            for (at, (end, zone)) in runs.iter().enumerate() {
                let blank = if at == 0 { "" } else { " " };
                write!(to, "{blank}{}x{zone}", end - start)?;
                start = *end;
            }
            writeln!(to)?;
        }
        Ok(())
    }
}

/// The sum that a zone has when the vote and later factors changed nothing.
pub(super) fn usual_sum(cells: u32, known: u32, suits: u32) -> Option<u32> {
    cells.checked_sub(known)?.checked_add(suits.checked_mul(2)?)
}

/// Writes counts, each `=` when it is the usual one.
fn write_counts(to: &mut impl Write, counts: impl Iterator<Item = (u32, Option<u32>)>) -> io::Result<()> {
    for (count, usual) in counts {
        if usual == Some(count) {
            write!(to, " =")?;
        } else {
            write!(to, " {count}")?;
        }
    }
    Ok(())
}

#[cfg(test)]
#[path = "merge_log_tests.rs"]
mod tests;
