//! How likely each suspect is by all that was read, seen and told, and whose proof a proof is.

use super::cannot_be::would_have_blown;
use super::facts::Found;
use super::falls::Falls;
use super::fold::Now;
use super::inputs::bare_input;
use super::leaning::Leaning;
use super::regions::{Region, focus, is_wiring, touches};
use super::taking_out::Sought;
use super::together::{Together, excess_at};
use crate::feeds::{Feeds, PartId};
use crate::journal::Seen;
use crate::judgement::Judgement;
use crate::suspects::{self, Carried, Cause, Fitting, Subject, Suspect};
use crate::vehicle::PartKind;

// How much what was read, seen and told moves the odds (judgement, all of them): they order the search
// and never exclude.

/// Factor on the odds of a suspect for each further drain that would have to be there at the same time
/// to make up today's draw.
const NOT_ALONE: f64 = 0.02;
/// That many drains at once are looked for while a cause that needs no more company is possible.
pub(super) const AT_ONCE: f64 = 3.0;
/// How many times its draw a coil takes at most and at least (judgement).
const COIL_AT_MOST: f64 = 1.5;
const COIL_AT_LEAST: f64 = 1.0 / COIL_AT_MOST;
/// That many drains together are not told from a single one by what fell.
const TOGETHER: usize = 2;
/// Factor on those outside the branch in which an excess is proven.
const ELSEWHERE: f64 = 0.05;
/// Factors on what was seen and what was not.
const SEEN: f64 = 50.0;
const NOT_SEEN: f64 = 0.05;
/// Factor on what would have blown its fuse: a larger one may be in its place.
const BLOWN: f64 = 0.05;
/// Factor on a suspect that was taken out and nothing fell that matters.
const NOTHING_FELL: f64 = 1e-4;
/// Factor on one that was out before another drain was proven, when nothing fell that matters: it could
/// only have been kept up by that one too.
const NOTHING_FELL_BEFORE: f64 = 0.02;
/// Factor on a feed that was out alone, when nothing fell and its module was fed by another one.
const FED_STILL: f64 = 0.3;
/// Factor on one that fell and did not return.
const ONLY_RESET: f64 = 0.1;
/// Factor on who may hold several branches up that are up together.
const UP_TOGETHER: f64 = 5.0;
/// Factor on what was proven before a repair that did not hold.
const MENDED_IN_VAIN: f64 = 50.0;
/// Factor on a suspect that a fall without it speaks against, where no other drain is needed anyway.
const SPOKEN_AGAINST: f64 = 0.05;

/// A suspect with its weight; 0 when it is ruled out.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chances {
    pub(super) weight: f64,
    pub(super) hides: f64,
    /// What it could take by the bounds and by the falls when it was silent, in mA.
    pub(super) takes: f64,
    /// Whether the draw fell without it.
    spoken_against: bool,
}

impl Chances {
    /// Factor for the others that must be there at the same time: to make up what is needed, and to
    /// have fallen without it. What fell elsewhere is what the others are needed for: it counts once.
    fn company(&self, needed: f64) -> f64 {
        let others = (needed / self.takes.max(1.0)).ceil().max(1.0) - 1.0;
        let against = if self.spoken_against {
            SPOKEN_AGAINST
        } else {
            1.0
        };
        NOT_ALONE.powf(others).min(against)
    }
}

/// How likely every suspect is, and what that was worked out with.
#[derive(Clone, Debug)]
pub(super) struct Odds {
    /// By suspect of the setting.
    pub(super) weights: Vec<Chances>,
    /// Where the search is.
    pub(super) region: Region,
    /// What a single cause of all there is takes at least, in mA.
    whole: f64,
    /// Leaves with a proven excess.
    carrying: Vec<PartId>,
    pub(super) together: Together,
    /// Which way readings lean that could not tell.
    pub(super) leaning: Leaning,
}

