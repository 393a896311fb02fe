//! The page itself: what its template reads, and how it becomes a file.

use std::fmt;
use std::fs::File;
use std::io::{self, BufWriter, Write};
use std::path::Path;

use askama::Template;

use super::data::PageData;
use super::{ReportError, assets};

/// What stands on the page besides what its script shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Name of the site.
    pub title: String,
    /// A sentence on what was rated.
    pub opening: String,
    /// The run in a few numbers: what, and value.
    pub summary: Vec<(String, String)>,
    /// What holds for every result.
    pub cautions: Vec<String>,
    /// What the run warned of.
    pub warnings: Vec<String>,
    /// A sentence on how the drawn borders differ from those of the files.
    pub generalised: String,
    /// How ratings and zones came about, paragraph by paragraph.
    pub method: Vec<String>,
    /// How true the lists are, and what they are not.
    pub fidelity: Vec<String>,
    /// Cause and area of ground that is not rated.
    pub not_rated: Vec<(String, String)>,
    /// The layers.
    pub layers: Vec<LayerRow>,
    /// Rules and settings.
    pub rules: Vec<(String, String)>,
    /// A sentence on how many values are published, common practice, from memory, disputed.
    pub values_told: String,
    /// Citations; the script's numbers of sources are places in this list.
    pub sources: Vec<String>,
    /// Program, project, grid.
    pub run: Vec<(String, String)>,
    /// Files that were read.
    pub files: Vec<FileRow>,
    /// What the script shows.
    pub data: PageData,
}

/// A layer as the page tells it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LayerRow {
    /// What the project calls it.
    pub name: String,
    /// Its file.
    pub file: String,
    /// Its edition or date.
    pub date: String,
    /// Its CRS.
    pub crs: String,
    /// The error of the way to the grid.
    pub error: String,
    /// How it was resampled.
    pub resampling: String,
    /// The size of what it can tell apart.
    pub shows: String,
    /// Anything else.
    pub notes: String,
}

/// A file that was read.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FileRow {
    /// Its path as the project writes it.
    pub path: String,
    /// When it was last changed.
    pub changed: String,
    /// Its size.
    pub bytes: String,
    /// Its SHA-256 checksum.
    pub sum: String,
}

#[derive(Template)]
#[template(path = "page.html", config = "src/report/askama.toml")]
struct Sheet<'a> {
    page: &'a Page,
    policy: String,
    script: String,
    style: String,
    data: InScript<'a>,
}

impl std::ops::Deref for Sheet<'_> {
    type Target = Page;

    fn deref(&self) -> &Page {
        self.page
    }
}

impl Page {
    /// Writes the page as one HTML file.
    ///
    /// # Errors
    /// The file cannot be written.
    pub fn write(&self, path: &Path) -> Result<(), ReportError> {
        let write = || {
            let mut out = BufWriter::new(File::create(path)?);
            self.write_to(&mut out)?;
            out.flush()
        };
        write().map_err(ReportError::write(path))
    }

    /// Writes the page to any writer.
    ///
    /// # Errors
    /// The writer fails.
    pub fn write_to(&self, out: &mut impl Write) -> io::Result<()> {
        let (script, style) = (assets::script(), assets::style());
        let sheet = Sheet {
            page: self,
            policy: assets::policy(&script, &style),
            script,
            style,
            data: InScript(&self.data),
        };
        sheet.write_into(out)
    }
}

/// Data as JSON that cannot end the script element it stands in, whatever its texts hold.
/// It is written as it is made: a large site has tens of megabytes of it.
struct InScript<'a>(&'a PageData);

impl fmt::Display for InScript<'_> {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        serde_json::to_writer(Escaping { out }, self.0).map_err(|_| fmt::Error)
    }
}

/// In JSON the letters that markup is made of stand in texts alone, where they may be
/// written as numbers.
struct Escaping<'f, 'o> {
    out: &'f mut fmt::Formatter<'o>,
}

impl Write for Escaping<'_, '_> {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        let failed = |_| io::Error::other("the page cannot be written");
        // serde_json hands over whole letters.
        let text = std::str::from_utf8(bytes).map_err(io::Error::other)?;
        for part in text.split_inclusive(['<', '>', '&']) {
            let (plain, letter) = match part.as_bytes().last() {
                Some(b'<') => (&part[..part.len() - 1], "\\u003c"),
                Some(b'>') => (&part[..part.len() - 1], "\\u003e"),
                Some(b'&') => (&part[..part.len() - 1], "\\u0026"),
                _ => (part, ""),
            };
            self.out.write_str(plain).map_err(failed)?;
            self.out.write_str(letter).map_err(failed)?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}
