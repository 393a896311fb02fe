//! The mapping file: which column of a user's table is which trait, in which unit
//! and in which words. TOML comes in; the mapping and every fault of it go out.

use toml_edit::{Document, Item, TableLike};

use crate::nearest::nearest;
use crate::species::problem::{Report, hint};
use crate::species::{KNOWN_TRAITS, KnownTrait, Source, SourceKind, Values};

/// Which column is what.
#[derive(Debug, Default)]
pub(super) struct Mapping {
    pub(super) scientific_name: String,
    pub(super) common_name: Option<String>,
    pub(super) form: String,
    pub(super) form_words: Vec<(String, String)>,
    /// Id of the source of all values that name no other.
    pub(super) source: String,
    pub(super) source_column: Option<String>,
    pub(super) sources: Vec<Source>,
    pub(super) columns: Vec<Column>,
}

/// One column that is a trait.
#[derive(Debug, Default)]
pub(super) struct Column {
    pub(super) header: String,
    pub(super) name: String,
    pub(super) unit: Option<String>,
    /// Added to a number before it is multiplied.
    pub(super) add: f64,
    pub(super) times: f64,
    pub(super) words: Vec<(String, String)>,
    pub(super) source: Option<String>,
}

/// Units that are turned: theirs, ours, added, multiplied.
const TURNED: [(&str, &str, f64, f64); 18] = [
    ("ft", "m", 0.0, 0.3048),
    ("in", "m", 0.0, 0.0254),
    ("cm", "m", 0.0, 0.01),
    ("mm", "m", 0.0, 0.001),
    ("yd", "m", 0.0, 0.9144),
    ("ft", "cm", 0.0, 30.48),
    ("in", "cm", 0.0, 2.54),
    ("m", "cm", 0.0, 100.0),
    ("mm", "cm", 0.0, 0.1),
    ("in", "mm", 0.0, 25.4),
    ("cm", "mm", 0.0, 10.0),
    ("m", "mm", 0.0, 1000.0),
    ("degF", "c", -32.0, 5.0 / 9.0),
    ("per lb", "kg", 0.0, 1.0 / 0.453_592_37),
    ("per oz", "kg", 0.0, 16.0 / 0.453_592_37),
    ("per g", "kg", 0.0, 1000.0),
    ("per acre", "ha", 0.0, 1.0 / 0.404_685_642_24),
    ("per sq m", "ha", 0.0, 10_000.0),
];

const KEYS: [&str; 8] = [
    "scientific_name",
    "common_name",
    "form",
    "form_words",
    "source",
    "source_column",
    "sources",
    "columns",
];

/// The place of things in the text.
struct Reader<'a, 'r> {
    text: &'a str,
    report: &'a mut Report<'r>,
}

pub(super) fn read(text: &str, report: &mut Report<'_>) -> Mapping {
    let mut mapping = Mapping::default();
    let document = match Document::parse(text) {
        Ok(document) => document,
        Err(error) => {
            let line = error.span().map_or(0, |span| line_of(text, span.start));
            report.error(line, "", format!("is no TOML: {}", error.message()));
            return mapping;
        }
    };
    let mut reader = Reader { text, report };
    let root = document.as_table();
    reader.keys(root, "", &KEYS);
    mapping.scientific_name = reader.needed(root, "", "scientific_name");
    mapping.form = reader.needed(root, "", "form");
    mapping.common_name = reader.text_of(root, "", "common_name");
    mapping.source_column = reader.text_of(root, "", "source_column");
    mapping.form_words = reader.words(root, "", "form_words");
    for (id, item) in reader.tables(root, "sources") {
        let within = format!("sources.{id}");
        reader.keys(
            item,
            &within,
            &["kind", "title", "author", "year", "publisher", "note"],
        );
        let kind = reader.needed(item, &within, "kind");
        let known = SourceKind::from_words(&kind);
        if known.is_none() && !kind.is_empty() {
            let kinds = SourceKind::ALL.map(SourceKind::words);
            let text = format!(
                "{within}.kind: `{kind}` is none of {}{}",
                kinds.join(", "),
                hint(&kind, kinds)
            );
            reader.error(item.get("kind"), text);
        }
        let mut cell = |key| reader.text_of(item, &within, key).unwrap_or_default();
        mapping.sources.push(Source {
            id: id.to_owned(),
            kind: known.unwrap_or(SourceKind::FromMemory),
            title: cell("title"),
            author: cell("author"),
            year: cell("year"),
            publisher: cell("publisher"),
            note: cell("note"),
        });
        if mapping
            .sources
            .last()
            .is_some_and(|source| source.title.is_empty())
        {
            reader.error(
                Some(root.get("sources").unwrap_or(&Item::None)),
                format!("{within}.title is missing"),
            );
        }
    }
    mapping.source = reader.needed(root, "", "source");
    let known: Vec<String> = mapping.sources.iter().map(|source| source.id.clone()).collect();
    let is_source = |id: &str| known.iter().any(|other| other == id);
    if !mapping.source.is_empty() && !is_source(&mapping.source) {
        let text = format!("source: there is no [sources.{}]", mapping.source);
        reader.error(root.get("source"), text);
    }
    for (header, item) in reader.tables(root, "columns") {
        let column = reader.column(header, item);
        if let Some(id) = column.source.as_deref().filter(|id| !is_source(id)) {
            reader.error(
                item.get("source"),
                format!("columns.{header}.source: there is no [sources.{id}]"),
            );
        }
        if mapping.columns.iter().any(|other| other.name == column.name) {
            let text = format!(
                "columns.{header}.trait: `{}` is another column already",
                column.name
            );
            reader.error(item.get("trait"), text);
        }
        mapping.columns.push(column);
    }
    mapping
}

