//! Reads TOML tables: typed values, each with its spot, and every problem met.
//! Knows no section: what a table may hold is what was asked of it.

use std::cell::RefCell;
use std::ops::RangeInclusive;

use toml_edit::{Item, TableLike, Value};

use super::reader::{Found, Reader, Spot};
use super::value::{Need, as_number, describe, describe_value, looks_like_date};
use crate::nearest::{listed, nearest, quoted, suggest};

/// One table of the file. Remembers what was asked of it, so that `finish` can
/// tell which keys nobody knows.
pub(super) struct Table<'t> {
    items: &'t dyn TableLike,
    pub spot: Spot<'t>,
    asked: RefCell<Vec<&'static str>>,
    /// Needed keys that are not there; of each group one would do.
    missing: RefCell<Vec<&'static [&'static str]>>,
}

impl<'t> Table<'t> {
    pub fn root(items: &'t dyn TableLike, reader: &'t Reader<'t>) -> Table<'t> {
        let key = String::new();
        let spot = Spot {
            reader,
            at: 0,
            key,
            within: None,
        };
        Table::new(items, spot)
    }

    fn new(items: &'t dyn TableLike, spot: Spot<'t>) -> Table<'t> {
        Table {
            items,
            spot,
            asked: RefCell::default(),
            missing: RefCell::default(),
        }
    }

    /// Where the value of a key stands, if the key is there.
    pub fn spot_of(&self, key: &'static str) -> Option<Spot<'t>> {
        self.item(key).map(|(_, spot)| spot)
    }

    fn item(&self, key: &'static str) -> Option<(&'t Item, Spot<'t>)> {
        let mut asked = self.asked.borrow_mut();
        if !asked.contains(&key) {
            asked.push(key);
        }
        let item = self.items.get(key).filter(|item| !item.is_none())?;
        Some((item, self.spot_at(key, item)))
    }

    fn spot_at(&self, key: &str, item: &Item) -> Spot<'t> {
        let key_start = self.items.key(key).and_then(toml_edit::Key::span);
        let value_start = if item.is_value() { item.span() } else { None };
        Spot {
            reader: self.spot.reader,
            at: value_start.or(key_start).map_or(self.spot.at, |span| span.start),
            key: self.dotted(key),
            within: None,
        }
    }

    fn dotted(&self, key: &str) -> String {
        let bare = |letter: char| letter.is_ascii_alphanumeric() || matches!(letter, '_' | '-');
        let own = if !key.is_empty() && key.chars().all(bare) {
            key.to_owned()
        } else {
            quoted(key)
        };
        match self.spot.key.as_str() {
            "" => own,
            outer => format!("{outer}.{own}"),
        }
    }

    fn value<T>(
        &self,
        key: &'static str,
        needed: &str,
        take: impl FnOnce(&'t Item) -> Option<T>,
    ) -> Option<Found<'t, T>> {
        let (item, spot) = self.item(key)?;
        let Some(value) = take(item) else {
            spot.problem(format!("found {}, needed {needed}", describe(item)));
            return None;
        };
        Some(Found { value, spot })
    }

    /// The text of a key; an empty one is a problem.
    pub fn text(&self, key: &'static str) -> Option<Found<'t, &'t str>> {
        let found = self.value(key, "text in quotes", Item::as_str)?;
        if found.value.trim().is_empty() {
            found.spot.problem("found an empty text, needed some text");
            return None;
        }
        Some(found)
    }

