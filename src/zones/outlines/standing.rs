//! What is known of a corner while borders are simplified, in little room.

/// A corner of an arc among those that are still there.
pub(super) struct Standing {
    /// Steps to the corner before and to the one after; none at an end of the arc.
    pub(super) back: u16,
    pub(super) forth: u16,
    /// How often it was put in the queue, which tells an outdated entry, and two marks.
    pub(super) looks: u32,
}

/// So many steps or more: the next corner that is still there has to be looked for. Tests
/// have few corners.
pub(super) const FAR: u32 = if cfg!(test) { 3 } else { 0xffff };

impl Standing {
    pub(super) const GONE: u32 = 1 << 31;
    pub(super) const WAITED: u32 = 1 << 30;

    pub(super) fn looks(&self) -> u32 {
        self.looks & !(Standing::GONE | Standing::WAITED)
    }

    pub(super) fn is_kept(&self) -> bool {
        self.looks & Standing::GONE == 0
    }

    pub(super) fn has_waited(&self) -> bool {
        self.looks & Standing::WAITED != 0
    }
}
