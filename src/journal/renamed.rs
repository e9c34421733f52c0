//! Entries from before a thing got another name.

use crate::journal::{Act, Context, Names, Point, parse_timed, write_timed};

/// Something got another name, after some of the entries.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Renaming {
    /// How many entries there were before.
    pub behind: usize,
    /// What it was called in them.
    pub old: String,
    /// What it is called since.
    pub new: String,
    /// It is a place; places have names of their own.
    pub place: bool,
}

/// The texts of a case's entries with the names of today.
///
/// `names` are those of the vehicle file as it is now, `renamings` all that happened since the case was
/// opened, in their order. One whose new name the vehicle does not have says nothing: the file was not
/// changed, or was changed back by hand. What a person wrote in words of their own stays. An entry that
/// cannot be read with the names of its time stays as it is, so that it is refused where it is used.
pub fn with_names_of_today(texts: &[String], renamings: &[Renaming], names: &Names) -> Vec<String> {
    let mut texts = texts.to_vec();
    let mut then = names.clone();
    // What each renaming behind an entry made of a name, the last one first.
    let mut since: Vec<&Renaming> = Vec::new();
    let mut end = texts.len();
    for renaming in renamings.iter().rev() {
        let from = renaming.behind.min(end);
        if !since.is_empty() {
            for text in &mut texts[from..end] {
                anew(text, &then, &since, names);
            }
        }
        end = from;
        if then.rename(&renaming.new, &renaming.old, renaming.place) {
            since.push(renaming);
        }
    }
    if !since.is_empty() {
        for text in &mut texts[..end] {
            anew(text, &then, &since, names);
        }
    }
    texts
}

/// An entry read with the names of its time and written with those of today.
fn anew(text: &mut String, then: &Names, since: &[&Renaming], names: &Names) {
    let context = Context::of_kept();
    if let Ok(acts) = parse_timed(text, then, &context)
        && let [(act, at)] = acts.as_slice()
    {
        let mut act = act.clone();
        for point in points(&mut act) {
            // Plugs and inputs are kept by their names.
            if let Point::Plug(name, _) | Point::Input(name) = point {
                for renaming in since.iter().rev().filter(|renaming| !renaming.place) {
                    if *name == renaming.old {
                        name.clone_from(&renaming.new);
                    }
                }
            }
        }
        *text = write_timed(&act, *at, names);
    }
}

/// The points an act is about.
fn points(act: &mut Act) -> Vec<&mut Point> {
    match act {
        Act::Read { point, .. } | Act::Look { point, .. } | Act::Skip { point, .. } => vec![point],
        Act::Pull(points) | Act::Unplug(points) | Act::Refit(points) => points.iter_mut().collect(),
        Act::Repaired { point, .. } => point.iter_mut().collect(),
        Act::Open(_)
        | Act::Zero(_)
        | Act::Asleep
        | Act::Awake
        | Act::Prepared
        | Act::Told { .. }
        | Act::Withdraw { .. }
        | Act::Undo
        | Act::Comes { .. }
        | Act::Logged { .. }
        | Act::Note(_) => Vec::new(),
    }
}
