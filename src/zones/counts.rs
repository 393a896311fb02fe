//! Cells by number: of a class, or of what a question finds. Knows not what a number
//! stands for.

use serde::{Deserialize, Serialize};

/// How many cells have each number, in the order of the numbers.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "Vec<(u64, u64)>")]
pub struct Counts(Vec<(u64, u64)>);

impl Counts {
    /// Adds cells of one number.
    pub fn add(&mut self, number: u64, cells: u64) {
        match self.0.binary_search_by_key(&number, |&(number, _)| number) {
            Ok(at) => self.0[at].1 += cells,
            Err(at) => self.0.insert(at, (number, cells)),
        }
    }

    /// Adds the cells of other counts.
    pub fn merge(&mut self, other: &Counts) {
        if self.0.is_empty() {
            self.0.clone_from(&other.0);
            return;
        }
        for &(number, cells) in &other.0 {
            self.add(number, cells);
        }
    }

    /// Each number with its cells, lowest number first.
    #[must_use]
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = (u64, u64)> {
        self.0.iter().copied()
    }

    /// Cells of all numbers.
    #[must_use]
    pub fn cells(&self) -> u64 {
        self.0.iter().map(|&(_, cells)| cells).sum()
    }
}

impl FromIterator<(u64, u64)> for Counts {
    fn from_iter<I: IntoIterator<Item = (u64, u64)>>(pairs: I) -> Counts {
        let mut counts = Counts::default();
        for (number, cells) in pairs {
            counts.add(number, cells);
        }
        counts
    }
}

impl TryFrom<Vec<(u64, u64)>> for Counts {
    type Error = String;

    fn try_from(stored: Vec<(u64, u64)>) -> Result<Counts, String> {
        match stored.windows(2).find(|pair| pair[0].0 >= pair[1].0) {
            None => Ok(Counts(stored)),
            Some(pair) => Err(format!(
                "found the number {} after {}, needed rising numbers",
                pair[1].0, pair[0].0
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_add_up_in_any_order() {
        let whole: Counts = [(7, 2), (3, 1), (7, 5), (9, 1)].into_iter().collect();
        let mut parts: Counts = [(9, 1), (7, 5)].into_iter().collect();
        parts.merge(&[(3, 1), (7, 2)].into_iter().collect());
        assert_eq!(whole, parts);
        assert_eq!(whole.iter().collect::<Vec<_>>(), [(3, 1), (7, 7), (9, 1)]);
        assert_eq!(whole.cells(), 9);
    }

    #[test]
    fn stored_counts_come_back_and_others_are_refused() {
        let counts: Counts = [(3, 1), (7, 7)].into_iter().collect();
        let stored = serde_json::to_string(&counts).unwrap();
        assert_eq!(stored, "[[3,1],[7,7]]");
        assert_eq!(serde_json::from_str::<Counts>(&stored).unwrap(), counts);
        assert!(serde_json::from_str::<Counts>("[[7,1],[7,7]]").is_err());
    }
}
