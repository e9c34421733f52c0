//! The command line's door.
#![forbid(unsafe_code)]

fn main() -> std::process::ExitCode {
    halfsplit::cli::run().into()
}
