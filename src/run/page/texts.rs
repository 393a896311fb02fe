//! Texts that many places of the page share, each once.

use std::collections::HashMap;

/// Texts by place.
#[derive(Debug, Default)]
pub struct Texts {
    places: HashMap<String, usize>,
}

impl Texts {
    /// The place of a text, a new one where it is not there yet.
    pub fn place(&mut self, text: &str) -> usize {
        if let Some(&place) = self.places.get(text) {
            return place;
        }
        let place = self.places.len();
        self.places.insert(text.to_owned(), place);
        place
    }

    /// The texts in the order of their places.
    pub fn finish(self) -> Vec<String> {
        let mut texts: Vec<(String, usize)> = self.places.into_iter().collect();
        texts.sort_by_key(|(_, place)| *place);
        texts.into_iter().map(|(text, _)| text).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_has_one_place() {
        let mut texts = Texts::default();
        let places = ["b", "a", "b"].map(|text| texts.place(text));
        assert_eq!(places, [0, 1, 0]);
        assert_eq!(texts.finish(), ["b", "a"]);
    }
}
