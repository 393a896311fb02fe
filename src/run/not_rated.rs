//! Area inside the boundary that is not rated, by cause.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::prepared::Prepared;
use super::rows::Block;
use crate::site::{EXCLUDED, OUTSIDE, TO_RATE};
use crate::zones::CellLayout;

/// Cells and area of one cause.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct CellsAndArea {
    /// Number of cells.
    pub cells: u64,
    /// Geodesic area in square millimetres, as cells add up.
    pub area_mm2: u128,
}

/// Areas by cause, and the area that is rated.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct NotRated {
    /// What is rated.
    pub rated: CellsAndArea,
    /// What is not, by cause.
    pub causes: BTreeMap<String, CellsAndArea>,
}

impl NotRated {
    /// Counts the rows of a block; `cells` are its words as rated.
    pub fn count(&mut self, prepared: &Prepared, block: &Block, cells: &[u64]) {
        let layout = CellLayout::new(prepared.catalogue.species.len());
        let width = layout.cell_words();
        let cols = block.band.window.cols;
        let excludes: Vec<&str> = prepared.site.exclude_names().collect();
        for row in 0..block.rows {
            let areas = prepared.site.cell_areas().row(block.row + row);
            let values = block.values(row);
            let words = &cells[row * cols * width..(row + 1) * cols * width];
            let cause = |col: usize| match block.status(row)[col] {
                OUTSIDE => Cause::Outside,
                TO_RATE if layout.is_rated(&words[col * width..(col + 1) * width]) => Cause::Rated,
                TO_RATE => Cause::Lacks(values.iter().position(|row| row[col].is_nan())),
                excluded => Cause::Excluded(usize::from(excluded - EXCLUDED)),
            };
            let mut from = 0;
            while from < cols {
                let this = cause(from);
                let to = (from + 1..cols).find(|&col| cause(col) != this).unwrap_or(cols);
                let name = match this {
                    Cause::Outside => None,
                    Cause::Rated => Some(&mut self.rated),
                    Cause::Excluded(index) => Some(self.cause(format!("excluded: {}", excludes[index]))),
                    Cause::Lacks(Some(factor)) => {
                        Some(self.cause(format!("no value of {}", prepared.site.factors()[factor].id)))
                    }
                    Cause::Lacks(None) => {
                        Some(self.cause("no species has an opinion on this ground".to_owned()))
                    }
                };
                if let Some(sums) = name {
                    sums.cells += (to - from) as u64;
                    sums.area_mm2 += u128::from(areas.run_mm2(block.first_col + from, block.first_col + to));
                }
                from = to;
            }
        }
    }

    fn cause(&mut self, cause: String) -> &mut CellsAndArea {
        self.causes.entry(cause).or_default()
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Cause {
    Outside,
    Rated,
    Excluded(usize),
    Lacks(Option<usize>),
}
