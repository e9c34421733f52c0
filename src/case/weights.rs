//! How likely each suspect is by all that was read, seen and told, and whose proof a proof is.

use super::fold::{Found, Now, Pulled};
use super::regions::{Region, focus, is_wiring, touches};
use super::together::Together;
use crate::feeds::PartId;
use crate::journal::Seen;
use crate::judgement::Judgement;
use crate::ledger::Out;
use crate::suspects::{self, Cause, Subject, Suspect};

// How much what was read, seen and told moves the odds (judgement, all of them): they order the search
// and never exclude.

/// Factor on the odds of a suspect for each further drain that would have to be there at the same time
/// to make up today's draw.
const NOT_ALONE: f64 = 0.02;
/// That many drains at once are looked for while a cause that needs no more company is possible.
pub(super) const AT_ONCE: f64 = 3.0;
/// Factor on those outside the branch in which an excess is proven.
const ELSEWHERE: f64 = 0.05;
/// Factors on what was seen and what was not.
const SEEN: f64 = 50.0;
const NOT_SEEN: f64 = 0.05;
/// Factor on what was told of by name.
const TOLD: f64 = 4.0;
/// Factor on a suspect that was taken out and nothing fell that matters.
const NOTHING_FELL: f64 = 1e-4;
/// Factor on one that fell and did not return.
const ONLY_RESET: f64 = 0.1;
/// Factor on a suspect that a fall without it speaks against.
const SPOKEN_AGAINST: f64 = 0.05;

/// A suspect with its weight; 0 when it is ruled out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chances {
    pub(super) weight: f64,
    pub(super) hides: f64,
    /// What it could take by the bounds and by the falls when it was silent, in mA.
    pub(super) takes: f64,
}

/// How likely every suspect is, and what that was worked out with.
#[derive(Clone, Debug)]
pub(super) struct Odds {
    /// By suspect of the setting.
    pub(super) weights: Vec<Chances>,
    /// Where the search is.
    pub(super) region: Region,
    /// The excess that matters, in mA.
    matters: f64,
    pub(super) together: Together,
}

impl Odds {
    /// Weighs every suspect by what was read.
    pub(super) fn of(now: &Now<'_>, judged: &Judgement<'_>) -> Self {
        let region = focus(now, judged);
        let together = Together::of(now, judged);
        Self {
            weights: weigh(now, judged, &region, &together),
            region,
            matters: judged.matters(),
            together,
        }
    }

    /// Whether another suspect keeps a proof from naming this one: it falls silent too, is in question
    /// itself, and is not the less likely explanation of the same thing.
    pub(super) fn rivals(
        &self,
        now: &Now<'_>,
        index: usize,
        other: usize,
        parts: &[PartId],
    ) -> bool {
        let setting = now.setting;
        let weights = &self.weights;
        let (this, that) = (&setting.suspects[index], &setting.suspects[other]);
        if weights[other].weight <= 0.0 || !setting.silenced(that, parts) {
            return false;
        }
        // A lamp that was seen dark takes nothing that matters.
        let dark = |s: &Suspect| {
            let seen = now
                .looks
                .iter()
                .rev()
                .find(|(part, _)| s.seat() == Some(*part));
            s.cause == Cause::OwnDraw && seen.is_some_and(|(_, seen)| *seen == Seen::No)
        };
        if dark(that) && !dark(this) {
            return false;
        }
        // What hangs on a contact is the narrower explanation.
        if that.cause == Cause::ContactClosed && this.cause == Cause::OwnDraw {
            return false;
        }
        // Of a load and the wiring on the way to it the likelier is named.
        let feeds = &setting.feeds;
        let same = |a: &Suspect, b: &Suspect| {
            let seats = suspects::lives_on(feeds, a);
            b.cause == Cause::HoldsAwake
                && a.cause == Cause::OwnDraw
                && suspects::lives_on(feeds, b)
                    .iter()
                    .any(|p| seats.contains(p))
        };
        if is_wiring(feeds, that) {
            return weights[other].weight > weights[index].weight;
        }
        // That it holds others awake is seen by more falling than it takes itself.
        if same(this, that) {
            return false;
        }
        // A module's own feed is the narrower explanation as long as it could be one at all, but where
        // partners are up together: then by how much falls it is seen which of the two it is.
        if same(that, this) {
            let open = match this.subject {
                Subject::Module(module) => self.together.is_open(feeds, module),
                _ => false,
            };
            return !open && weights[other].takes >= self.matters;
        }
        weights[other].takes >= self.region.needed
    }
}

