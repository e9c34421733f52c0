//! What the instruments show at a parked vehicle.
//!
//! **Invariants.** What is shown is the true value, with the error of the instrument and nothing else,
//! unless a trap spoils it.

use super::{Cannot, Happened, Hidden, Parked, forbidden};
use crate::feeds::{Feeds, PartId};
use crate::instruments::Range;
use crate::journal::Point;
use crate::measurement::{FELT_FROM, Jack, Method, Way, lets_in, offered, range_of, resistance};
use crate::quantity::{Milliohms, Quantity};
use crate::simulation::{Drain, shown};
use crate::vehicle::{LoadKind, PartKind};

impl Parked<'_> {
    /// What is typed behind a test: the reading as the display shows it, with its unit, and what came
    /// of taking it.
    ///
    /// # Errors
    /// Where the test cannot be done.
    pub fn read(
        &mut self,
        method: Method,
        point: &Point,
        way: Option<Way>,
    ) -> Result<(String, Vec<Happened>), Cannot> {
        let feeds = &self.setting.feeds;
        let part = match point {
            Point::Part(part) => *part,
            Point::Battery => PartId(0),
            Point::Plug(_, parts) if method == Method::Look => {
                *parts.first().ok_or(Cannot::NoPart)?
            }
            Point::Network(network) if method == Method::Look => {
                let feeds = &self.setting.feeds;
                let up = feeds.partners(*network).any(|module| self.is_up(module));
                return Ok((if up { "busy" } else { "silent" }.to_owned(), Vec::new()));
            }
            Point::Input(name) if method == Method::Look => {
                let is_it = |hidden: &Hidden| hidden.drain == Drain::Input(name.clone());
                let on = self.hidden.iter().any(is_it);
                return Ok((if on { "on" } else { "off" }.to_owned(), Vec::new()));
            }
            _ => return Err(Cannot::NoPart),
        };
        let instruments = &self.setting.instruments;
        let enters = |way| lets_in(feeds, instruments, part, method, way);
        let let_in = part != PartId(0) && way.is_some_and(enters);
        let offers = offered(feeds, part);
        // By a loop in its holder, or round the wire that leads to it.
        let there = (let_in || method == Method::Clamp) && offers.contains(&Method::Series);
        let offered = offers.contains(&method) || there;
        if method != Method::Draw && part != PartId(0) && !offered {
            return Err(if forbidden(feeds, part) {
                Cannot::Forbidden
            } else {
                Cannot::NotOffered
            });
        }
        let mut happened: Vec<Happened> = if method == Method::Draw {
            Vec::new()
        } else {
            self.reach(feeds.place(part)).into_iter().collect()
        };
        if let_in {
            // What goes in there breaks the supply; the reading waits until all sleeps again.
            self.lose_without(Some(part));
            if self.stir(&[part], "letting in").is_some() {
                self.settle();
            }
        }
        let current = self.currents()[part.index()];
        let name = format!("{method:?} {}", feeds.id(part));
        let place = 2.0 * (self.choice)(&name) - 1.0;
        let text = match method {
            Method::Drop => {
                let range = self.setting.instruments.meter.and_then(|m| m.millivolts);
                let range = range.ok_or(Cannot::NoInstrument)?;
                let ohms = self.milliohms(part).ok_or(Cannot::NotOffered)?;
                if self.blown.contains(&part) && self.is_pulling(part) {
                    // Nothing flows, and nothing is lost on the way: all of the supply stands across it.
                    format!("{:.1}V", self.supply(part))
                } else {
                    let volts = current * ohms / 1000.0;
                    format!("{}mV", on_display(volts, &range, place))
                }
            }
            Method::Volts => {
                let meter = self.setting.instruments.meter;
                meter.ok_or(Cannot::NoInstrument)?;
                let fed = self.fed()[part.index()];
                format!("{:.1}V", if fed { self.supply(part) } else { 0.0 })
            }
            Method::Look => self.seen(part).to_owned(),
            _ => self.amps(part, way, place, &mut happened)?,
        };
        Ok((text, happened))
    }

    /// The true resistance between the probes of a drop, inside its band, in mΩ.
    pub fn milliohms(&self, part: PartId) -> Option<f64> {
        let feeds = &self.setting.feeds;
        let band = resistance(feeds, part)?.band;
        let share = (self.choice)(&format!("resistance {}", feeds.id(part)));
        Some(band.low() + share * (band.high() - band.low()))
    }

    /// What flows at a part while the meter stands in line there, in mA: with plain resistances `R` and
    /// other draws `c` below, of which all have the supply `V`, Ohm and Kirchhoff give
    /// `I = (c + V / R) / (1 + burden / R)`.
    fn through(&self, part: PartId, burden: Option<Milliohms>) -> f64 {
        let feeds = &self.setting.feeds;
        let currents = self.currents();
        let own = |p: PartId| {
            let below: f64 = feeds.children(p).map(|c| currents[c.index()]).sum();
            currents[p.index()] - below
        };
        let below = feeds.subtree(part).map(PartId);
        let plain = below.filter(|p| is_plain_resistance(feeds, *p));
        // mA / V is mS.
        let conductance: f64 = plain.map(|p| own(p) / self.supply(p)).sum();
        let ohms = burden.map_or(0.0, |burden| burden.value() / 1000.0);
        currents[part.index()] / (1.0 + ohms * conductance / 1000.0)
    }

    /// Volts of the rested battery at a part.
    fn supply(&self, part: PartId) -> f64 {
        let rested = if self.traps.battery_low { 0.99 } else { 1.04 };
        rested * self.setting.feeds.volts_at(part).value() / 1000.0
    }

    /// Whether a blown part has a live feed, and something below it that would take current.
    fn is_pulling(&self, blown: PartId) -> bool {
        let feeds = &self.setting.feeds;
        let dead = self.dead();
        let fed = self.vehicle.fed(&dead);
        let above = feeds.up(blown).is_none_or(|up| fed[up.index()]);
        let below = feeds.subtree(blown).map(PartId);
        above && below.skip(1).any(|p| feeds.load_kind(p).is_some())
    }

    /// What is to be seen or felt at a part.
    fn seen(&self, part: PartId) -> &'static str {
        let feeds = &self.setting.feeds;
        let (dead, fed) = (self.dead(), self.fed());
        let energised = |coil: PartId| self.vehicle.is_energised(coil, &fed, &dead);
        let takes = || {
            fed[part.index()]
                && self.hidden.iter().any(|hidden| match hidden.drain {
                    Drain::Takes(p, _) => p == part,
                    Drain::Contact(relay, _) => feeds.is_below(part, relay) && part != relay,
                    _ => false,
                })
        };
        match feeds.part(part).kind {
            PartKind::Switch if fed[part.index()] => "on",
            PartKind::Switch => "off",
            PartKind::Coil if energised(part) => "warm",
            PartKind::Relay if feeds.coils_of(part).iter().any(|c| energised(*c)) => "warm",
            PartKind::Load if feeds.load_kind(part) == Some(LoadKind::Charging) => {
                let warms = self.hidden.iter().any(|hidden| {
                    matches!(hidden.drain, Drain::Takes(p, current) if p == part && current.value() >= FELT_FROM)
                });
                if warms { "warm" } else { "cold" }
            }
            PartKind::Load if takes() => "lit",
            PartKind::Load => "dark",
            _ if takes() => "warm",
            _ => "cold",
        }
    }

    fn amps(
        &mut self,
        part: PartId,
        way: Option<Way>,
        place: f64,
        happened: &mut Vec<Happened>,
    ) -> Result<String, Cannot> {
        let instruments = &self.setting.instruments;
        let Some(Way::Series(jack)) = way else {
            let clamp = instruments.clamp.ok_or(Cannot::NoInstrument)?;
            let drift = if self.traps.drift {
                0.4 * (self.minutes - self.zeroed)
            } else {
                0.0
            };
            let (turns, said) = match way {
                Some(Way::Clamp { turns }) if turns > 1 => {
                    (f64::from(turns), format!(" turns {turns}"))
                }
                _ => (1.0, String::new()),
            };
            let through = self.through(part, None) * turns + drift;
            if let Some(scale) = clamp.milliamps_per_millivolt() {
                // It gives a voltage, off by its own accuracy, and the meter shows that.
                let range = instruments.meter.and_then(|m| m.millivolts);
                let range = range.ok_or(Cannot::NoInstrument)?;
                let margin =
                    clamp.range.accuracy(0.0).margin(through) / (1.0 + clamp.range.percent / 100.0);
                let gives = (through + place * margin) / scale;
                let shown = on_display(gives, &range, 0.0);
                return Ok(format!("{shown}mV by clamp{said}"));
            }
            let shown = on_display(through, &clamp.range, place);
            return Ok(format!("{shown}mA by clamp{said}"));
        };
        let range = range_of(jack, instruments);
        let range = range.ok_or(Cannot::NoInstrument)?;
        // A bridge lead of a hundredth of the meter's resistance takes its part of the current past it.
        let through_meter = if self.traps.bridge_on { 0.01 } else { 1.0 };
        let burden = range.burden.map(|burden| burden * through_meter);
        let mut through = through_meter * self.through(part, burden);
        if self.traps.leads_round {
            through = -through;
        }
        if jack == Jack::MilliA {
            if range.most.is_some_and(|most| through.abs() > most.value()) {
                happened.push(Happened::FuseWent);
                self.traps.blown_fuse = true;
            }
            if self.traps.blown_fuse {
                through = 0.0;
            }
            let place = if self.traps.blown_fuse { 0.0 } else { place };
            let shown = on_display(through, &range, place);
            return Ok(format!("{shown}mA by series jack mA"));
        }
        let step = range.step.value();
        let value = shown(through, step, range.percent, range.counts, place) / 1000.0;
        let decimals = if step < 5.0 { 3 } else { 2 };
        Ok(format!("{value:.decimals$}A by series jack A"))
    }
}

/// Whether what a part takes goes with the voltage: a lamp, a heater, a motor that stands, a coil, a leak.
pub fn is_plain_resistance(feeds: &Feeds, part: PartId) -> bool {
    use LoadKind::{Heater, Lamp, Motor};
    match feeds.part(part).kind {
        PartKind::Load => {
            let plain = matches!(feeds.load_kind(part), Some(Lamp | Heater | Motor));
            plain && feeds.module_of(part).is_none()
        }
        // What an output takes by itself its module takes.
        PartKind::Output => false,
        _ => true,
    }
}

/// What a range shows of a value: a whole number of its steps, with their decimals.
fn on_display<Q: Quantity>(truth: f64, range: &Range<Q>, place: f64) -> String {
    let step = range.step.value();
    let value = shown(truth, step, range.percent, range.counts, place);
    let decimals = if step < 0.05 {
        2
    } else {
        usize::from(step < 0.95)
    };
    format!("{value:.decimals$}")
}
