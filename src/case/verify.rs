//! After the repair: everything back in, prepared and settled anew, the draw read, and watched.

use super::asked::TestPlan;
use super::facts::{Draw, Found, Question};
use super::fold::Now;
use super::next::{Next, Reason, State};
use super::taken_by;
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::journal::Point;
use crate::measurement::{Jack, Method, Way};
use crate::quantity::Milliamps;
use crate::suspects::{REPAIRED, Steering, Subject, Told};

/// A repair, and what the draw was after it.
#[derive(Clone, Debug, PartialEq)]
pub struct Repair {
    /// What was done, by entry.
    pub entries: Vec<u32>,
    /// Settled draws within the limit after it, with everything in, by entry: the first, and those
    /// read while it was watched.
    pub draws: Vec<u32>,
    /// The settled draw that was still over the limit after it, by entry.
    pub over: Option<u32>,
    /// Logs after it, by entry.
    pub logs: Vec<u32>,
    /// Of these those that were as long as the fault stays away, or as a settle, and in which it did not come.
    pub enough: Vec<u32>,
    /// How long the fault stays away is known, so that two readings are no watch.
    pub comes: bool,
    /// What was proven, and not named by what was done, where several drains were.
    pub unnamed: Vec<Subject>,
    /// What was proven that took about as much as there was too much after it.
    pub unmended: Vec<Subject>,
    /// The draw with all that was proven out, as it was read before it.
    pub rest: Option<Interval<Milliamps>>,
}

impl Repair {
    /// The draw was within the limit, and still was when it had been watched.
    pub fn is_watched(&self) -> bool {
        self.over.is_none()
            && !self.draws.is_empty()
            && (!self.enough.is_empty() || self.draws.len() > 1 && !self.comes)
    }
}

/// Whether what was done is said of all that was proven.
fn says_all(text: &str) -> bool {
    let mut words = text.split(|c: char| !c.is_alphanumeric());
    words.any(|word| ["both", "all"].contains(&word.to_lowercase().as_str()))
}

/// Whether a repair is of what was proven: of it, of what it hangs on, or of what came out for its proof, by
/// the point or by a name in the text.
fn is_meant(now: &Now<'_>, found: &Found, point: Option<&Point>, text: &str) -> bool {
    let feeds = &now.setting.feeds;
    let id = found.subject.id(feeds);
    let taken = found.taken.iter().map(|taken| taken.name.as_str());
    let text = text.to_lowercase();
    let mut names = taken.chain([id.as_str()]);
    if names.any(|name| text.contains(&name.to_lowercase())) {
        return true;
    }
    let Some(point) = point else { return false };
    let name = now.name(point);
    let parts = taken_by(feeds, point, true);
    let out = || {
        found
            .taken
            .iter()
            .flat_map(|taken| taken.parts.iter().copied())
    };
    let hangs = |part: PartId| {
        let mut parts = parts.iter();
        parts.any(|at| feeds.is_below(part, *at) || feeds.is_below(*at, part))
    };
    name == id || found.taken.iter().any(|taken| taken.name == name) || out().any(hangs)
}

