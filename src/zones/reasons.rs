//! Why species stand in zones as they do. Many stand so for the same reasons, which are
//! held once.

use std::collections::HashSet;
use std::sync::{Arc, Mutex, PoisonError};

/// Why one species stands in one zone as it does. Factors are told by index into the
/// project's factors.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub struct Reasons {
    /// Number of questions the rating rests on: factors, those that stand in for one
    /// another counted once.
    pub rests_on: usize,
    /// Factors that hold it below the first class (listed) or below the wanted
    /// class (not listed), by the share of cells.
    pub limited_by: Vec<usize>,
    /// Factors without which it is not known in part of the zone or all of it.
    pub lacking: Vec<usize>,
    /// Factors whose values here harm no plant, but on which an absent opinion is
    /// told, and the species has none.
    pub no_opinion_on: Vec<usize>,
}

/// Distinct reasons of a site, each held once, whichever thread met them first.
#[derive(Debug, Default)]
pub struct ReasonBook {
    held: Mutex<HashSet<Arc<Reasons>>>,
}

/// Distinct reasons that one thread has met: asks the book only for new ones.
#[derive(Debug)]
pub struct MetReasons<'b> {
    book: &'b ReasonBook,
    met: HashSet<Arc<Reasons>>,
}

impl ReasonBook {
    /// For one thread.
    #[must_use]
    pub fn reader(&self) -> MetReasons<'_> {
        MetReasons {
            book: self,
            met: HashSet::new(),
        }
    }
}

impl MetReasons<'_> {
    /// These reasons as the book holds them.
    pub fn shared(&mut self, reasons: Reasons) -> Arc<Reasons> {
        if let Some(held) = self.met.get(&reasons) {
            return held.clone();
        }
        // What is held is whole even when another thread broke off.
        let mut all = self.book.held.lock().unwrap_or_else(PoisonError::into_inner);
        let held = all.get(&reasons).cloned().unwrap_or_else(|| {
            let new = Arc::new(reasons);
            all.insert(new.clone());
            new
        });
        self.met.insert(held.clone());
        held
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_reasons_are_held_once() {
        let book = ReasonBook::default();
        let (mut one, mut other) = (book.reader(), book.reader());
        let reasons = |factor| Reasons {
            limited_by: vec![factor],
            ..Reasons::default()
        };
        let first = one.shared(reasons(1));
        assert!(Arc::ptr_eq(&first, &one.shared(reasons(1))));
        assert!(Arc::ptr_eq(&first, &other.shared(reasons(1))));
        assert!(!Arc::ptr_eq(&first, &other.shared(reasons(2))));
        assert_eq!(*first, reasons(1));
    }
}
