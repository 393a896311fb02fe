//! The program `groundfit`.

use std::process::ExitCode;

fn main() -> ExitCode {
    groundfit::cli::main()
}
