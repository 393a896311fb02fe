//! Cells of one zone by what each factor does to one species, and which factors do most.
//! Counts come in, factors by index go out.

use std::cmp::Reverse;

/// A factor is told as limiting, lacking or counted from this share of a zone's
/// cells on.
pub(super) const TOLD_SHARE: f64 = 0.1;

/// Cells of a zone by what each factor does to one species.
#[derive(Debug, Clone, Default)]
pub(super) struct FactorCells {
    pub(super) below_wanted: u64,
    pub(super) below_best: u64,
    pub(super) unknown: u64,
    pub(super) no_opinion: u64,
    pub(super) scored: u64,
    /// Sum of scores, for the class they stand for.
    pub(super) scores: f64,
    /// Sum of scores below the wanted class.
    pub(super) low_scores: f64,
}

/// Factors by the number of species that are kept off the list by them first, most
/// first, ties in the project's order.
pub(super) fn most_first(kept_off: &[usize]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..kept_off.len())
        .filter(|&factor| kept_off[factor] > 0)
        .collect();
    order.sort_by_key(|&factor| (Reverse(kept_off[factor]), factor));
    order
}

/// The factor that keeps a species out of most cells, the first of several.
pub(super) fn first_limit(by_factor: &[FactorCells]) -> Option<usize> {
    (0..by_factor.len())
        .filter(|&factor| by_factor[factor].below_wanted > 0)
        .max_by_key(|&factor| (by_factor[factor].below_wanted, Reverse(factor)))
}

/// Factors by the cells that `count` gives, most first, ties in the project's order.
/// Those under a tenth of the zone are not told, unless there would be none then.
pub(super) fn most_cells(
    by_factor: &[FactorCells],
    zone_cells: u64,
    count: impl Fn(&FactorCells) -> u64,
) -> Vec<usize> {
    let mut order: Vec<usize> = (0..by_factor.len())
        .filter(|&factor| count(&by_factor[factor]) > 0)
        .collect();
    order.sort_by_key(|&factor| (Reverse(count(&by_factor[factor])), factor));
    let told = order
        .iter()
        .take_while(|&&factor| share(count(&by_factor[factor]), zone_cells) >= TOLD_SHARE)
        .count();
    order.truncate(told.max(1));
    order
}

/// A share of a whole; 0 of nothing.
pub(super) fn share(part: u64, whole: u64) -> f64 {
    if whole == 0 {
        0.0
    } else {
        as_f64(part) / as_f64(whole)
    }
}

#[expect(clippy::cast_precision_loss, reason = "shares and means for people and files")]
pub(super) fn as_f64(count: u64) -> f64 {
    count as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn most_cells_come_first_and_a_tenth_is_told() {
        let cells = |counts: &[u64]| -> Vec<FactorCells> {
            let of = |&unknown: &u64| FactorCells {
                unknown,
                ..FactorCells::default()
            };
            counts.iter().map(of).collect()
        };
        let told = |counts: &[u64]| most_cells(&cells(counts), 100, |cells| cells.unknown);
        assert_eq!(told(&[10, 60, 9, 60]), [1, 3, 0]);
        assert_eq!(told(&[3, 0, 4]), [2]);
        assert_eq!(told(&[0, 0]), Vec::<usize>::new());
    }
}