impl Odds {
    /// Weighs every suspect by what was read.
    pub(super) fn of(now: &Now<'_>, judged: &Judgement<'_>) -> Self {
        let falls = Falls::of(now);
        let region = focus(now, judged);
        let together = Together::of(now, judged);
        let leaning = Leaning::of(now, &region);
        Self {
            weights: weigh(now, judged, &region, (&together, &falls, &leaning)),
            leaning,
            region,
            whole: judged.needed(),
            carrying: now
                .setting
                .feeds
                .parts()
                .filter(|p| {
                    now.setting.feeds.is_leaf(*p) && judged.excess(*p).low() >= judged.matters()
                })
                .collect(),
            together,
        }
    }

    /// The suspects that are not ruled out.
    pub(super) fn left(&self) -> Vec<usize> {
        let all = 0..self.weights.len();
        all.filter(|i| self.weights[*i].weight > 0.0).collect()
    }

    /// How likely a suspect is as a cause of all there is, and not of what the search is after.
    pub(super) fn weight_of_all(&self, index: usize) -> f64 {
        let chances = self.weights[index];
        chances.weight * chances.company(self.whole) / chances.company(self.region.needed)
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
        if weights[other].weight <= 0.0
            || !setting.silenced(that, parts)
            || now.stayed_without(that, parts)
        {
            return false;
        }
        // A lamp that was seen dark takes nothing that matters.
        if now.was_seen_dark(that) && !now.was_seen_dark(this) {
            return false;
        }
        // One that was seen lit draws: what nobody saw draw beside it is no other explanation.
        let draws = that
            .seat()
            .is_some_and(|seat| self.carrying.contains(&seat));
        if now.was_seen_lit(this)
            && that.cause == Cause::OwnDraw
            && !now.was_seen_lit(that)
            && !draws
        {
            return false;
        }
        // Nor does an input that was looked at, or was out.
        let sound = |name| now.is_input_cleared(name);
        if bare_input(&setting.feeds, that).is_some_and(sound) {
            return false;
        }
        // What hangs on a contact is the narrower explanation.
        if that.cause == Cause::ContactClosed && this.cause == Cause::OwnDraw {
            return false;
        }
        if now.is_shown_closed(this) && this.raises.iter().any(|(p, _)| that.seat() == Some(*p)) {
            return false;
        }
        // Of a load and the wiring on the way to it the likelier is named.
        let feeds = &setting.feeds;
        if is_wiring(feeds, that) {
            return weights[other].weight > weights[index].weight;
        }
        // Whether a module holds others awake or draws by itself is seen by how much falls.
        let of_one = |a: &Suspect, b: &Suspect| {
            let fed_by = |seat: PartId| suspects::lives_on(feeds, a).contains(&seat);
            let own = b.cause == Cause::OwnDraw;
            let module = matches!(a.subject, Subject::Module(_));
            a.cause == Cause::HoldsAwake && module && own && b.seat().is_some_and(fed_by)
        };
        if of_one(this, that) || of_one(that, this) {
            return false;
        }
        // Of several loads that draw behind one contact none is the whole story.
        let behind = |part: PartId| this.raises.iter().any(|(p, _)| *p == part);
        let another = |p: &PartId| that.seat() != Some(*p) && behind(*p);
        if this.cause == Cause::ContactClosed && self.carrying.iter().any(another) {
            return false;
        }
        // Who holds others awake explains more than the branch that is searched.
        let explains = if this.cause == Cause::HoldsAwake {
            self.whole.max(self.region.needed)
        } else {
            self.region.needed
        };
        // Once it fell, whoever could take what fell: several drains at once fall in parts.
        let fell = fell_with(now, parts);
        weights[other].takes >= if fell > 0.0 { fell } else { explains }
    }
}

/// Whether an excess is shown in what a suspect itself takes: of a contact in two of its loads, so that it
/// is not one of them alone.
pub(super) fn is_shown(suspect: &Suspect, judged: &Judgement<'_>) -> bool {
    let carries =
        |(part, _): &&(PartId, Option<f64>)| judged.excess(*part).low() >= judged.matters();
    let carrying = suspect.raises.iter().filter(carries).count();
    match suspect.cause {
        Cause::HoldsAwake => false,
        Cause::ContactClosed => carrying > 1,
        _ => carrying > 0,
    }
}

