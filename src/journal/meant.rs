//! Other words for what is done at the vehicle.

/// What people say of it, and the word for that.
const MEANT: [(&str, &str); 14] = [
    ("wait", "asleep"),
    ("sleep", "asleep"),
    ("sleeping", "asleep"),
    ("remove", "pull"),
    ("removed", "pull"),
    ("take out", "pull"),
    ("took out", "pull"),
    ("disconnect", "unplug"),
    ("disconnected", "unplug"),
    ("reconnect", "refit"),
    ("put back", "refit"),
    ("put in", "refit"),
    ("reinstall", "refit"),
    ("replaced", "repaired"),
];

/// The word that an entry was meant to start with, and what is behind the one that was typed.
pub(super) fn meant(line: &str) -> Option<(&'static str, &str)> {
    MEANT.iter().find_map(|(typed, word)| {
        let start = line.get(..typed.len())?;
        let rest = &line[typed.len()..];
        let ends = !rest.starts_with(char::is_alphanumeric);
        (ends && start.eq_ignore_ascii_case(typed)).then_some((*word, rest))
    })
}
