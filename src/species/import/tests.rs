//! What a table becomes.