impl Odds {
    /// Whether all that fell, or is sought, could be two others at once that fall silent too, while nothing
    /// shows that the suspect itself takes anything.
    pub(super) fn others_do(
        &self,
        now: &Now<'_>,
        judged: &Judgement<'_>,
        (index, left): (usize, &Sought),
        parts: &[PartId],
    ) -> bool {
        let setting = now.setting;
        let this = &setting.suspects[index];
        let matters = judged.matters();
        if this.cause == Cause::HoldsAwake || is_shown(this, judged) || now.was_seen_lit(this) {
            return false;
        }
        let own = |part: PartId| this.raises.iter().any(|(p, _)| *p == part);
        let carrying: Vec<PartId> = self.carrying.iter().copied().filter(|p| own(*p)).collect();
        let known: f64 = carrying.iter().map(|p| judged.excess(*p).low()).sum();
        let module = this.seat().and_then(|seat| setting.feeds.module_of(seat));
        let near = || setting.near(parts, left);
        // A splice or plug that may leak falls silent too: with its lamps dark the leak is likelier, and no proof
        // of what else hangs on it.
        let leaks = || {
            near().any(|other| {
                let that = &setting.suspects[other];
                that.cause == Cause::Leak && setting.silenced(that, parts)
            })
        };
        let others = near().filter(|other| *other != index).filter(|other| {
            let that = &setting.suspects[*other];
            let single = matches!(
                that.cause,
                Cause::OwnDraw | Cause::CoilHeld | Cause::NotOnSheet
            ) && !is_wiring(&setting.feeds, that);
            let seat = that.seat().filter(|seat| !own(*seat));
            // The feeds of one module are one module.
            let same =
                seat.is_some_and(|s| module.is_some() && setting.feeds.module_of(s) == module);
            let dark = now.was_seen_dark(that) && !leaks();
            !dark && single && seat.is_some() && !same && setting.silenced(that, parts)
        });
        let coil_draws = |other: usize| {
            let coil = setting.suspects[other].seat();
            coil.map_or(0.0, |coil| setting.feeds.coil_takes(coil).value())
        };
        // A coil takes what a coil takes.
        let could = |other: usize| {
            let takes = self.weights[other].takes;
            if setting.suspects[other].cause != Cause::CoilHeld {
                return takes;
            }
            let draws = coil_draws(other);
            if takes < COIL_AT_LEAST * draws {
                0.0
            } else {
                takes.min(COIL_AT_MOST * draws)
            }
        };
        let mut takes: Vec<(usize, f64)> = others
            .map(|other| (other, could(other)))
            .filter(|(_, takes)| *takes >= matters)
            .collect();
        takes.sort_unstable_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        takes.dedup();
        takes.truncate(TOGETHER - carrying.len().min(1));
        let fell = fell_with(now, parts);
        let all = self.whole.max(self.region.needed);
        let sought = if fell > 0.0 { fell } else { all };
        !takes.is_empty() && known + takes.iter().map(|(_, takes)| takes).sum::<f64>() >= sought
    }
}

/// What is proven to flow, for who may keep modules awake.
fn carried(feeds: &Feeds, judged: &Judgement<'_>, focus: &Region) -> Carried {
    let own = feeds
        .modules()
        .flat_map(|module| feeds.module_feeds(module));
    let excess = own.map(|feed| (*feed, excess_at(feeds, judged, *feed)));
    Carried {
        branch: (focus.top != PartId(0)).then_some(focus.top),
        excess: excess.filter(|(_, excess)| *excess > 0.0).collect(),
    }
}

