//! One row of zone labels, checked and with neighbouring runs of one label joined.

use super::error::OutlineError;

/// A run of cells in a row: the column past its last cell, and its label.
pub(super) type Run = (u32, u32);

/// Puts a row into `joined`: checked to cover `cols` columns, with neighbouring
/// runs of one label as one.
pub(super) fn join_runs(
    row: u32,
    cols: u32,
    runs: &[Run],
    joined: &mut Vec<Run>,
) -> Result<(), OutlineError> {
    joined.clear();
    let mut before = 0;
    for &(end_col, label) in runs {
        if end_col <= before {
            return Err(OutlineError::RunOrder { row, before, end_col });
        }
        before = end_col;
        match joined.last_mut() {
            Some(last) if last.1 == label => last.0 = end_col,
            _ => joined.push((end_col, label)),
        }
    }
    if before == cols {
        Ok(())
    } else {
        Err(OutlineError::RunEnd {
            row,
            found: before,
            needed: cols,
        })
    }
}