fn weigh(
    now: &Now<'_>,
    judged: &Judgement<'_>,
    focus: &Region,
    together: &Together,
) -> Vec<Chances> {
    let setting = now.setting;
    let base = now.base();
    let needed = focus.needed;
    let proven: Vec<_> = now.found.iter().filter(|f| f.returned).collect();
    setting
        .suspects
        .iter()
        .map(|suspect| {
            let hides = suspect.hides(judged);
            let lives = suspects::lives_on(&setting.feeds, suspect);
            let gone = !lives.is_empty() && lives.iter().all(|p| base.cuts(&setting.feeds, *p));
            let known = proven.iter().any(|f| f.subject == suspect.subject);
            if hides < judged.matters() || gone || known {
                return Chances {
                    weight: 0.0,
                    hides,
                    takes: 0.0,
                };
            }
            let mut weight = suspect.prior * suspects::fit(suspect, judged);
            let takes = could_take(now, &base, suspect, hides);
            let holds = suspect.cause == Cause::HoldsAwake;
            if takes < judged.matters() || (holds && together.cleared(now, suspect)) {
                weight *= NOTHING_FELL;
            } else if takes < needed {
                weight *= NOT_ALONE.powf((needed / takes).ceil() - 1.0);
            }
            if !touches(&setting.feeds, suspect, focus) {
                weight *= ELSEWHERE;
            }
            weight *= seen(now, suspect) * told(now, suspect) * pulled(now, suspect);
            let reset = |f: &Found| !f.returned && f.subject == suspect.subject;
            if now.found.iter().any(reset) {
                weight *= ONLY_RESET;
            }
            Chances {
                weight: weight.max(1e-12),
                hides,
                takes,
            }
        })
        .collect()
}

fn seen(now: &Now<'_>, suspect: &Suspect) -> f64 {
    let feeds = &now.setting.feeds;
    let mut factor = 1.0;
    for (part, seen) in &now.looks {
        let coil_of = || {
            suspect.seat().is_some_and(|seat| {
                feeds.coils_of(*part).contains(&seat) && suspect.cause == Cause::CoilHeld
            })
        };
        if suspect.seat() == Some(*part) && suspect.cause != Cause::ContactClosed || coil_of() {
            factor *= if *seen == Seen::Yes { SEEN } else { NOT_SEEN };
        }
    }
    factor
}

fn told(now: &Now<'_>, suspect: &Suspect) -> f64 {
    let id = suspect.subject.id(&now.setting.feeds);
    let named = now.told.iter().any(|text| text.contains(&id));
    if named { TOLD } else { 1.0 }
}

/// What a fall without it says.
fn pulled(now: &Now<'_>, suspect: &Suspect) -> f64 {
    let setting = now.setting;
    let mut factor: f64 = 1.0;
    for Pulled {
        parts,
        beyond,
        matters,
        ..
    } in &now.pulls
    {
        let silent = setting.silenced(suspect, parts);
        let partly = suspect
            .raises
            .iter()
            .any(|(part, _)| parts.iter().any(|top| setting.feeds.is_below(*part, *top)));
        if beyond >= matters && !silent && !partly {
            factor *= SPOKEN_AGAINST;
        }
    }
    factor
}

/// Whether taking exactly these parts out was tried with just the proven drains out, and would tell no
/// more: nothing fell for certain beside what healthy parts take, or it fell again and again without
/// naming anyone.
pub(super) fn in_vain(now: &Now<'_>, parts: &[PartId]) -> bool {
    let base = now.base();
    let tries: Vec<&Pulled> = now
        .pulls
        .iter()
        .filter(|pulled| pulled.base == base && pulled.parts == parts)
        .collect();
    tries.len() > 2 || tries.iter().any(|pulled| pulled.vain)
}

/// What a suspect could take by the bounds and by the falls when it was silent, in mA.
pub(super) fn could_take(now: &Now<'_>, base: &Out, suspect: &Suspect, hides: f64) -> f64 {
    now.pulls
        .iter()
        .filter(|pulled| pulled.base == *base && now.setting.silenced(suspect, &pulled.parts))
        .map(|pulled| pulled.fell.high().max(0.0))
        .fold(hides, f64::min)
}
