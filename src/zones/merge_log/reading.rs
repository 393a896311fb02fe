//! Reads a merge log back. Text comes in, a checked [`MergeLog`] or the line that
//! is wrong goes out; trusts nothing the text says about its own size.

use std::str::{FromStr, Split};

use super::{HEAD, MergeLog, usual_sum};
use crate::grid::CellIndex;
use crate::zones::cell_sets::CellLayout;
use crate::zones::error::ZonesError;
use crate::zones::fidelity::Fidelity;
use crate::zones::listing::ListingRules;
use crate::zones::merge_rules::MergeRules;
use crate::zones::merging::{Merge, MergeSequence};
use crate::zones::runs::{RunRows, narrow};
use crate::zones::share::Share;
use crate::zones::species_codes::CodePacker;
use crate::zones::tally::{PackedTally, Tallies};
use crate::zones::voted_sums::VotedSums;

impl MergeLog {
    /// Reads a log that [`MergeLog::write`] wrote.
    ///
    /// # Errors
    /// When a line is not what it should be, with its number, what was found and
    /// what was needed; also when counts contradict one another.
    pub fn parse(text: &str) -> Result<MergeLog, ZonesError> {
        Reader {
            lines: text.lines(),
            line: 0,
        }
        .log()
    }
}

struct Reader<'a> {
    lines: std::str::Lines<'a>,
    line: usize,
}

/// The counts of zones as they stand in the text.
#[derive(Default)]
struct Counts {
    all_cells: u64,
    cells: Vec<u64>,
    first_cells: Vec<CellIndex>,
    tallies: Vec<PackedTally>,
    sums: VotedSums,
    packer: CodePacker,
}

impl<'a> Reader<'a> {
    fn log(&mut self) -> Result<MergeLog, ZonesError> {
        let head = self.next(HEAD)?;
        if head != HEAD {
            return Err(self.wrong(head, HEAD));
        }
        let rules = self.rules()?;
        let mut species_ids = Vec::new();
        for _ in 0..self.counted("species")? {
            species_ids.push(self.next("the id of a species")?.to_owned());
        }
        let species = species_ids.len();
        let mut counts = Counts {
            sums: VotedSums::new(species),
            ..Counts::default()
        };
        for _ in 0..self.counted("zones")? {
            self.zone(species, &mut counts)?;
        }
        let (known, suits) = self.outside(species)?;
        // As many counts have been read, so the size is not the text's mere word.
        let mut tallies = Tallies::new(CellLayout::new(species), counts.cells.len());
        tallies.add(0, &PackedTally::pack(&known, &suits));
        for (zone, tally) in (1..).zip(&counts.tallies) {
            tallies.add(zone, tally);
        }
        let sequence = self.merges(&counts.cells, &tallies, &rules.listing)?;
        let rows = self.rows(&counts.cells)?;
        let end = self.next("end")?;
        if end != "end" {
            return Err(self.wrong(end, "end"));
        }
        let Counts {
            cells,
            first_cells,
            sums,
            ..
        } = counts;
        Ok(MergeLog {
            species_ids,
            rules,
            cells,
            first_cells,
            sums,
            tallies,
            sequence,
            rows,
        })
    }

