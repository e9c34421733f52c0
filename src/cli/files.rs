//! Files as the command line names them; `-` is standard input or standard output.

use crate::cli::{Failure, say};
use crate::render::commands;
use std::io::{Read, Write};
use std::path::Path;

/// Whether a name means a standard stream.
pub(super) fn is_stream(file: &Path) -> bool {
    file.as_os_str() == "-"
}

/// Whether the ending of a drawing's name asks for a page of HTML.
pub(super) fn is_page(file: &Path) -> bool {
    let ending = file.extension().map(std::ffi::OsStr::to_ascii_lowercase);
    ending.is_some_and(|e| e == "html" || e == "htm")
}

/// A file's name as it was given, and its text.
pub(super) fn read(file: &Path) -> Result<(String, String), Failure> {
    let (name, bytes) = bytes_of(file)?;
    match String::from_utf8(bytes) {
        Ok(text) => Ok((name, text)),
        Err(other) => {
            let good = &other.as_bytes()[..other.utf8_error().valid_up_to()];
            let good = std::str::from_utf8(good).unwrap_or_default();
            let line = 1 + good.matches('\n').count();
            let what = commands::not_utf8_at(line);
            let error = std::io::Error::new(std::io::ErrorKind::InvalidData, what);
            Err(Failure::Read(name, error))
        }
    }
}

/// A table's file as spreadsheets save it: UTF-8, else UTF-16 with its mark, else Windows-1252, which
/// has the letters of Latin-1. Says which, where it is not UTF-8.
pub(super) fn read_table(file: &Path) -> Result<(String, String), Failure> {
    let (name, bytes) = bytes_of(file)?;
    let bytes = match String::from_utf8(bytes) {
        Ok(text) => return Ok((name, text)),
        Err(other) => other.into_bytes(),
    };
    let marked = encoding_rs::Encoding::for_bom(&bytes).map(|(encoding, _)| encoding);
    let encoding = marked.unwrap_or(encoding_rs::WINDOWS_1252);
    let (text, encoding, _) = encoding.decode(&bytes);
    let called = encoding.name();
    say(&commands::read_as(&name, called));
    Ok((name, text.into_owned()))
}

/// A file's name as it was given, and what it holds.
fn bytes_of(file: &Path) -> Result<(String, Vec<u8>), Failure> {
    let (name, bytes) = if is_stream(file) {
        let mut bytes = Vec::new();
        let read = std::io::stdin().read_to_end(&mut bytes);
        (commands::STANDARD_INPUT.to_owned(), read.map(|_| bytes))
    } else {
        (file.display().to_string(), std::fs::read(file))
    };
    match bytes {
        Ok(bytes) => Ok((name, bytes)),
        Err(error) => Err(Failure::Read(name, error)),
    }
}

/// The name and the text of a vehicle file that is to be changed where it stands.
pub(super) fn read_to_change(file: &Path) -> Result<(String, String), Failure> {
    if is_stream(file) {
        return Err(Failure::Usage(commands::changed_in_place()));
    }
    read(file)
}

/// Writes a whole file: the old one stays until the new one is on disk, so that a machine that fails
/// half way leaves one of the two. A link keeps pointing where it did, a file keeps its permissions.
pub(super) fn write(file: &Path, text: &str) -> Result<(), Failure> {
    if is_stream(file) {
        let mut out = std::io::stdout().lock();
        out.write_all(text.as_bytes())?;
        return Ok(out.flush()?);
    }
    replace(file, text).map_err(|error| Failure::WriteTo(file.display().to_string(), error))
}

fn replace(file: &Path, text: &str) -> std::io::Result<()> {
    let file = file.canonicalize().unwrap_or_else(|_| file.to_owned());
    let old = std::fs::metadata(&file).ok();
    // A device or a pipe is written to, not replaced.
    if old.as_ref().is_some_and(|old| !old.is_file()) {
        return std::fs::write(&file, text);
    }
    let folder = folder_of(&file);
    nameless(folder, text, old.map(|old| old.permissions()))?.persist(&file)?;
    sync(folder)
}

/// Writes a whole new file; `false` when the name is taken.
pub(super) fn create(file: &Path, text: &str) -> std::io::Result<bool> {
    let folder = folder_of(file);
    match nameless(folder, text, None)?.persist_noclobber(file) {
        Ok(_) => sync(folder).map(|()| true),
        Err(refused) if refused.error.kind() == std::io::ErrorKind::AlreadyExists => Ok(false),
        Err(refused) => Err(refused.error),
    }
}

/// The folder a file is in.
pub(super) fn folder_of(file: &Path) -> &Path {
    match file.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    }
}

/// A text on the disk that has no name of its own yet.
fn nameless(
    folder: &Path,
    text: &str,
    permissions: Option<std::fs::Permissions>,
) -> std::io::Result<tempfile::NamedTempFile> {
    let mut new = tempfile::Builder::new();
    match permissions {
        Some(permissions) => _ = new.permissions(permissions),
        None => ordinary(&mut new),
    }
    let mut new = new.prefix(".halfsplit-").tempfile_in(folder)?;
    new.write_all(text.as_bytes())?;
    new.as_file().sync_all()?;
    Ok(new)
}

/// Puts the names in a folder on the disk. Windows has no way to do so, and needs none.
fn sync(folder: &Path) -> std::io::Result<()> {
    if cfg!(unix) {
        std::fs::File::open(folder)?.sync_all()?;
    }
    Ok(())
}

/// A new file gets what the user's mask allows, not the privacy of a temporary one.
#[cfg(unix)]
fn ordinary(new: &mut tempfile::Builder<'_, '_>) {
    use std::os::unix::fs::PermissionsExt;
    new.permissions(std::fs::Permissions::from_mode(0o666));
}
#[cfg(not(unix))]
fn ordinary(_: &mut tempfile::Builder<'_, '_>) {}
