//! An answer that is higher than the window: its first rows, and the rest on request.

use crate::render;

/// In a lower window than this nothing is held back.
const LEAST_ROWS: usize = 6;

/// What did not fit the window.
#[derive(Default)]
pub(super) struct Window {
    rest: String,
}

impl Window {
    /// Whether `more` has something to show.
    pub(super) fn holds_back(&self) -> bool {
        !self.rest.is_empty()
    }

    /// The next rows of what did not fit.
    pub(super) fn more(&mut self, width: usize) -> String {
        let rest = std::mem::take(&mut self.rest);
        self.fitted(rest, width)
    }

    /// What fits the window of an answer; the rest is kept for `more`.
    pub(super) fn fitted(&mut self, answer: String, width: usize) -> String {
        self.rest.clear();
        let Some(room) = room(&answer) else {
            return answer;
        };
        let lines: Vec<&str> = answer.split_inclusive('\n').collect();
        let (shown, rest) = lines.split_at(room);
        self.rest = rest.concat();
        let more = render::trace_more(rest.len(), width);
        format!("{}{more}", shown.concat())
    }

    /// The end of a list that does not fit: what was entered last matters most.
    pub(super) fn end_of(list: &str, width: usize) -> String {
        let Some(room) = room(list) else {
            return list.to_owned();
        };
        let lines: Vec<&str> = list.split_inclusive('\n').collect();
        let (before, shown) = lines.split_at(lines.len() - room);
        // An entry that a window breaks goes on further in.
        let begins = |line: &&&str| line.starts_with(|c: char| c.is_ascii_digit());
        let head = render::trace_before(before.iter().filter(begins).count(), width);
        format!("{head}{}", shown.concat())
    }
}

/// The rows that are shown of an answer above the prompt, but for the one that says how many more there are;
/// `None` where it fits, or is not shown in a window.
fn room(answer: &str) -> Option<usize> {
    let room = super::rows()?.saturating_sub(1).max(LEAST_ROWS);
    (answer.lines().count() > room).then_some(room - 1)
}
