//! `halfsplit completions` and `halfsplit manual`: what a shell and `man` want to know, made from the
//! arguments themselves.

use crate::cli::{Arguments, Failure, answer};
use clap::{Args, CommandFactory};
use std::io::Write;
use std::path::PathBuf;

/// What `completions` is told.
#[derive(Args, Debug)]
pub(super) struct Completions {
    /// The shell
    shell: clap_complete::Shell,
}

/// What `manual` is told.
#[derive(Args, Debug)]
pub(super) struct Manual {
    /// The folder that gets the pages; it is made where it is not there
    folder: PathBuf,
}

/// Writes the completions of a shell to standard output.
pub(super) fn completions(told: &Completions, mut out: impl Write) -> Result<u8, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(
        told.shell,
        &mut Arguments::command(),
        "halfsplit",
        &mut script,
    );
    answer(&mut out, &String::from_utf8_lossy(&script))?;
    Ok(0)
}

/// Writes a page for the program and one for each command.
pub(super) fn manual(told: &Manual) -> Result<u8, Failure> {
    let name = told.folder.display().to_string();
    std::fs::create_dir_all(&told.folder)
        .and_then(|()| clap_mangen::generate_to(Arguments::command(), &told.folder))
        .map_err(|error| Failure::WriteTo(name, error))?;
    Ok(0)
}
