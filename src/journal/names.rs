//! The names a person may type, found at the start of a text.

use crate::feeds::{Feeds, ModuleId, Named, PartId};
use crate::journal::Wrong;
use crate::journal::line::{ends_name, fold, starts_quotes, unquote};
use crate::problem::nearest;
use crate::vehicle::PartKind;
use std::collections::BTreeMap;

/// An index of all names of a vehicle. A place may bear the name of something else, so places are
/// apart.
#[derive(Clone, Debug, Default)]
pub struct Names {
    things: Index,
    places: Index,
    feeds_of: BTreeMap<ModuleId, Vec<String>>,
    /// A fuse, where one is entered: most entries can be about one.
    fuse: Option<String>,
}

/// One way to read the start of a text as a name.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Found {
    /// The name as the file has it.
    pub(super) name: String,
    /// What it means.
    pub(super) named: Named,
    /// Bytes of the text it takes.
    pub(super) length: usize,
}

impl Names {
    /// All names of a vehicle; what the lid says (`label`) counts like an id where no id or plug is
    /// called so.
    pub fn of(feeds: &Feeds) -> Self {
        let places = feeds.places().map(|place| {
            let name = feeds.place_as_written(place).id.value.clone();
            (name, Named::Place(place))
        });
        let things = feeds
            .names()
            .filter(|(_, named)| !matches!(named, Named::Place(_)))
            .map(|(name, named)| (name.to_owned(), named.clone()));
        let mut names = Self::from_list(places.chain(things));
        for part in feeds.parts() {
            if let Some(label) = &feeds.part(part).label {
                names.things.add_label(label, feeds.id(part));
            }
        }
        let mut fuses = feeds
            .parts()
            .filter(|part| feeds.part(*part).kind == PartKind::Fuse);
        names.fuse = fuses.next().map(|fuse| feeds.id(fuse).to_owned());
        for module in feeds.modules() {
            let wires = feeds.module_feeds(module).iter();
            let wires = wires.map(|part| feeds.id(*part).to_owned()).collect();
            names.feeds_of.insert(module, wires);
        }
        names
    }

    /// An index of the names listed.
    pub fn from_list(list: impl IntoIterator<Item = (String, Named)>) -> Self {
        let mut names = Self::default();
        for (name, named) in list {
            match named {
                Named::Place(_) => names.places.add(name, named),
                _ => names.things.add(name, named),
            }
        }
        names
    }

    /// The battery's id.
    pub fn battery(&self) -> &str {
        self.name_of(&Named::Part(PartId(0))).unwrap_or("battery")
    }

    /// The name of what is meant.
    pub fn name_of(&self, wanted: &Named) -> Option<&str> {
        let index = match wanted {
            Named::Place(_) => &self.places,
            _ => &self.things,
        };
        let mut names = index.exact.iter();
        names
            .find(|(_, named)| *named == wanted)
            .map(|(name, _)| name.as_str())
    }

    /// What a name means, exactly as written in the file; a place only where nothing else has its
    /// name.
    pub fn get(&self, name: &str) -> Option<&Named> {
        let place = || self.places.exact.get(name);
        self.things.exact.get(name).or_else(place)
    }

    /// What was meant by a name alone, with its name in the file: other capitals and what the lid says
    /// will do where one thing is meant.
    pub fn meant(&self, typed: &str) -> Option<(String, Named)> {
        let found = self.things_at(typed).ok()?;
        let whole = found.into_iter().find(|f| f.length == typed.len());
        whole.map(|f| (f.name, f.named))
    }

    /// Calls a thing, or a place, otherwise; `false` where nothing has the name. What had the other name
    /// loses it.
    pub(super) fn rename(&mut self, from: &str, to: &str, place: bool) -> bool {
        let index = if place {
            &mut self.places
        } else {
            &mut self.things
        };
        let Some(named) = index.exact.remove(from) else {
            return false;
        };
        index.exact.remove(to);
        for name in [from, to] {
            if let Some(meant) = index.folded.get_mut(&fold(name)) {
                meant.retain(|known| known != name);
            }
        }
        index.add(to.to_owned(), named);
        true
    }

    /// A part for examples: the first fuse, else the first below the battery.
    pub(super) fn example(&self) -> &str {
        let first = || self.name_of(&Named::Part(PartId(1)));
        let fuse = self.fuse.as_deref();
        fuse.or_else(first).unwrap_or_else(|| self.battery())
    }

    /// The known name most like the text, if any is like it; not of a place.
    pub fn nearest(&self, text: &str) -> Option<&str> {
        self.things.nearest(text)
    }

    /// The place whose name is most like the text, if any is like it.
    pub(super) fn nearest_place(&self, text: &str) -> Option<&str> {
        self.places.nearest(text)
    }

    /// The names of all places.
    pub(super) fn places(&self) -> impl Iterator<Item = &str> {
        self.places.exact.keys().map(String::as_str)
    }

    /// The names of a module's feeds.
    pub(super) fn feeds_of(&self, module: ModuleId) -> &[String] {
        self.feeds_of.get(&module).map_or(&[], Vec::as_slice)
    }

