//! The lines of a case file: RON, one value a line, each with a check sum over what stands before it.
//!
//! The first line is a `Case`, every other one an `Entry`, `Files` where the vehicle file or the
//! instruments file changed, or `Renamed` where something got another name: entries before it are
//! about what they called so then. Blank lines and lines that start with `//` say nothing. A line without
//! `sum` is taken as it stands, so that a person can mend one.

use crate::case::Entry;
use crate::cli::case_file::Fault;
use crate::journal::Renaming;
use crate::notation;
use crate::render::commands;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::fmt::Write as _;

/// Which files a case rests on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Files {
    /// The vehicle file as seen from the case file's folder, or its whole path.
    pub(super) vehicle: String,
    /// The vehicle's name.
    pub(super) name: String,
    /// Of the vehicle file's text: tells whether it has changed.
    pub(super) fingerprint: String,
    /// The instruments file, likewise; none was given.
    pub(super) instruments: Option<String>,
}

/// A case file's text, taken apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Whole {
    pub(super) files: Files,
    /// The text of each entry.
    pub(super) kept: Vec<String>,
    /// When each was entered, where that stands there.
    pub(super) times: Vec<Option<String>>,
    /// What got another name between them.
    pub(super) renamings: Vec<Renaming>,
    /// Bytes up to which every line is whole.
    pub(super) end: usize,
    /// The line break of the last one is there.
    pub(super) ended: bool,
    /// Bytes behind `end`: a line cut off in the middle.
    pub(super) torn: usize,
}

#[derive(Deserialize)]
#[serde(rename = "Case", deny_unknown_fields)]
struct CaseLine {
    format: u32,
    #[serde(rename = "opened")]
    _opened: Option<String>,
    vehicle: String,
    name: String,
    fingerprint: String,
    instruments: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename = "Files", deny_unknown_fields)]
struct FilesLine {
    vehicle: String,
    name: String,
    fingerprint: String,
    instruments: Option<String>,
}

#[derive(Deserialize)]
#[serde(rename = "Renamed", deny_unknown_fields)]
struct RenamedLine {
    /// Local time, to the minute; no sums are made with it.
    #[serde(rename = "at")]
    _at: Option<String>,
    #[serde(default)]
    place: bool,
    old: String,
    new: String,
}

#[derive(Deserialize)]
#[serde(rename = "Entry", deny_unknown_fields)]
struct EntryLine {
    number: u32,
    /// Local time of entering, to the minute.
    at: Option<String>,
    text: String,
}

/// A check sum: CRC-32, as eight hexadecimal digits.
pub(super) fn sum(bytes: &[u8]) -> String {
    format!("{:08x}", crc32fast::hash(bytes))
}

const SUM: &str = ", sum: \"";

/// Closes a line that is open at its last field.
fn sealed(open: &str) -> String {
    format!("{open}{SUM}{}\")\n", sum(open.as_bytes()))
}

fn fields(files: &Files) -> String {
    let mut text = format!(
        "vehicle: {:?}, name: {:?}, fingerprint: {:?}",
        files.vehicle, files.name, files.fingerprint
    );
    if let Some(instruments) = &files.instruments {
        // Writing to a string cannot fail.
        let _ = write!(text, ", instruments: {instruments:?}");
    }
    text
}

/// The first line.
pub(super) fn case(files: &Files, opened: &str) -> String {
    sealed(&format!(
        "Case(format: 1, opened: {opened:?}, {}",
        fields(files)
    ))
}

/// A line for files that have changed or moved.
pub(super) fn moved(files: &Files) -> String {
    sealed(&format!("Files({}", fields(files)))
}

/// A line for something that got another name.
pub(super) fn renamed(renaming: &Renaming, at: &str) -> String {
    let place = if renaming.place { "place: true, " } else { "" };
    sealed(&format!(
        "Renamed(at: {at:?}, {place}old: {:?}, new: {:?}",
        renaming.old, renaming.new
    ))
}

/// A line for an entry.
pub(super) fn entry(entry: &Entry, at: &str) -> String {
    sealed(&format!(
        "Entry(number: {}, at: {at:?}, text: {:?}",
        entry.number, entry.text
    ))
}

