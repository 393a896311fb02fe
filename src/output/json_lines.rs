//! A head and items as JSON, a line each: for sums that a later command reads back.

use std::fs::File;
use std::io::{BufRead, BufReader, BufWriter, Write};
use std::path::Path;

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::OutputError;

/// Writes a head and items, a line each.
///
/// # Errors
/// The file cannot be written.
pub fn write_json_lines<T: Serialize>(
    path: &Path,
    head: &impl Serialize,
    items: impl Iterator<Item = T>,
) -> Result<(), OutputError> {
    let write = || {
        let mut out = BufWriter::new(File::create(path)?);
        serde_json::to_writer(&mut out, head)?;
        out.write_all(b"\n")?;
        for item in items {
            serde_json::to_writer(&mut out, &item)?;
            out.write_all(b"\n")?;
        }
        out.flush()
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
