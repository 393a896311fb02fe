//! The program `groundfit`.

fn main() {}