/// The line without its check sum, or what is wrong with it.
fn unsealed(line: &str) -> Result<String, String> {
    let Some(at) = line.rfind(SUM) else {
        return Ok(line.to_owned());
    };
    let (open, seal) = line.split_at(at);
    if seal[SUM.len()..].trim_end() == format!("{}\")", sum(open.as_bytes())) {
        Ok(format!("{open})"))
    } else {
        Err(commands::wrong_sum())
    }
}

/// Whether a line has come to its end; one that was broken off has not.
fn is_closed(line: &[u8]) -> bool {
    let line = line.trim_ascii_end();
    let seal = line.len().checked_sub(SUM.len() + 10);
    line.ends_with(b"\")") && seal.is_some_and(|at| line[at..].starts_with(SUM.as_bytes()))
}

fn value<T: DeserializeOwned>(line: &str) -> Result<T, String> {
    notation::options()
        .from_str(line)
        .map_err(|_| commands::wrong_line())
}

/// Takes one line; the first one makes the whole.
fn take(line: &[u8], whole: &mut Option<Whole>) -> Result<(), String> {
    let line = std::str::from_utf8(line).map_err(|_| commands::not_utf8())?;
    let line = line.trim_start_matches('\u{feff}').trim();
    if line.is_empty() || line.starts_with("//") {
        return Ok(());
    }
    let line = unsealed(line)?;
    let Some(whole) = whole else {
        let head: CaseLine = value(&line)?;
        if head.format != 1 {
            return Err(commands::wrong_format(head.format));
        }
        *whole = Some(Whole {
            files: Files {
                vehicle: head.vehicle,
                name: head.name,
                fingerprint: head.fingerprint,
                instruments: head.instruments,
            },
            kept: Vec::new(),
            times: Vec::new(),
            renamings: Vec::new(),
            end: 0,
            ended: true,
            torn: 0,
        });
        return Ok(());
    };
    if line.starts_with("Files") {
        let files: FilesLine = value(&line)?;
        whole.files = Files {
            vehicle: files.vehicle,
            name: files.name,
            fingerprint: files.fingerprint,
            instruments: files.instruments,
        };
        return Ok(());
    }
    if line.starts_with("Renamed") {
        let RenamedLine {
            place, old, new, ..
        } = value(&line)?;
        let behind = whole.kept.len();
        whole.renamings.push(Renaming {
            behind,
            old,
            new,
            place,
        });
        return Ok(());
    }
    let entry: EntryLine = value(&line)?;
    let expected = whole.kept.len() + 1;
    if entry.number as usize != expected {
        return Err(commands::wrong_entry(entry.number, expected));
    }
    whole.kept.push(entry.text);
    whole.times.push(entry.at);
    Ok(())
}

/// Takes the bytes of a case file apart. Linear in their number.
///
/// A last line without its line break counts when it is whole, and is cut off when it is not: that
/// is how a write ends that was broken off.
pub(super) fn read(bytes: &[u8]) -> Result<Whole, Fault> {
    let start = bytes.trim_ascii_start();
    let start = start.strip_prefix(b"\xef\xbb\xbf").unwrap_or(start);
    let comment = start.starts_with(b"//");
    if !(start.starts_with(b"Case") || comment) {
        return Err(Fault::NotACase);
    }
    let mut whole = None;
    let (mut end, mut ended) = (0, true);
    for (index, line) in bytes.split_inclusive(|b| *b == b'\n').enumerate() {
        let broken_off = !line.ends_with(b"\n");
        match take(line, &mut whole) {
            Ok(()) => (end, ended) = (end + line.len(), !broken_off),
            Err(_) if broken_off && whole.is_some() && !is_closed(line) => break,
            Err(why) => {
                return Err(Fault::Damaged {
                    line: index + 1,
                    why,
                });
            }
        }
    }
    let Some(whole) = whole else {
        return Err(Fault::NotACase);
    };
    Ok(Whole {
        end,
        ended,
        torn: bytes.len() - end,
        ..whole
    })
}