    /// A number, whole or not.
    pub fn number(&self, key: &'static str, need: Need) -> Option<Found<'t, f64>> {
        let found = self.value(key, need.words, as_number)?;
        if !(need.holds)(found.value) {
            found
                .spot
                .problem(format!("found {}, needed {}", found.value, need.words));
            return None;
        }
        Some(found)
    }

    /// A whole number within a range.
    pub fn whole(&self, key: &'static str, range: RangeInclusive<i64>) -> Option<Found<'t, i64>> {
        let needed = if *range.end() == i64::MAX {
            format!("a whole number, {} or more", range.start())
        } else {
            format!("a whole number from {} to {}", range.start(), range.end())
        };
        let found = self.value(key, &needed, Item::as_integer)?;
        if !range.contains(&found.value) {
            found
                .spot
                .problem(format!("found {}, needed {needed}", found.value));
            return None;
        }
        Some(found)
    }

    /// True or false.
    pub fn flag(&self, key: &'static str) -> Option<Found<'t, bool>> {
        self.value(key, "true or false", Item::as_bool)
    }

    /// One of a few words, each with its meaning.
    pub fn word<T: Copy>(&self, key: &'static str, words: &[(&'static str, T)]) -> Option<Found<'t, T>> {
        let names: Vec<&str> = words.iter().map(|(name, _)| *name).collect();
        let found = self.value(key, &format!("one of {}", listed(&names)), Item::as_str)?;
        let meaning = words.iter().find(|(name, _)| *name == found.value);
        let Some((_, meaning)) = meaning else {
            found.spot.problem(format!(
                "found {}, needed one of {}{}",
                quoted(found.value),
                listed(&names),
                nearest(found.value, names.iter().copied())
                    .map_or_else(String::new, |name| format!("; nearest is `{name}`"))
            ));
            return None;
        };
        Some(Found {
            value: *meaning,
            spot: found.spot,
        })
    }

