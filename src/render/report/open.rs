//! What was ruled out, what was not proven, what is still out and what is left to do.

use super::{MOST, Page, bullets, cause, entries, less_likely, more, safe};
use crate::case::Left;
use crate::feeds::PartId;
use crate::journal::{Act, word};
use crate::measurement::Method;
use crate::render::answer::{current, span};
use crate::render::culprit::felt;
use crate::render::left::{left_words, one_plug_words};
use crate::render::mending::what_mends;
use crate::render::trace::everything_at;
use crate::render::words::{capital, count, listed, plain, spoken};
use crate::report::{Ending, Ground, Group, Possible, Settled, ToDo, Verified};
use crate::suspects::Subject;
use std::fmt::Write as _;

impl Page<'_> {
    pub(super) fn cleared(&self) -> String {
        let Some(cleared) = &self.report.cleared else {
            let why = match self.report.verdict.ending {
                Ending::Contradiction => "Nothing, while the readings contradict each other.",
                Ending::Gone if self.is_over_on_average() => {
                    "Nothing: what comes and goes was away when the draw was read."
                }
                Ending::Gone => {
                    "Nothing: the fault has gone, and readings from then on prove nothing about it."
                }
                Ending::WithinLimit if self.case.lower_battery().is_some() => {
                    "Nothing: the draw is in order where it was read, and one of the two batteries is lower."
                }
                Ending::WithinLimit => "Nothing needed to be: the draw is in order.",
                _ => "Nothing: no settled draw was read.",
            };
            return why.to_owned();
        };
        let feeds = self.feeds();
        let mut out = String::new();
        if let Some(rest) = self.rest_in_order() {
            let _ = writeln!(
                out,
                "Everything else together took {}. That is within the limit, so no other drain has to be looked for.\n",
                self.settled(rest)
            );
        } else if cleared.parts.is_empty() && cleared.dead.is_empty() && cleared.small.is_empty() {
            return "Nothing.".to_owned();
        }
        let in_order = self.rest_in_order().is_some();
        let listed_parts = |parts: &[(PartId, f64)]| -> Vec<String> {
            let lines = parts.iter().map(|(part, hides)| {
                let below = if feeds.is_leaf(*part) {
                    ""
                } else {
                    " with all it feeds"
                };
                let id = safe(feeds.id(*part));
                format!("{id}{below}: up to {}", current(*hides))
            });
            lines.collect()
        };
        if !cleared.parts.is_empty() {
            let _ = writeln!(
                out,
                "As the cause of the draw before. What could still flow unseen is less than {} in each of these, and {} in all of them together:\n",
                current(cleared.matters),
                current(cleared.together)
            );
            out.push_str(&bullets(&listed_parts(&cleared.parts)));
        }
        if !cleared.small.is_empty() && !in_order {
            let _ = writeln!(
                out,
                "{}Not the drain by themselves, though a part of it is not ruled out:\n",
                if cleared.parts.is_empty() { "" } else { "\n" }
            );
            out.push_str(&bullets(&listed_parts(&cleared.small)));
        }
        if !cleared.dead.is_empty() {
            let names: Vec<String> = cleared.dead.iter().map(|p| safe(feeds.id(*p))).collect();
            let _ = writeln!(out, "\nNo current can pass: {}.", listed(&names));
        }
        out
    }

    /// The draw within the limit that is left with all that was proven out.
    pub(super) fn rest_in_order(&self) -> Option<&Settled> {
        let rest = self.report.rest.as_ref();
        let limit = self.limit();
        rest.filter(|rest| limit.is_finite() && rest.current.high() <= limit)
    }

    /// Whether anything is left, where a draw over the limit was searched for.
    pub(super) fn left(&self) -> String {
        let remainder = self.report.remainder.as_ref();
        let words = |remainder| safe(&left_words(remainder, self.case));
        remainder.map(words).unwrap_or_default()
    }

    pub(super) fn not_proven(&self) -> String {
        let mut lines = Vec::new();
        for found in self.report.verdict.found.iter().filter(|f| !f.returned) {
            lines.push(format!(
                "{}: the draw fell by {} without it but did not return with it; it was reset, not proven.",
                self.called(&found.subject),
                span(found.fell)
            ));
        }
        let possible = &self.report.possible;
        let remainder = self.report.remainder.as_ref();
        let nothing_left = remainder.is_some_and(|remainder| remainder.left == Left::Nothing);
        if let Some(rest) = self.rest_in_order().filter(|_| !possible.is_empty()) {
            if !nothing_left {
                lines.push(format!(
                    "What takes the {} that are left was not looked for.",
                    span(rest.current)
                ));
            }
        } else if !possible.is_empty() {
            lines.push(self.not_ruled_out());
        }
        for ground in &self.report.verdict.grounds {
            if let Ground::Alone { found, left, .. } = ground
                && !left.is_empty()
                && self
                    .report
                    .verdict
                    .found
                    .get(*found)
                    .is_some_and(|f| f.returned)
            {
                let names: Vec<String> = left
                    .iter()
                    .take(MOST)
                    .map(|r| cause(&r.id, r.cause))
                    .collect();
                let found = &self.report.verdict.found[*found];
                let felt =
                    felt(found, self.case).map_or_else(String::new, |felt| format!(" {felt}"));
                let though = less_likely(found, ", though less likely,");
                lines.push(format!(
                    "The same proof would fit{though} in place of {}: {}{}.{felt}",
                    self.called(&found.subject),
                    names.join("; "),
                    more(left.len()),
                ));
            }
        }
        for found in self.proven() {
            let taken: Vec<String> = found.taken.iter().map(|t| safe(&t.name)).collect();
            lines.push(format!(
                "With {} out the proof is for all that hangs behind it: {}, or its wire from there on.",
                listed(&taken),
                self.called(&found.subject)
            ));
            let others = self.case.not_told_apart(found);
            if !others.is_empty() {
                let others = others.iter().map(|part| self.called(&Subject::Part(*part)));
                let others: Vec<String> = others.collect();
                lines.push(format!(
                    "Which it is of {} and {}, all out with {}: they were not told apart. Look at each, or disconnect one at a time.",
                    self.called(&found.subject),
                    listed(&others),
                    listed(&taken)
                ));
            }
        }
        if self.report.verdict.ending == Ending::Gone {
            lines.extend(self.while_it_was_there());
        }
        if self.report.verdict.ending == Ending::Located {
            let plugs = self.report.one_plug.iter();
            lines.extend(plugs.map(|one| safe(&one_plug_words(one))));
        }
        lines.extend(self.skipped());
        lines.push(
            "Whether a drain comes and goes: the readings are of the time they were taken."
                .to_owned(),
        );
        bullets(&lines)
    }

    /// What is not ruled out, by the branch it is in; once something is proven in a line on what that comes to, with
    /// the branches that could hold the most.
    fn not_ruled_out(&self) -> String {
        /// Branches that are named once something is proven.
        const BESIDE_A_PROOF: usize = 3;
        let possible = count(self.report.possible.len(), "suspect");
        let mut groups: Vec<&Group> = self.report.groups.iter().collect();
        let proven: Vec<String> = self.proven().map(|f| self.called(&f.subject)).collect();
        let left = self
            .report
            .remainder
            .as_ref()
            .map(|remainder| remainder.left);
        let another = matches!(left, Some(Left::Over(_)));
        let beside = !proven.is_empty() && !another;
        let most = if beside { BESIDE_A_PROOF } else { MOST };
        if groups.len() > most {
            let most = |group: &Group| (group.together, group.causes.len());
            groups.sort_by(|one, two| {
                let (one, two) = (most(one), most(two));
                two.0.total_cmp(&one.0).then(two.1.cmp(&one.1))
            });
        }
        let mut shown: Vec<String> = groups.iter().take(most).map(|g| self.branch(g)).collect();
        if let Some(more @ 1..) = groups.len().checked_sub(most) {
            shown.push(format!("{} more", count(more, "branch")));
        }
        let head = if proven.is_empty() {
            format!("Not ruled out ({possible}); what could still flow there too much")
        } else if another {
            format!(
                "Another drain is left beside {}: {possible} could be it; what could still flow there too much",
                listed(&proven)
            )
        } else {
            format!(
                "Whether anything beside {} drains it too: {possible} could still take enough by the readings, the most of it here",
                listed(&proven)
            )
        };
        format!("{head}:\n  - {}", shown.join("\n  - "))
    }

    /// "unplug X11: cannot reach the plug (entry 38)".
    fn skip(&self, entry: u32) -> String {
        let Some(Act::Skip {
            method,
            point,
            reason,
        }) = self.act(entry)
        else {
            return self.text(entry);
        };
        let at = safe(&self.case.name(point));
        let what = match method {
            Method::Open => everything_at(&at),
            method => format!("{} {at}", word(*method)),
        };
        let colon = if reason.is_empty() { "" } else { ": " };
        format!("{what}{colon}{} (entry {entry})", safe(reason))
    }

    /// What was asked for and could not be done; once all is found it was not needed.
    fn skipped(&self) -> Vec<String> {
        let skips = self.report.skipped.iter();
        let skips: Vec<String> = skips.map(|entry| self.skip(*entry)).collect();
        if skips.is_empty() {
            return Vec::new();
        }
        if self.report.verdict.ending == Ending::Confirmed {
            let all = skips.join("; ");
            return vec![format!("Skipped, and in the end not needed: {all}.")];
        }
        skips
            .iter()
            .map(|one| format!("Not done: {one}."))
            .collect()
    }

    /// "behind L2: 31 suspects, together up to 208 mA, the most at K11 stuck closed (208 mA)".
    fn branch(&self, group: &Group) -> String {
        /// So many are all named.
        const NAMED: usize = 3;
        let with_most =
            |one: &Possible| format!("{} ({})", cause(&one.id, one.cause), current(one.hides));
        let Group {
            behind,
            causes,
            together,
        } = group;
        if let [one] = causes.as_slice() {
            return with_most(one);
        }
        let behind = behind.map_or_else(
            || "modules and inputs".to_owned(),
            |part| format!("behind {}", safe(self.feeds().id(part))),
        );
        let together = current(*together);
        if causes.len() <= NAMED {
            let names: Vec<String> = causes.iter().map(with_most).collect();
            return format!("{behind}, together up to {together}: {}", names.join("; "));
        }
        let all = count(causes.len(), "suspect");
        let most = causes.first().map(with_most).unwrap_or_default();
        format!("{behind}: {all}, together up to {together}, the most at {most}")
    }

    pub(super) fn still_out(&self) -> String {
        let mut lines: Vec<String> = self
            .report
            .out
            .iter()
            .map(|taken| {
                let feeds = self.feeds();
                let place = taken.parts.first().and_then(|p| feeds.place(*p));
                let at = place.map(|p| format!(" ({})", safe(&feeds.place_as_written(p).id.value)));
                let how = if taken.unplugged {
                    "unplugged"
                } else {
                    "pulled"
                };
                format!("{}, {how}{}", safe(&taken.name), at.unwrap_or_default())
            })
            .collect();
        if lines.is_empty() {
            lines.push("Nothing is out by what was entered.".to_owned());
        }
        lines.push("Check also: latches and switches turned by hand, bridge lead, meter (red lead back to V), keep-alive supply, covers and trim.".to_owned());
        bullets(&lines)
    }

    pub(super) fn to_do(&self) -> String {
        let mut out = String::new();
        let all = self.report.to_do.iter().chain(self.still_to_watch());
        for (index, task) in all.flat_map(|to_do| self.tasks(to_do)).enumerate() {
            let _ = writeln!(out, "{}. {task}", index + 1);
        }
        out
    }

    /// Two readings in a row are no watch.
    pub(super) fn still_to_watch(&self) -> Option<&'static ToDo> {
        let watched = self.report.repairs.last().map(|repair| repair.verified);
        let short = watched == Some(Verified::Watched) && self.watch().is_none();
        short.then_some(&ToDo::Watch)
    }

    /// What is to be done about each thing that was proven.
    fn mend(&self, subjects: &[Subject]) -> Vec<String> {
        let of = |subject: &Subject| {
            let found = self.proven().find(|found| found.subject == *subject);
            let name = subject.id(self.feeds());
            found.map_or_else(
                || format!("Repair or replace: {}.", self.called(subject)),
                |found| safe(&what_mends(found, &spoken(&name), self.case)),
            )
        };
        let mut tasks: Vec<String> = subjects.iter().map(of).collect();
        let together = self.of_one_network();
        if let Some(last) = tasks.last_mut().filter(|_| !together.is_empty()) {
            let _ = write!(
                last,
                " {} are of one network: take them for two faults only when nothing is found that keeps both awake.",
                capital(&listed(&together))
            );
        }
        tasks
    }

    /// What is left to do, in sentences.
    pub(super) fn tasks(&self, to_do: &ToDo) -> Vec<String> {
        let task = match to_do {
            ToDo::Repair(subjects) => return self.mend(subjects),
            ToDo::PutBack => "Put back in all that is out.".to_owned(),
            ToDo::Verify => format!(
                "After the repair prepare the vehicle anew, let it settle in full ({} min) with everything in and read the draw; where it came and went, log it longer than it ever stayed away.",
                plain(self.feeds().settle().value())
            ),
            ToDo::Watch => "Watch the draw with everything in at least as long as the fault took to show, and read it again.".to_owned(),
            ToDo::ReadAgain(clash) => format!(
                "Take one of these again: {}; withdraw the one that was wrong.",
                entries(clash)
            ),
            ToDo::GoOn => "Go on with the case: the next step is known (halfsplit next).".to_owned(),
            ToDo::PartFurther if !self.case.kept_up().is_empty() => "Find what keeps them awake before a module is replaced: what was plugged in or added, a switch that is in no file, or who calls on the network.".to_owned(),
            ToDo::PartFurther => "Split what is left by other means: the wiring sheet, a finer meter, a known good part.".to_owned(),
            ToDo::Log => "If the complaint stands, log the draw until it shows again, in the state in which the owner leaves the vehicle.".to_owned(),
            ToDo::SmallOnes => "Read the largest that are left with a finer instrument; several small ones may add up.".to_owned(),
            ToDo::FinerRange => "Read the draw on a finer range: an mA jack, or a clamp that reads single milliamps.".to_owned(),
            ToDo::FindLimit => "Find the maker's limit for the settled draw and enter it in the vehicle file.".to_owned(),
            ToDo::TestBattery(battery) => format!(
                "Charge and test {} by itself, and read what hangs on it: it was tied to this battery while parked, so it may be flat or harmed.",
                safe(self.feeds().id(*battery))
            ),
        };
        vec![task]
    }
}