    fn next(&mut self, needed: &str) -> Result<&'a str, ZonesError> {
        self.line += 1;
        self.lines
            .next()
            .ok_or_else(|| self.wrong("the end of the text", needed))
    }

    fn wrong(&self, found: &str, needed: &str) -> ZonesError {
        const LONGEST: usize = 60;
        let mut shown: String = found.chars().take(LONGEST).collect();
        if shown.len() < found.len() {
            shown.push_str("...");
        }
        ZonesError::MergeLog {
            line: self.line,
            found: format!("\"{shown}\""),
            needed: needed.to_owned(),
        }
    }

    fn number<T: FromStr>(&self, word: Option<&str>, needed: &str) -> Result<T, ZonesError> {
        let word = word.unwrap_or("nothing");
        word.parse().map_err(|_| self.wrong(word, needed))
    }

    /// A line of a word and a number.
    fn counted(&mut self, word: &str) -> Result<u32, ZonesError> {
        let needed = format!("{word} and their number");
        let line = self.next(&needed)?;
        match line.strip_prefix(word).and_then(|rest| rest.strip_prefix(' ')) {
            Some(number) => self.number(Some(number), &needed),
            None => Err(self.wrong(line, &needed)),
        }
    }

    fn rules(&mut self) -> Result<MergeRules, ZonesError> {
        let needed = "limits and five shares in millionths";
        let line = self.next(needed)?;
        let mut words = line.split(' ');
        if words.next() != Some("limits") {
            return Err(self.wrong(line, needed));
        }
        let mut shares = [Share::NONE; 5];
        for share in &mut shares {
            let millionths = self.number(words.next(), needed)?;
            *share = Share::from_millionths(millionths).ok_or_else(|| self.wrong(line, needed))?;
        }
        self.no_more(words, needed)?;
        let [list_share, throughout, in_parts, known_share, keep] = shares;
        Ok(MergeRules {
            listing: ListingRules {
                list_share,
                throughout,
                in_parts,
                known_share,
            },
            keep,
        })
    }

    fn no_more(&self, mut words: Split<'_, char>, needed: &str) -> Result<(), ZonesError> {
        words.next().map_or(Ok(()), |word| {
            Err(self.wrong(word, &format!("nothing after {needed}")))
        })
    }

    fn bar(&self, words: &mut Split<'_, char>) -> Result<(), ZonesError> {
        match words.next() {
            Some("|") => Ok(()),
            other => Err(self.wrong(other.unwrap_or("nothing"), "|")),
        }
    }

    /// A count of at most `most`; `=` is the usual one.
    fn count(&self, word: Option<&str>, usual: Option<u32>, most: u32, of: &str) -> Result<u32, ZonesError> {
        let needed = format!("a number of {of} up to {most}");
        let found = match (word, usual) {
            (Some("="), Some(usual)) => usual,
            _ => self.number(word, &needed)?,
        };
        if found > most {
            return Err(self.wrong(&found.to_string(), &needed));
        }
        Ok(found)
    }

    fn zone(&mut self, species: usize, counts: &mut Counts) -> Result<(), ZonesError> {
        let line = self.next("a zone")?;
        let mut words = line.split(' ');
        let row = self.number(words.next(), "a row")?;
        let col = self.number(words.next(), "a column")?;
        let first_cell = CellIndex { row, col };
        if counts
            .first_cells
            .last()
            .is_some_and(|&before| before >= first_cell)
        {
            return Err(self.wrong(&format!("{row} {col}"), "zones in the order of their first cells"));
        }
        let most_cells = u32::MAX / 2;
        let cells = self.count(words.next(), None, most_cells, "cells")?;
        if cells == 0 {
            return Err(self.wrong("0 cells", "a zone with cells"));
        }
        self.bar(&mut words)?;
        let (mut known, mut suits, mut sums) = (Vec::new(), Vec::new(), Vec::new());
        for _ in 0..species {
            known.push(self.count(words.next(), Some(cells), cells, "known cells")?);
        }
        self.bar(&mut words)?;
        for &known in &known {
            suits.push(self.count(words.next(), Some(known), known, "cells that suit")?);
        }
        self.bar(&mut words)?;
        for (&known, &suits) in known.iter().zip(&suits) {
            let usual = usual_sum(cells, known, suits);
            sums.push(self.count(words.next(), usual, 2 * cells, "halves of cells")?);
        }
        self.no_more(words, "a zone")?;
        counts.tallies.push(PackedTally::pack(&known, &suits));
        counts.sums.push(&mut counts.packer, cells, &sums);
        counts.all_cells += u64::from(cells);
        if counts.all_cells > u64::from(most_cells) {
            return Err(self.wrong(
                &format!("{} cells", counts.all_cells),
                &format!("{most_cells} cells at most"),
            ));
        }
        counts.cells.push(u64::from(cells));
        counts.first_cells.push(first_cell);
        Ok(())
    }

    fn outside(&mut self, species: usize) -> Result<(Vec<u32>, Vec<u32>), ZonesError> {
        let needed = "outside and the counts of cells in no zone";
        let line = self.next(needed)?;
        let mut words = line.split(' ');
        if words.next() != Some("outside") {
            return Err(self.wrong(line, needed));
        }
        let (mut known, mut suits) = (Vec::new(), Vec::new());
        self.bar(&mut words)?;
        for _ in 0..species {
            known.push(self.count(words.next(), None, u32::MAX / 2, "known cells")?);
        }
        self.bar(&mut words)?;
        for &known in &known {
            suits.push(self.count(words.next(), None, known, "cells that suit")?);
        }
        self.no_more(words, needed)?;
        Ok((known, suits))
    }

    /// The merges, each checked against the tallies.
    fn merges(
        &mut self,
        cells: &[u64],
        tallies: &Tallies,
        rules: &ListingRules,
    ) -> Result<MergeSequence, ZonesError> {
        let start = Fidelity::of(tallies, cells, rules);
        let zones = narrow(cells.len());
        let (mut cells, mut tallies) = (cells.to_vec(), tallies.clone());
        let mut is_gone = vec![false; cells.len() + 1];
        let mut fidelity = start;
        let mut merges = Vec::new();
        for _ in 0..self.counted("merges")? {
            let line = self.next("a merge")?;
            let mut words = line.split(' ');
            let into: u32 = self.number(words.next(), "the number of a zone")?;
            let from: u32 = self.number(words.next(), "the number of a zone")?;
            let stands = |zone: u32| zone > 0 && zone <= zones && !is_gone[zone as usize];
            if into >= from || !stands(into) || !stands(from) {
                let needed = "two zones that still stand, the lower number first";
                return Err(self.wrong(&format!("{into} {from}"), needed));
            }
            let cost: f64 = self.number(words.next(), "a cost")?;
            if !(cost.is_finite() && cost >= 0.0) {
                return Err(self.wrong(&cost.to_string(), "a cost from 0 up"));
            }
            is_gone[from as usize] = true;
            let of = |zone: u32, cells: &[u64], tallies: &Tallies| {
                Fidelity::of_zone(cells[zone as usize - 1], &tallies.counts(zone), rules)
            };
            fidelity.take(of(into, &cells, &tallies));
            fidelity.take(of(from, &cells, &tallies));
            cells[into as usize - 1] += cells[from as usize - 1];
            tallies.pour(into, from);
            fidelity.add(of(into, &cells, &tallies));
            for (needed, of) in [
                (fidelity.listed_and_suits, "listed and suits"),
                (fidelity.listed_and_known, "listed and known"),
            ] {
                let found: u64 = self.number(words.next(), of)?;
                if found != needed {
                    return Err(self.wrong(&found.to_string(), &format!("{needed} cells {of}")));
                }
            }
            self.no_more(words, "a merge")?;
            merges.push(Merge {
                into,
                from,
                cost,
                fidelity,
            });
        }
        Ok(MergeSequence { zones, start, merges })
    }

    fn rows(&mut self, cells: &[u64]) -> Result<Option<RunRows>, ZonesError> {
        let needed = "rows with their number and that of columns";
        let line = self.next(needed)?;
        let mut words = line.split(' ');
        if words.next() != Some("rows") {
            return Err(self.wrong(line, needed));
        }
        let count: u32 = self.number(words.next(), needed)?;
        let cols: u32 = self.number(words.next(), needed)?;
        self.no_more(words, needed)?;
        if (count, cols) == (0, 0) {
            return Ok(None);
        }
        let mut rows = RunRows::new(cols);
        let mut counted = vec![0; cells.len() + 1];
        for _ in 0..count {
            self.row(&mut rows, &mut counted)?;
        }
        for (zone, (found, needed)) in (1..).zip(counted[1..].iter().zip(cells)) {
            if found != needed {
                let found = format!("{found} cells of zone {zone}");
                return Err(self.wrong(&found, &format!("{needed} cells as its line says")));
            }
        }
        Ok(Some(rows))
    }

    fn row(&mut self, rows: &mut RunRows, counted: &mut [u64]) -> Result<(), ZonesError> {
        let line = self.next("a row of cells")?;
        let mut runs: Vec<(u32, u32)> = Vec::new();
        if line == "=" && rows.rows() > 0 {
            runs.extend_from_slice(rows.row(rows.rows() - 1));
        } else if !line.is_empty() {
            let mut end = 0_u32;
            for word in line.split(' ') {
                let needed = "<cells>x<zone>, up to the last column and the last zone";
                let (length, zone) = word.split_once('x').ok_or_else(|| self.wrong(word, needed))?;
                let length: u32 = self.number(Some(length), needed)?;
                let zone: u32 = self.number(Some(zone), needed)?;
                end = end.checked_add(length).ok_or_else(|| self.wrong(word, needed))?;
                if length == 0 || end > rows.cols() || zone as usize >= counted.len() {
                    return Err(self.wrong(word, needed));
                }
                runs.push((end, zone));
            }
        }
        let end = runs.last().map_or(0, |&(end, _)| end);
        if end != rows.cols() {
            return Err(self.wrong(
                &format!("{end} cells"),
                &format!("{} cells in a row", rows.cols()),
            ));
        }
        let mut start = 0;
        for (end, zone) in runs {
            counted[zone as usize] += u64::from(end - start);
            rows.push_run(end, zone);
            start = end;
        }
        rows.end_row();
        Ok(())
    }
}
