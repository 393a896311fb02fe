//! The sources of what is shown, numbered in the order in which a reader meets them.

use std::io::{self, Write};

use super::wrapping::hanging;
use crate::species::{Catalogue, SetAside, Source, SourceKind};

/// Numbers of sources; a source gets one when it is first asked for.
pub(super) struct SourceNumbers<'a> {
    catalogue: &'a Catalogue,
    ids: Vec<&'a str>,
}

impl<'a> SourceNumbers<'a> {
    pub(super) fn new(catalogue: &'a Catalogue) -> SourceNumbers<'a> {
        SourceNumbers {
            catalogue,
            ids: Vec::new(),
        }
    }

    /// The number of a source, with what is remembered marked: `[2, from memory]`.
    pub(super) fn mark(&mut self, id: &'a str) -> String {
        let place = self.ids.iter().position(|other| *other == id).unwrap_or_else(|| {
            self.ids.push(id);
            self.ids.len() - 1
        });
        let number = place + 1;
        match self.catalogue.source(id).map(|source| source.kind) {
            Some(SourceKind::FromMemory) => format!("[{number}, from memory]"),
            _ => format!("[{number}]"),
        }
    }

    /// A value that is not used, with its source and why.
    pub(super) fn aside(&mut self, shown: &str, aside: &'a SetAside) -> String {
        let why = match aside.note.as_str() {
            "" => String::new(),
            note => format!(": {note}"),
        };
        format!("also: {shown} {}, set aside{why}", self.mark(&aside.source))
    }

    /// The numbered list.
    pub(super) fn write(&self, out: &mut dyn Write) -> io::Result<()> {
        writeln!(out, "\nSources")?;
        for (place, id) in self.ids.iter().enumerate() {
            let citation = self
                .catalogue
                .source(id)
                .map_or_else(|| format!("`{id}`, not in the sources file"), Source::citation);
            writeln!(out, "{}", hanging(&format!("  [{}] ", place + 1), &citation))?;
        }
        Ok(())
    }
}
