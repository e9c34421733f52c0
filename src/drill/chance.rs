//! Choices that follow from a number the learner can pass on.
//!
//! Every question has a name, and the answer follows from the number and the name alone: the order in
//! which questions are asked does not matter, so that two learners who read the same fuse see the same
//! error of the meter, whatever they did before.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// The generator and its version, stored with each attempt. The seed is the number and the FNV-1a hash
/// (64 bits) of the question, both with their low byte first, then zeros. The version goes up where the
/// same lines would show something else: in 2 a draw that names no jack goes down to the small one once
/// a draw has shown that it fits; in 3 open contacts pass nothing, coils let go with what commands them,
/// and a number may hide a welded contact or a shorted control wire; in 4 a meter in line takes its burden
/// off what is a plain resistance, an input comes out by its own connector, a number
/// may hide one, and a settle begins at the end of what woke the vehicle.
pub const GENERATOR: &str = "ChaCha8 (rand_chacha 0.10.0), a stream a question, version 4";

/// The choices of one number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chance(pub u64);

impl Chance {
    /// From 0 up to, but not, 1.
    pub fn at(self, question: &str) -> f64 {
        let mut seed = [0; 32];
        seed[..8].copy_from_slice(&self.0.to_le_bytes());
        seed[8..16].copy_from_slice(&hash(question).to_le_bytes());
        let bits = ChaCha8Rng::from_seed(seed).next_u64() >> 11;
        // 53 bits are what a float holds exactly.
        bits as f64 / (1_u64 << 53) as f64
    }

    /// One of so many.
    pub fn one_of(self, question: &str, count: usize) -> usize {
        ((self.at(question) * count as f64) as usize).min(count.saturating_sub(1))
    }
}

/// What tells one text from another, however its lines end: kept in an attempt for the file it was made at,
/// so that the file may be renamed. Against chance, not against who wants two texts alike.
pub fn fingerprint(text: &str) -> String {
    let lines: Vec<&str> = text.lines().map(str::trim_end).collect();
    format!("{:016x}", hash(lines.join("\n").trim_end()))
}

/// FNV-1a, 64 bits (the constants of its reference, from memory).
fn hash(text: &str) -> u64 {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for byte in text.bytes() {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }
    hash
}
