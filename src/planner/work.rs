//! What planning counts and looks up with: operations in place of a clock, maps without randomness.

use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// A map with a fixed hash: no randomness, the same order every time.
pub(crate) type Map<K, V> = HashMap<K, V, BuildHasherDefault<Mixing>>;

/// The hash of [`Map`]: quick, for keys of a few numbers that nobody chooses to clash.
#[derive(Default)]
pub(crate) struct Mixing(u64);

impl Hasher for Mixing {
    fn finish(&self) -> u64 {
        mix(self.0)
    }

    fn write(&mut self, bytes: &[u8]) {
        for chunk in bytes.chunks(8) {
            let mut word = [0; 8];
            word[..chunk.len()].copy_from_slice(chunk);
            self.write_u64(u64::from_le_bytes(word));
        }
    }

    fn write_u64(&mut self, word: u64) {
        // An odd multiplier: no two words after the same ones become one.
        self.0 = (self.0.rotate_left(5) ^ word).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    }

    fn write_u8(&mut self, word: u8) {
        self.write_u64(u64::from(word));
    }

    fn write_u16(&mut self, word: u16) {
        self.write_u64(u64::from(word));
    }

    fn write_u32(&mut self, word: u32) {
        self.write_u64(u64::from(word));
    }

    fn write_usize(&mut self, word: usize) {
        self.write_u64(word as u64);
    }
}

/// A count of elementary operations, in place of a clock: the same table always gets the same plan.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Budget {
    all: u64,
    left: u64,
}

impl Budget {
    /// About a nanosecond or two each in an optimised build.
    pub(crate) fn new(operations: u64) -> Self {
        Self {
            all: operations,
            left: operations,
        }
    }

    pub(crate) fn spend(&mut self, operations: usize) {
        self.left = self.left.saturating_sub(operations as u64);
    }

    /// Whether less than a third is left.
    pub(crate) fn is_low(self) -> bool {
        self.left < self.all / 3
    }

    pub(crate) fn is_spent(self) -> bool {
        self.left == 0
    }
}

/// Well mixed bits of a number.
pub(crate) fn mix(value: u64) -> u64 {
    // The finaliser of SplitMix64 (Steele, Lea & Flood 2014), from memory.
    let mut z = value.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}
