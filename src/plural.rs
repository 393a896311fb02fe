//! Words that follow a number, in the singular or the plural. A count and a word come in,
//! text goes out. Knows nothing of what is counted.

use std::fmt::Display;

/// A count and what is counted, as `1 row` or `2 rows`. For words that take more than an
/// s there is [`one_or_many`].
///
/// # Examples
/// ```
/// use groundfit::plural::counted;
///
/// assert_eq!(counted(1, "map unit"), "1 map unit");
/// assert_eq!(counted(0, "map unit"), "0 map units");
/// ```
#[must_use]
pub fn counted<N: Copy + Display + PartialEq + From<u8>>(count: N, thing: &str) -> String {
    let ending = if count == N::from(1) { "" } else { "s" };
    format!("{count} {thing}{ending}")
}

/// The word that goes with a count: one for 1, the other for all else.
///
/// # Examples
/// ```
/// use groundfit::plural::one_or_many;
///
/// assert_eq!(one_or_many(1, "has", "have"), "has");
/// assert_eq!(one_or_many(0, "has", "have"), "have");
/// ```
#[must_use]
pub fn one_or_many<'a, N: Copy + PartialEq + From<u8>>(count: N, one: &'a str, many: &'a str) -> &'a str {
    if count == N::from(1) { one } else { many }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_alone_is_singular() {
        let said = [0_u64, 1, 2, 11, 21].map(|count| counted(count, "row"));
        assert_eq!(said, ["0 rows", "1 row", "2 rows", "11 rows", "21 rows"]);
        assert_eq!(counted(1_usize, "pair of polygons"), "1 pair of polygons");
        assert_eq!(one_or_many(1_u32, "its", "their"), "its");
        assert_eq!(one_or_many(2_u32, "its", "their"), "their");
    }
}
