//! A head and items as JSON, a line each: for sums that a later command reads back.

use std::fs::File;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::OutputError;
use crate::in_order::write_in_order;

/// Items whose lines are made at a time on one thread.
const ITEMS_AT_ONCE: usize = 256;

/// Writes a head and so many items, a line each; `item` gives them by place.
///
/// # Errors
/// The file cannot be written.
pub fn write_json_lines<T: Serialize>(
    path: &Path,
    head: &impl Serialize,
    items: usize,
    item: impl Fn(usize) -> T + Sync,
) -> Result<(), OutputError> {
    let write = || {
        let mut out = File::create(path)?;
        let mut text = serde_json::to_vec(head)?;
        text.push(b'\n');
        out.write_all(&text)?;
        write_in_order(&mut out, items, ITEMS_AT_ONCE, |range, text| {
            for index in range {
                serde_json::to_writer(&mut *text, &item(index))?;
                text.push(b'\n');
            }
            Ok(())
        })
    };
    write().map_err(OutputError::write(path))
}

/// Reads a head and items back.
///
/// # Errors
/// The file cannot be read, or a line is not what it should be.
pub fn read_json_lines<H: DeserializeOwned, T: DeserializeOwned>(
    path: &Path,
) -> Result<(H, Vec<T>), OutputError> {
    let read = || -> std::io::Result<(H, Vec<T>)> {
        let mut lines = BufReader::new(File::open(path)?).lines();
        let first = lines.next().unwrap_or_else(|| Ok(String::new()))?;
        let head = serde_json::from_str(&first)?;
        let items = lines
            .map(|line| Ok(serde_json::from_str(&line?)?))
            .collect::<std::io::Result<_>>()?;
        Ok((head, items))
    };
    read().map_err(OutputError::read(path))
}
