//! Sealing an exercise, so that opening its file does not give the answer away.
//!
//! **How strong.** Without a passphrase the key is in this program: it keeps the answer from eyes, not
//! from anyone who wants it. With one the key is made of the passphrase (Argon2id with its crate's
//! standard cost) and the text locked with XChaCha20-Poly1305, whose tag also tells a seal that was
//! changed: as strong as the passphrase. What the program can play, it can be made to tell: a passphrase
//! keeps the answer only from who does not have it.
//!
//! Between them stands a seal that learners play without the passphrase: what is hidden is kept from eyes
//! alone, since the vehicle must answer, and the program gives debrief, marks and answer sheet only to
//! who knows the passphrase. That holds against every command of this program, and not against who
//! changes it.

use argon2::Argon2;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use chacha20poly1305::aead::{Aead as _, KeyInit as _, Payload};
use chacha20poly1305::{Key, XChaCha20Poly1305, XNonce};

/// Opens nothing but eyes.
const FOR_EYES: [u8; 32] = *b"halfsplit: keeps from eyes alone";
/// What the seal belongs to.
const ABOUT: &[u8] = b"halfsplit exercise, format 1";
const SALT: usize = 16;
const NONCE: usize = 24;
/// What a seal begins with: whether it wants a passphrase.
const OPEN: &str = "eyes:";
const LOCKED: &str = "passphrase:";
const PLAYED: &str = "learners:";

/// What a seal keeps back, and from whom.
#[derive(Clone, Copy, Debug)]
pub(super) enum Lock<'p> {
    /// From eyes alone.
    Eyes,
    /// All of it from who does not know the passphrase.
    Passphrase(&'p str),
    /// From eyes; the program plays it, and tells what came of it to who knows the passphrase.
    Played(&'p str),
}

/// What was in a seal.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Inside {
    /// The text.
    pub(super) text: String,
    /// It may be played, and nothing of it told.
    pub(super) withheld: bool,
}

/// Why a seal does not open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shut {
    /// It wants a passphrase, and none is given.
    Wants,
    /// It is another passphrase, or the seal was changed.
    Wrong,
    /// It is no seal.
    None,
}

fn locked(key: &[u8; 32], nonce: [u8; NONCE], text: &[u8]) -> Option<Vec<u8>> {
    let cipher = XChaCha20Poly1305::new(&Key::from(*key));
    let payload = Payload {
        msg: text,
        aad: ABOUT,
    };
    cipher.encrypt(&XNonce::from(nonce), payload).ok()
}

fn opened(key: &[u8; 32], nonce: [u8; NONCE], sealed: &[u8]) -> Option<String> {
    let cipher = XChaCha20Poly1305::new(&Key::from(*key));
    let payload = Payload {
        msg: sealed,
        aad: ABOUT,
    };
    let text = cipher.decrypt(&XNonce::from(nonce), payload).ok()?;
    String::from_utf8(text).ok()
}

fn key(passphrase: &str, salt: &[u8]) -> Option<[u8; 32]> {
    let mut key = [0; 32];
    let argon = Argon2::default();
    argon
        .hash_password_into(passphrase.as_bytes(), salt, &mut key)
        .ok()?;
    Some(key)
}

/// Seals a text. `None` where the machine gives no random numbers.
pub(super) fn seal(text: &str, lock: Lock<'_>) -> Option<String> {
    let mut random = [0; SALT + NONCE];
    getrandom::fill(&mut random).ok()?;
    let (salt, nonce) = random.split_at(SALT);
    let nonce: [u8; NONCE] = nonce.try_into().ok()?;
    let (head, key, text) = match lock {
        Lock::Passphrase(passphrase) => (LOCKED, key(passphrase, salt)?, text.to_owned()),
        Lock::Eyes => (OPEN, FOR_EYES, text.to_owned()),
        Lock::Played(passphrase) => {
            let known_by = STANDARD.encode(key(passphrase, salt)?);
            (PLAYED, FOR_EYES, format!("{known_by}\n{text}"))
        }
    };
    let sealed = locked(&key, nonce, text.as_bytes())?;
    let bytes = [&random[..], &sealed].concat();
    Some(format!("{head}{}", STANDARD.encode(bytes)))
}

/// Opens a seal.
pub(super) fn open(seal: &str, passphrase: Option<&str>) -> Result<Inside, Shut> {
    let (wants, text) = if let Some(text) = seal.strip_prefix(LOCKED) {
        (true, text)
    } else {
        let text = seal
            .strip_prefix(OPEN)
            .or_else(|| seal.strip_prefix(PLAYED));
        (false, text.ok_or(Shut::None)?)
    };
    let bytes = STANDARD.decode(text).map_err(|_| Shut::None)?;
    let (salt, rest) = bytes.split_at_checked(SALT).ok_or(Shut::None)?;
    let (nonce, sealed) = rest.split_at_checked(NONCE).ok_or(Shut::None)?;
    let nonce: [u8; NONCE] = nonce.try_into().map_err(|_| Shut::None)?;
    let key = match (wants, passphrase) {
        (false, _) => FOR_EYES,
        (true, None) => return Err(Shut::Wants),
        (true, Some(passphrase)) => key(passphrase, salt).ok_or(Shut::Wrong)?,
    };
    let text = opened(&key, nonce, sealed).ok_or(Shut::Wrong)?;
    if !seal.starts_with(PLAYED) {
        let withheld = false;
        return Ok(Inside { text, withheld });
    }
    let (known_by, text) = text.split_once('\n').ok_or(Shut::None)?;
    let knows =
        passphrase.map(|p| self::key(p, salt).is_some_and(|k| STANDARD.encode(k) == known_by));
    if knows == Some(false) {
        return Err(Shut::Wrong);
    }
    Ok(Inside {
        text: text.to_owned(),
        withheld: knows.is_none(),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)] // a test may fail loudly
mod tests {
    use super::*;

    #[test]
    fn what_is_sealed_opens_with_its_passphrase_alone() {
        let text = "Exercise(hidden: [Cause(coil: \"K1 coil\")])";
        let eyes = seal(text, Lock::Eyes).unwrap();
        let locked = seal(text, Lock::Passphrase("blue door")).unwrap();
        let played = seal(text, Lock::Played("blue door")).unwrap();
        for sealed in [&eyes, &locked, &played] {
            assert!(!sealed.contains("coil"), "{sealed}");
        }
        let again = seal(text, Lock::Eyes).unwrap();
        assert_ne!(eyes, again, "no two seals are alike");
        let inside = |withheld| {
            let text = text.to_owned();
            Ok(Inside { text, withheld })
        };
        assert_eq!(open(&eyes, None), inside(false));
        assert_eq!(open(&locked, Some("blue door")), inside(false));
        assert_eq!(open(&locked, None), Err(Shut::Wants));
        assert_eq!(open(&locked, Some("blue d00r")), Err(Shut::Wrong));
        // Learners play it, and are told nothing.
        assert_eq!(open(&played, None), inside(true));
        assert_eq!(open(&played, Some("blue door")), inside(false));
        assert_eq!(open(&played, Some("blue d00r")), Err(Shut::Wrong));
        assert_eq!(open("passphrase:AAAA", Some("x")), Err(Shut::None));
        assert_eq!(open("anything", None), Err(Shut::None));
        // One letter changed: the tag tells.
        let at = eyes.len() - 10;
        let other = if &eyes[at..=at] == "A" { "B" } else { "A" };
        let bent = format!("{}{other}{}", &eyes[..at], &eyes[at + 1..]);
        assert_eq!(open(&bent, None), Err(Shut::Wrong));
    }
}