    /// A day, month or year: a TOML date, `"2019-06"` or `2019`.
    pub fn date(&self, key: &'static str) -> Option<Found<'t, String>> {
        let needed = "a date like 2019, \"2019-06\" or 2019-06-30";
        let found = self.value(key, needed, |item| match item.as_value()? {
            Value::String(text) => Some(text.value().trim().to_owned()),
            Value::Integer(year) => Some(year.value().to_string()),
            Value::Datetime(date) => Some(date.value().to_string()),
            _ => None,
        })?;
        if !looks_like_date(&found.value) {
            found
                .spot
                .problem(format!("found {}, needed {needed}", quoted(&found.value)));
            return None;
        }
        Some(found)
    }

    /// A day as text, from text or a TOML date.
    pub fn day_text(&self, key: &'static str) -> Option<Found<'t, String>> {
        let needed = "a day like \"05-01\" or 2026-05-01";
        self.value(key, needed, |item| match item.as_value()? {
            Value::String(text) => Some(text.value().trim().to_owned()),
            Value::Datetime(date) => Some(date.value().to_string()),
            _ => None,
        })
    }

    /// A list of texts, each with its spot.
    pub fn texts(&self, key: &'static str) -> Option<Found<'t, Vec<Found<'t, &'t str>>>> {
        let found = self.value(key, "a list of texts", Item::as_array)?;
        let mut texts = Vec::with_capacity(found.value.len());
        for value in found.value {
            let spot = Spot {
                at: value.span().map_or(found.spot.at, |span| span.start),
                ..found.spot.clone()
            };
            match value.as_str() {
                Some(text) if !text.trim().is_empty() => texts.push(Found { value: text, spot }),
                Some(_) => spot.problem("found an empty text in the list, needed some text"),
                None => spot.problem(format!(
                    "found {} in the list, needed text in quotes",
                    describe_value(value)
                )),
            }
        }
        Some(found.map(|_| texts))
    }

    /// A table inside this one.
    pub fn table(&self, key: &'static str) -> Option<Table<'t>> {
        let found = self.value(key, "a table", Item::as_table_like)?;
        Some(Table::new(found.value, found.spot))
    }

    /// A list of tables: `[[key]]` or a list of inline tables.
    pub fn tables(&self, key: &'static str) -> Option<Found<'t, Vec<Table<'t>>>> {
        let (item, spot) = self.item(key)?;
        let mut tables = Vec::new();
        match item {
            Item::ArrayOfTables(array) => {
                for (index, items) in array.iter().enumerate() {
                    let at = items.span().map_or(spot.at, |span| span.start);
                    tables.push(Table::new(items, element(&spot, index, at)));
                }
            }
            Item::Value(Value::Array(array)) => {
                for (index, value) in array.iter().enumerate() {
                    let at = value.span().map_or(spot.at, |span| span.start);
                    let spot = element(&spot, index, at);
                    match value.as_inline_table() {
                        Some(items) => tables.push(Table::new(items, spot)),
                        None => spot.problem(format!("found {}, needed a table", describe_value(value))),
                    }
                }
            }
            _ => {
                spot.problem(format!("found {}, needed a list of tables", describe(item)));
                return None;
            }
        }
        Some(Found { value: tables, spot })
    }

    /// Every table inside this one, with its name, in the order of the file:
    /// for tables whose keys are the project's own names.
    pub fn named_tables(&self) -> Vec<(&'t str, Table<'t>)> {
        let mut tables = Vec::new();
        for (name, item) in self.items.iter() {
            let spot = self.spot_at(name, item);
            match item.as_table_like() {
                Some(items) => tables.push((name, Table::new(items, spot))),
                None => spot.problem(format!("found {}, needed a table", describe(item))),
            }
        }
        // A table may be opened again further down; its first mention counts.
        tables.sort_by_key(|(_, table)| table.spot.at);
        tables
    }

    /// Every key with what it holds, for tables whose keys are the project's
    /// own words.
    pub fn named_items(&self) -> Vec<Found<'t, (&'t str, &'t Item)>> {
        let items = self.items.iter().map(|(name, item)| Found {
            value: (name, item),
            spot: self.spot_at(name, item),
        });
        let mut items: Vec<_> = items.collect();
        items.sort_by_key(|found| found.spot.at);
        items
    }

    /// Whether a key holds a table.
    pub fn holds_table(&self, key: &'static str) -> bool {
        self.item(key).is_some_and(|(item, _)| item.is_table_like())
    }

    /// Notes that one of these keys must be there; `finish` tells if none is.
    pub fn require(&self, keys: &'static [&'static str]) {
        let there = keys.iter().filter(|key| self.item(key).is_some()).count();
        let mut missing = self.missing.borrow_mut();
        if there == 0 && !missing.contains(&keys) {
            missing.push(keys);
        }
    }

    /// Reports the keys nobody asked for, and the needed ones that are not there.
    pub fn finish(&self) {
        let asked = self.asked.borrow();
        let mut missing = self.missing.borrow().clone();
        let absent = asked.iter().copied().filter(|key| !self.items.contains_key(key));
        let absent: Vec<&str> = absent.collect();
        for (key, _) in self.items.iter().filter(|(key, _)| !asked.contains(key)) {
            // A key that is there already cannot be what was meant.
            let meant = nearest(key, absent.iter().copied());
            // A needed key that is only misspelt is one problem, not two.
            missing.retain(|needed| meant.is_none_or(|meant| !needed.contains(&meant)));
            let start = self.items.key(key).and_then(toml_edit::Key::span);
            let at = start.map_or(self.spot.at, |span| span.start);
            let hint = match meant {
                Some(name) => format!("nearest is `{name}`"),
                None => suggest(key, &asked),
            };
            self.spot
                .reader
                .problem_at(at, &self.dotted(key), format!("no such key; {hint}"));
        }
        if self.spot.reader.partial {
            return;
        }
        for keys in missing {
            let (key, text) = if let [key] = keys {
                (self.dotted(key), "missing; it must be given".to_owned())
            } else {
                let text = format!("missing; one of {} must be given", listed(keys));
                (self.spot.key.clone(), text)
            };
            self.spot.reader.problem_at(self.spot.at, &key, text);
        }
    }
}

fn element<'t>(list: &Spot<'t>, index: usize, at: usize) -> Spot<'t> {
    Spot {
        reader: list.reader,
        at,
        key: format!("{}[{}]", list.key, index + 1),
        within: None,
    }
}
