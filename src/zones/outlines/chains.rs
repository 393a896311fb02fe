//! Many chains of values, one after the other in one block of memory.

/// Chains of values by number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Chains<P> {
    values: Vec<P>,
    ends: Vec<usize>,
}

impl<P> Default for Chains<P> {
    fn default() -> Self {
        Chains {
            values: Vec::new(),
            ends: Vec::new(),
        }
    }
}

impl<P> Chains<P> {
    /// No chain yet, with room for so many and for their values.
    pub(super) fn with_capacity(chains: usize, values: usize) -> Chains<P> {
        Chains {
            values: Vec::with_capacity(values),
            ends: Vec::with_capacity(chains),
        }
    }

    /// Number of chains.
    pub(super) fn len(&self) -> usize {
        self.ends.len()
    }

    /// All values, chain after chain.
    pub(super) fn values(&self) -> &[P] {
        &self.values
    }

    /// Position of a chain's first value among all values.
    pub(super) fn start(&self, chain: usize) -> usize {
        if chain == 0 { 0 } else { self.ends[chain - 1] }
    }

    /// Position past a chain's last value among all values.
    pub(super) fn end(&self, chain: usize) -> usize {
        self.ends[chain]
    }

    /// The values of one chain.
    pub(super) fn get(&self, chain: usize) -> &[P] {
        &self.values[self.start(chain)..self.ends[chain]]
    }

    /// The chains in order.
    pub(super) fn iter(&self) -> impl Iterator<Item = &[P]> {
        (0..self.len()).map(|chain| self.get(chain))
    }

    /// Adds a value to the chain that is not yet closed.
    pub(super) fn extend_open(&mut self, value: P) {
        self.values.push(value);
    }

    /// Adds a chain.
    pub(super) fn push(&mut self, values: impl Iterator<Item = P>) {
        self.values.extend(values);
        self.close();
    }

    /// Closes the chain that is being extended.
    pub(super) fn close(&mut self) {
        self.ends.push(self.values.len());
    }
}