fn weigh(
    now: &Now<'_>,
    judged: &Judgement<'_>,
    focus: &Region,
    (together, falls, leaning): (&Together, &Falls<'_>, &Leaning),
) -> Vec<Chances> {
    let setting = now.setting;
    let base = now.base();
    let needed = focus.needed;
    let steering = now.steering();
    let up = now.up_together(judged);
    let proven: Vec<_> = now.found.iter().filter(|f| f.returned).collect();
    let mut holders = Fitting::new(judged, carried(&setting.feeds, judged, focus));
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
                    spoken_against: false,
                };
            }
            let mut chances = Chances {
                weight: 0.0,
                hides,
                takes: falls.could_take(judged, suspect, hides),
                spoken_against: falls.without(suspect).next().is_some(),
            };
            let told = steering.factor(&setting.feeds, suspect);
            let mut fit = suspects::fit(suspect, &mut holders);
            if now.is_shown_closed(suspect) {
                fit = SEEN * fit.max(1.0);
            } else if now.is_fed_by_a_stuck_contact(suspect) {
                fit *= NOT_SEEN;
            }
            let mut weight = suspect.prior * told * fit;
            let leans = leaning.of_suspect(&setting.feeds, suspect);
            weight *= leans.map_or(1.0, |moved| moved.by);
            let holds = suspect.cause == Cause::HoldsAwake;
            let keeps = |top: &&PartId| {
                let below = |(part, _): &(PartId, _)| setting.feeds.is_below(*part, **top);
                suspect.raises.iter().any(below)
            };
            if holds && up.iter().filter(keeps).count() > 1 {
                weight *= UP_TOGETHER;
            }
            weight *=
                if chances.takes < judged.matters() || (holds && together.cleared(now, suspect)) {
                    NOTHING_FELL
                } else {
                    chances.company(needed)
                };
            if would_have_blown(&setting.feeds, suspect, needed) {
                weight *= BLOWN;
            }
            if falls.took_the_other_way(suspect) {
                weight *= FED_STILL;
            }
            if falls.in_vain_before(suspect) {
                weight *= NOTHING_FELL_BEFORE;
            }
            if !touches(&setting.feeds, suspect, focus) {
                weight *= ELSEWHERE;
            }
            weight *= seen(now, suspect);
            let reset = |f: &Found| !f.returned && f.subject == suspect.subject;
            if now.found.iter().any(reset) {
                weight *= ONLY_RESET;
            }
            let mended = |f: &Found| f.returned && f.subject == suspect.subject;
            // Who took what there is too much is looked at again first; else all that was mended.
            let again = now.repairs.last().filter(|repair| repair.over.is_some());
            let meant = again.is_some_and(|repair| {
                repair.unmended.is_empty() || repair.unmended.contains(&suspect.subject)
            });
            if meant && now.mended.iter().any(mended) {
                weight *= MENDED_IN_VAIN;
            }
            chances.weight = weight.max(1e-12);
            chances
        })
        .collect()
}

fn seen(now: &Now<'_>, suspect: &Suspect) -> f64 {
    let feeds = &now.setting.feeds;
    let mut factor = 1.0;
    for (part, seen) in &now.looks {
        let shows_it = match (suspect.cause, suspect.seat()) {
            (Cause::CoilHeld, Some(coil)) => coil == *part || feeds.moved_by(coil) == Some(*part),
            // Whether a relay's contact is closed cannot be seen; that of a switch can, and what is lit
            // behind either.
            (Cause::ContactClosed, Some(contact)) => {
                let switch = feeds.part(contact).kind == PartKind::Switch;
                contact == *part && switch || suspect.raises.iter().any(|(p, _)| p == part)
            }
            (_, seat) => seat == Some(*part),
        };
        if shows_it {
            factor *= if *seen == Seen::Yes { SEEN } else { NOT_SEEN };
        }
    }
    if let Some(seen) = now.seen_of(suspect) {
        factor *= if seen == Seen::Yes { SEEN } else { NOT_SEEN };
    }
    if bare_input(feeds, suspect).is_some_and(|name| now.inputs_cleared.contains(name)) {
        factor *= NOTHING_FELL;
    }
    factor
}

/// Whether taking exactly these parts out was tried with just the proven drains out, and would tell no
/// more: nothing fell for certain beside what healthy parts take, or it fell again and again without
/// naming anyone.
pub(super) fn in_vain(now: &Now<'_>, parts: &[PartId]) -> bool {
    let tries = || now.pulls_here().filter(|p| p.parts == parts);
    tries().count() > 2 || tries().any(|pulled| pulled.vain)
}

/// What fell at least whenever just these parts were out, beside what healthy ones among them may
/// take, in mA: whoever is to explain that takes as much.
pub(super) fn fell_with(now: &Now<'_>, parts: &[PartId]) -> f64 {
    now.pulls_here()
        .filter(|pulled| pulled.parts == parts)
        .map(|pulled| pulled.beyond)
        .fold(0.0, f64::max)
}