    /// Every name the text starts with but those of places, the longest first. The word `battery`
    /// stands for the battery where nothing is called so.
    pub(super) fn things_at(&self, text: &str) -> Result<Vec<Found>, Wrong> {
        let mut found = self.things.at_start(text)?;
        let end = text.find(ends_name).unwrap_or(text.len());
        if found.is_empty() && text[..end].eq_ignore_ascii_case("battery") {
            found.push(Found {
                name: self.battery().to_owned(),
                named: Named::Part(PartId(0)),
                length: end,
            });
        }
        Ok(found)
    }

    /// Every name of a place that the text starts with, the longest first.
    pub(super) fn places_at(&self, text: &str) -> Result<Vec<Found>, Wrong> {
        self.places.at_start(text)
    }
}

#[derive(Clone, Debug, Default)]
struct Index {
    exact: BTreeMap<String, Named>,
    /// Lower case with single blanks → the names meant by that.
    folded: BTreeMap<String, Vec<String>>,
    /// Characters of the longest name or label.
    longest: usize,
}

impl Index {
    fn add(&mut self, name: String, named: Named) {
        self.longest = self.longest.max(name.chars().count());
        let meant = self.folded.entry(fold(&name)).or_default();
        meant.push(name.clone());
        self.exact.insert(name, named);
    }

    fn add_label(&mut self, label: &str, id: &str) {
        let folded = fold(label);
        if folded.is_empty() {
            return;
        }
        self.longest = self.longest.max(label.chars().count());
        let meant = self.folded.entry(folded.clone()).or_default();
        // A name beats a label: names are unique.
        let a_name = meant.iter().any(|name| fold(name) == folded);
        if !a_name && !meant.iter().any(|name| name == id) {
            meant.push(id.to_owned());
        }
    }

    /// | written | result |
    /// | --- | --- |
    /// | exactly as in the file | it |
    /// | with other capitals or blanks, or as a label, and one name is meant | it |
    /// | the same, several are meant | [`Wrong::SeveralNames`] |
    /// | otherwise | `None` |
    fn look_up(&self, text: &str) -> Result<Option<(String, Named)>, Wrong> {
        if let Some(named) = self.exact.get(text) {
            return Ok(Some((text.to_owned(), named.clone())));
        }
        match self.folded.get(&fold(text)).map(Vec::as_slice) {
            None | Some([]) => Ok(None),
            Some([name]) => {
                let named = self.exact.get(name);
                Ok(named.map(|named| (name.clone(), named.clone())))
            }
            Some(several) => Err(Wrong::SeveralNames {
                typed: text.to_owned(),
                names: several.to_vec(),
            }),
        }
    }

    /// Every name the text starts with, the longest first. In quotes there is one at most. Names
    /// that could be several are passed over while a shorter one is clear, and none ends inside
    /// words in quotes, which belong together.
    fn at_start(&self, text: &str) -> Result<Vec<Found>, Wrong> {
        if let Some((name, length)) = unquote(text) {
            let found = self.look_up(&name)?.map(|(name, named)| Found {
                name,
                named,
                length,
            });
            return Ok(found.into_iter().collect());
        }
        let mut found = Vec::new();
        let mut unclear = None;
        // Blanks may be doubled, so look somewhat further than the longest name.
        let reach = self.longest * 2 + 2;
        let mut before = ' ';
        let mut quoted_to = 0;
        let end = std::iter::once((text.len(), ' '));
        for (at, c) in text.char_indices().chain(end).take(reach) {
            if starts_quotes(before, c) && at >= quoted_to {
                quoted_to = unquote(&text[at..]).map_or(0, |(_, length)| at + length);
            }
            if ends_name(c) && at >= quoted_to && at > 0 && !before.is_whitespace() {
                match self.look_up(&text[..at]) {
                    Ok(Some((name, named))) => found.push(Found {
                        name,
                        named,
                        length: at,
                    }),
                    Ok(None) => {}
                    Err(wrong) => unclear = Some(wrong),
                }
            }
            before = c;
        }
        found.reverse();
        match unclear {
            Some(wrong) if found.is_empty() => Err(wrong),
            _ => Ok(found),
        }
    }

    /// The name most like a text. Behind a word for its kind the number is meant: `fuse 17` is F17 and not F2.
    fn nearest(&self, text: &str) -> Option<&str> {
        let typed = fold(text);
        let names = || self.exact.keys().map(String::as_str);
        let (kind, last) = match typed.rsplit_once(' ') {
            Some((kind, last)) if kind.len() > 1 => (kind, last),
            _ => return nearest(&typed, names()),
        };
        let number = number_in(&typed);
        if number.is_empty() {
            return nearest(&typed, names());
        }
        let initial = match kind {
            "relay" => 'k',
            "plug" | "connector" => 'c',
            _ => kind.chars().next()?,
        };
        let short = format!("{initial}{number}");
        let is_it = |name: &&str| [last, short.as_str()].contains(&fold(name).as_str());
        let alike = |name: &&str| number_in(name) == number;
        names()
            .find(is_it)
            .or_else(|| nearest(&typed, names().filter(alike)))
    }
}

/// The digits in a name, those of several numbers apart.
fn number_in(name: &str) -> String {
    let apart = name.split(|c: char| !c.is_ascii_digit());
    let numbers: Vec<&str> = apart.filter(|part| !part.is_empty()).collect();
    numbers.join(" ")
}