impl Now<'_> {
    /// The repair that is verified now, or was last and held.
    pub(super) fn repair(&self) -> Option<&Repair> {
        self.repairs.last().filter(|repair| repair.over.is_none())
    }

    /// Something was mended: what was read before says nothing about the draw from here on. Where no
    /// draw over the limit was found there is nothing to verify.
    pub(super) fn repaired(&mut self, entry: u32, point: Option<&Point>, text: &str) {
        let again = self.repair().is_some();
        if self.over.is_none() && !again {
            self.mended_before(entry, point, text);
            return;
        }
        let base = self.base();
        let rest = self.total(&base).filter(|_| !base.is_empty());
        let before = self.repairs.last();
        let rest = rest.or_else(|| before.and_then(|before| before.rest));
        let proven = || self.found.iter().filter(|found| found.returned);
        let left: Vec<Subject> = match before.filter(|_| again) {
            Some(repair) => repair.unnamed.clone(),
            None => proven().map(|found| found.subject.clone()).collect(),
        };
        let several = left.len() > 1 || again;
        let known = self.mended.iter().chain(&self.found);
        let meant: Vec<&Found> = known
            .filter(|found| is_meant(self, found, point, text))
            .collect();
        let named = |subject: &Subject| meant.iter().any(|found| found.subject == *subject);
        let unnamed: Vec<Subject> = left
            .into_iter()
            .filter(|subject| several && !says_all(text) && !named(subject))
            .collect();
        // Where one alone was proven that is meant, where nothing is named.
        let mut known = self.mended.iter().chain(&self.found);
        let one = known.next().filter(|_| known.next().is_none());
        let unsaid = one.filter(|_| meant.is_empty() && point.is_none());
        let meant: Vec<Found> = meant.into_iter().chain(unsaid).cloned().collect();
        let meant: Vec<&Found> = meant.iter().collect();
        self.keep_from_before(entry, (point, text), &meant);
        match self.repairs.last_mut().filter(|_| again) {
            Some(repair) => {
                repair.entries.push(entry);
                repair.draws.clear();
                repair.logs.clear();
                repair.enough.clear();
                repair.unnamed = unnamed;
            }
            None => self.repairs.push(Repair {
                entries: vec![entry],
                draws: Vec::new(),
                over: None,
                logs: Vec::new(),
                enough: Vec::new(),
                comes: !self.comes.is_empty(),
                unnamed,
                unmended: Vec::new(),
                rest,
            }),
        }
        self.mended.append(&mut self.found);
        self.trial = None;
        self.new_spell();
        self.logs.clear();
        (self.went, self.came_back) = (None, 0.0);
        self.quiet_before = None;
        self.looks.clear();
        self.seen_beside.clear();
        self.skipped.clear();
        self.out_of_reach.clear();
        self.open.clear();
        self.prepared = false;
        self.believed = false;
        self.doubted = None;
        self.asleep = self.setting.nothing_sleeps;
        self.stirred = 1.0;
    }

    /// A repair from before anything was found over the limit belongs to the intake: what it names is less
    /// likely, since the vehicle was brought in after it.
    fn mended_before(&mut self, entry: u32, point: Option<&Point>, text: &str) {
        let at = point.map(|point| self.name(point)).unwrap_or_default();
        self.told.push(Told {
            entry,
            key: Some(REPAIRED.to_owned()),
            text: format!("{at} {text}").trim().to_owned(),
        });
        let steering = Steering::of(&self.setting.feeds, &self.told, Vec::new(), None);
        let named = steering.heeds(&self.setting.feeds, &self.setting.suspects, entry);
        self.questions.push(Question::MendedBefore(named));
    }

    /// What a settled draw says of the repair.
    pub(super) fn judge_repair(&mut self, draw: &Draw) {
        let limit = self.setting.healthy.limit();
        if !draw.out.is_empty() {
            return;
        }
        let over = draw.current.low() > limit;
        let in_vain = over && self.was_mended_in_vain(draw);
        let like = self.looks_unmended(draw.current);
        let Some(repair) = self.repairs.last_mut() else {
            return;
        };
        if over {
            repair.over = Some(draw.entry);
            repair.unmended.clone_from(&like);
            self.questions.push(if in_vain && like.is_empty() {
                Question::MendedInVain(draw.current)
            } else {
                Question::NotMended(draw.current, like)
            });
        } else if draw.current.high() <= limit {
            repair.draws.push(draw.entry);
            self.before_mending = None;
        }
    }

    /// Of what was proven that which took about as much as there is too much after the repair, each by
    /// itself, or else all of it together; those that the repair did not name before the others.
    fn looks_unmended(&self, now: Interval<Milliamps>) -> Vec<Subject> {
        let repair = self.repairs.last();
        let Some(rest) = repair.and_then(|repair| repair.rest) else {
            return Vec::new();
        };
        let excess = now.minus(rest);
        let proven: Vec<&Found> = self.mended.iter().filter(|found| found.returned).collect();
        let subjects = |of: Vec<&Found>| of.iter().map(|found| found.subject.clone()).collect();
        let alike = proven.iter().filter(|found| found.fell.touches(excess));
        let alike: Vec<&Found> = alike.copied().collect();
        let unnamed =
            |found: &&&Found| repair.is_some_and(|repair| repair.unnamed.contains(&found.subject));
        if alike.iter().any(|found| unnamed(&found)) {
            return subjects(alike.iter().filter(unnamed).copied().collect());
        }
        if !alike.is_empty() {
            return subjects(alike);
        }
        let (low, high) = proven.iter().fold((0.0, 0.0), |(low, high), found| {
            (low + found.fell.low().max(0.0), high + found.fell.high())
        });
        if low <= excess.high() && excess.low() <= high {
            return subjects(proven);
        }
        Vec::new()
    }

    /// The step that a repair calls for, with the question for what was proven and not named by it;
    /// `None` where there is none to verify.
    pub(super) fn verify(&self) -> Option<Next> {
        let unnamed = self.repair()?.unnamed.clone();
        let mut next = self.verify_step()?;
        if !unnamed.is_empty() && next.test.is_some() {
            next.questions.push(Question::MendedToo(unnamed));
        }
        Some(next)
    }

    fn verify_step(&self) -> Option<Next> {
        let repair = self.repair()?;
        if !self.out.is_empty() {
            let mut next = self.bare(State::Verify, Reason::RepairedBackIn);
            next.test = Some(self.refit_test(&self.out.iter().collect::<Vec<_>>()));
            return Some(next);
        }
        let watched = repair.is_watched();
        let battery = self.name(&Point::Battery);
        let unwatched = self.skipped.contains(&(Method::Draw, battery));
        if watched || unwatched {
            let reason = match (watched, repair.draws.is_empty()) {
                (true, _) => Reason::Mended,
                (false, false) => Reason::MendedUnwatched,
                (false, true) => Reason::MendedUnread,
            };
            return Some(self.bare(State::Verify, reason));
        }
        if !self.asleep {
            let reason = if self.prepared {
                Reason::Settle
            } else {
                Reason::PrepareAgain
            };
            let mut next = self.bare(State::Verify, reason);
            next.test = Some(TestPlan {
                minutes: self.stirred * self.setting.feeds.settle().value(),
                ..TestPlan::new(Method::Wait, "asleep".to_owned())
            });
            return Some(next);
        }
        let last = self.draws.last().filter(|draw| draw.out.is_empty());
        // Neither within the limit nor over it for certain.
        let coarse = last.is_some_and(|draw| !repair.draws.contains(&draw.entry));
        let reason = match (coarse, repair.draws.is_empty()) {
            (true, _) => Reason::Finer,
            (false, false) => Reason::Watch,
            (false, true) if self.doubted.is_some() => Reason::Doubted,
            (false, true) => Reason::AfterRepair,
        };
        // On the large jack next to nothing may be anything up to its step: the small one says what is left.
        let fine = |draw: &Draw| {
            matches!(draw.way, Way::Series(Jack::MilliA)) || draw.current.low() <= 0.0
        };
        let small = last.is_some_and(fine);
        let mut next = self.bare(State::Verify, reason);
        next.test = self.draw_test(last.map(|draw| draw.current), coarse || small);
        Some(next)
    }
}
