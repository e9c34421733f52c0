//! What is typed, line by line.

use crate::cli::Failure;
use crate::render::commands;
use std::io::{BufRead as _, IsTerminal as _, Write};

/// What is typed, line by line.
pub(super) struct Input {
    lines: std::io::StdinLock<'static>,
    terminal: bool,
}

impl Input {
    pub(super) fn new() -> Self {
        let input = std::io::stdin();
        Self {
            terminal: input.is_terminal(),
            lines: input.lock(),
        }
    }

    /// Whether a person types.
    pub(super) const fn is_terminal(&self) -> bool {
        self.terminal
    }

    /// The next line without the spaces round it; at a terminal asked for with a prompt. `None` at the
    /// end.
    pub(super) fn line(
        &mut self,
        prompt: &str,
        out: &mut impl Write,
    ) -> Result<Option<String>, Failure> {
        if self.terminal {
            write!(out, "{prompt}")?;
            out.flush()?;
        }
        let mut bytes = Vec::new();
        let read = self.lines.read_until(b'\n', &mut bytes);
        let read =
            read.map_err(|error| Failure::Read(commands::STANDARD_INPUT.to_owned(), error))?;
        if read == 0 {
            return Ok(None);
        }
        Ok(Some(String::from_utf8_lossy(&bytes).trim().to_owned()))
    }
}
