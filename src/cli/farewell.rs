//! What is said where a dialogue ends, also by Ctrl-C: the commands that go on with its case.

use crate::cli::case_file::{Basis, is_case, quoted};
use crate::cli::trace::Trace;
use std::io::Write as _;
use std::path::Path;
use std::sync::{Arc, Mutex};

/// The exit code after Ctrl-C, as shells have it.
const INTERRUPTED: i32 = 130;

/// The command that goes on with a case, with all that it was begun with; and the shortest, as a case keeps that.
pub(super) fn commands_again(told: &Trace, case: &Path, basis: &Basis) -> (String, String) {
    let word = |path: &Path| quoted(&path.display().to_string());
    let mut again = format!("halfsplit trace {}", word(&told.vehicle));
    if let Some(case) = &told.case {
        again = format!("{again} --case {}", word(case));
    }
    // A case keeps which instruments it was begun with; said again the line tells what it rests on.
    let instruments = told.instruments.as_ref().or(basis.instruments.as_ref());
    if let Some(instruments) = instruments.filter(|_| !is_case(&told.vehicle)) {
        again = format!("{again} --instruments {}", word(instruments));
    }
    let mut short = format!("halfsplit trace {}", word(case));
    if told.teach {
        again.push_str(" --teach");
        short.push_str(" --teach");
    }
    (again, short)
}

/// Where somebody sits at a terminal, Ctrl-C says what stays out and how to go on before it ends the run;
/// what is said is kept in what is given back.
pub(super) fn at_interrupt(terminal: bool, farewell: String) -> Arc<Mutex<String>> {
    let farewell = Arc::new(Mutex::new(farewell));
    if terminal {
        let kept = Arc::clone(&farewell);
        // Without a handler Ctrl-C ends the run as ever.
        let _ = ctrlc::set_handler(move || {
            if let Ok(farewell) = kept.lock() {
                // Nothing is left to do when even this cannot be written.
                let _ = write!(std::io::stderr(), "\n{farewell}");
            }
            std::process::exit(INTERRUPTED);
        });
    }
    farewell
}
