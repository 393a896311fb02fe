//! Where the values of a catalogue come from.

use serde::Serialize;

/// One source.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Source {
    /// The short word for it in the catalogue's files.
    pub id: String,
    /// What weight it has.
    pub kind: SourceKind,
    /// Title, or what kind of knowledge it is.
    pub title: String,
    /// Authors, as cited; may be empty.
    pub author: String,
    /// Year, as cited; may be empty.
    pub year: String,
    /// Publisher; may be empty.
    pub publisher: String,
    /// Anything to say about it; may be empty.
    pub note: String,
}

/// What weight a source has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum SourceKind {
    /// Printed or published, and named.
    Published,
    /// What the trade commonly holds, without a single source.
    CommonPractice,
    /// Remembered and not looked up.
    FromMemory,
}

impl SourceKind {
    /// All kinds, the weightiest first.
    pub const ALL: [SourceKind; 3] = [
        SourceKind::Published,
        SourceKind::CommonPractice,
        SourceKind::FromMemory,
    ];

    /// The kind as written in catalogues.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            SourceKind::Published => "published",
            SourceKind::CommonPractice => "common practice",
            SourceKind::FromMemory => "from memory",
        }
    }

    /// The kind so written, letter case aside.
    #[must_use]
    pub fn from_words(words: &str) -> Option<SourceKind> {
        let words = words.trim().to_lowercase().replace(['-', '_'], " ");
        SourceKind::ALL.into_iter().find(|kind| kind.words() == words)
    }
}

impl Source {
    /// The source as a line for people: authors, year, title, publisher, and its
    /// kind where it is not published.
    #[must_use]
    pub fn citation(&self) -> String {
        let parts = [&self.author, &self.year, &self.title, &self.publisher];
        let mut parts: Vec<&str> = parts
            .into_iter()
            .map(String::as_str)
            .filter(|part| !part.is_empty())
            .collect();
        // An institution that publishes its own work is told once.
        if !self.author.is_empty() && self.publisher == self.author {
            parts.pop();
        }
        let mut text = parts.join(", ");
        if self.kind != SourceKind::Published && !text.to_lowercase().contains(self.kind.words()) {
            text = format!("{text} ({})", self.kind.words());
        }
        if !self.note.is_empty() {
            text = format!("{text}; {}", self.note);
        }
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn source(author: &str, publisher: &str) -> Source {
        Source {
            id: "list".to_owned(),
            kind: SourceKind::Published,
            title: "A list".to_owned(),
            author: author.to_owned(),
            year: "2014".to_owned(),
            publisher: publisher.to_owned(),
            note: String::new(),
        }
    }

    #[test]
    fn a_citation_keeps_its_title_and_tells_an_institution_once() {
        assert_eq!(source("", "").citation(), "2014, A list");
        assert_eq!(source("A body", "A body").citation(), "A body, 2014, A list");
        assert_eq!(
            source("A. Author", "A body").citation(),
            "A. Author, 2014, A list, A body"
        );
    }
}