impl Reader<'_, '_> {
    fn error(&mut self, at: Option<&Item>, text: String) {
        let line = at
            .and_then(Item::span)
            .map_or(0, |span| line_of(self.text, span.start));
        self.report.error(line, "", text);
    }

    fn keys(&mut self, table: &dyn TableLike, within: &str, known: &[&str]) {
        for (key, item) in table.iter() {
            if !known.contains(&key) {
                let near = hint(key, known.iter().copied());
                self.error(Some(item), format!("{}: is no key here{near}", name(within, key)));
            }
        }
    }

    fn text_of(&mut self, table: &dyn TableLike, within: &str, key: &str) -> Option<String> {
        let item = table.get(key)?;
        let text = item.as_str().map(str::to_owned);
        let text = text.or_else(|| item.as_integer().map(|number| number.to_string()));
        if text.is_none() {
            self.error(Some(item), format!("{}: needed a text", name(within, key)));
        }
        text
    }

    fn needed(&mut self, table: &dyn TableLike, within: &str, key: &str) -> String {
        if table.get(key).is_none() {
            self.error(None, format!("{} is missing", name(within, key)));
        }
        self.text_of(table, within, key).unwrap_or_default()
    }

    fn words(&mut self, table: &dyn TableLike, within: &str, key: &str) -> Vec<(String, String)> {
        let Some(item) = table.get(key) else {
            return Vec::new();
        };
        let Some(words) = item.as_table_like() else {
            self.error(Some(item), format!("{}: needed words = words", name(within, key)));
            return Vec::new();
        };
        let keys: Vec<&str> = words.iter().map(|(key, _)| key).collect();
        keys.into_iter()
            .filter_map(|word| Some((word.to_owned(), self.text_of(words, key, word)?)))
            .collect()
    }

    /// The tables under a key.
    fn tables<'t>(&mut self, root: &'t dyn TableLike, key: &str) -> Vec<(&'t str, &'t dyn TableLike)> {
        let Some(item) = root.get(key) else {
            self.error(None, format!("[{key}] is missing"));
            return Vec::new();
        };
        let Some(table) = item.as_table_like() else {
            self.error(Some(item), format!("{key}: needed tables"));
            return Vec::new();
        };
        let mut found = Vec::new();
        for (name, item) in table.iter() {
            match item.as_table_like() {
                Some(table) => found.push((name, table)),
                None => self.error(Some(item), format!("{key}.{name}: needed a table")),
            }
        }
        found
    }

    fn column(&mut self, header: &str, table: &dyn TableLike) -> Column {
        let within = format!("columns.{header}");
        self.keys(table, &within, &["trait", "unit", "words", "source"]);
        let mut column = Column {
            header: header.to_owned(),
            name: self.needed(table, &within, "trait"),
            unit: self.text_of(table, &within, "unit"),
            add: 0.0,
            times: 1.0,
            words: self.words(table, &within, "words"),
            source: self.text_of(table, &within, "source"),
        };
        let known = KnownTrait::of(&column.name);
        if known.is_none()
            && let Some(near) = nearest(&column.name, KNOWN_TRAITS.iter().map(|known| known.name))
        {
            let text = format!(
                "{within}.trait: `{}` is almost `{near}`: is that meant?",
                column.name
            );
            self.error(table.get("trait"), text);
        }
        let Some(unit) = &column.unit else {
            return column;
        };
        let ours = column.name.rsplit('_').next().unwrap_or_default();
        let measured = known.is_some_and(|known| matches!(known.values, Values::Number { .. }));
        match TURNED
            .iter()
            .find(|(theirs, to, ..)| theirs == unit && *to == ours)
        {
            Some((.., add, times)) if measured => (column.add, column.times) = (*add, *times),
            _ if measured && unit == ours => {}
            _ => {
                let turned: Vec<&str> = TURNED
                    .iter()
                    .filter(|(_, to, ..)| *to == ours)
                    .map(|(theirs, ..)| *theirs)
                    .collect();
                let needed = if measured && !turned.is_empty() {
                    format!("needed one of {ours}, {}", turned.join(", "))
                } else {
                    format!("`{}` has no unit that is turned", column.name)
                };
                let text = format!("{within}.unit: found `{unit}`, {needed}");
                self.error(table.get("unit"), text);
            }
        }
        column
    }
}

fn name(within: &str, key: &str) -> String {
    if within.is_empty() {
        key.to_owned()
    } else {
        format!("{within}.{key}")
    }
}

fn line_of(text: &str, at: usize) -> u64 {
    text.bytes().take(at).filter(|byte| *byte == b'\n').count() as u64 + 1
}
