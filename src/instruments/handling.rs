//! What each thing one does at the vehicle takes, and how often it wakes what sleeps: the part of the
//! cost of a plan that depends on who does it and with what. The rest stands in the vehicle file: the
//! `reach` of each place, whether opening it `wakes`, and the `settle`.

use crate::quantity::Minutes;

/// Minutes of single steps, and chances to wake the vehicle.
#[derive(Clone, Copy, Debug, PartialEq)]
#[allow(missing_docs)] // each by the word of its entry
pub struct Handling {
    pub look: Minutes,
    pub volts: Minutes,
    pub drop: Minutes,
    pub clamp: Minutes,
    pub draw: Minutes,
    pub series: Minutes,
    pub pull: Minutes,
    pub unplug: Minutes,
    pub refit: Minutes,
    /// To carry an instrument to another place.
    pub carry: Minutes,
    /// Taking out, or putting back, a lamp, a motor or a heater.
    pub wakes_plain: f64,
    /// A fuse over nothing but such, or another load on no network.
    pub wakes_fuse: f64,
    /// Anything on a network, or with loads that are not entered.
    pub wakes_network: f64,
}

impl Handling {
    /// What counts where the file says nothing (judgement).
    pub const USUAL: Self = Self {
        look: Minutes::of(0.5),
        volts: Minutes::of(0.3),
        drop: Minutes::of(0.3),
        clamp: Minutes::of(0.5),
        draw: Minutes::of(0.5),
        series: Minutes::of(3.0),
        pull: Minutes::of(1.0),
        unplug: Minutes::of(1.0),
        refit: Minutes::of(1.0),
        carry: Minutes::of(1.0),
        wakes_plain: 0.05,
        wakes_fuse: 0.1,
        wakes_network: 0.9,
    };
}

impl Default for Handling {
    fn default() -> Self {
        Self::USUAL
    }
}
