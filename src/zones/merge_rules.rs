//! What guards lists while zones merge.

use super::listing::ListingRules;
use super::share::Share;

/// What guards lists while zones merge.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
pub struct MergeRules {
    /// When a species is listed.
    pub listing: ListingRules,
    /// Least similarity (Sorensen) that the cells of either part must have to the
    /// merged list; the limit itself is allowed.
    pub keep: Share,
}
