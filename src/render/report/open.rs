//! What was ruled out, what was not proven, what is still out and what is left to do.

use super::{MOST, Page, bullets, cause, entries, less_likely, more, safe};
use crate::case::Left;
use crate::feeds::PartId;
use crate::journal::{Act, word};
use crate::measurement::Method;
use crate::render::answer::{current, span};
use crate::render::culprit::{coil_of, culprit, felt};
use crate::render::left::{left_words, one_plug_words};
use crate::render::words::{LIT, capital, count, listed, plain};
use crate::report::{Ending, Ground, Group, Possible, Settled, ToDo, Verified, wiring_too};
use crate::suspects::Subject;
use crate::vehicle::{LoadKind, PartKind, Rest};
use std::fmt::Write as _;

impl Page<'_> {
    pub(super) fn cleared(&self) -> String {
        let Some(cleared) = &self.report.cleared else {
            let why = match self.report.verdict.ending {
                Ending::Contradiction => "Nothing, while the readings contradict each other.",
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
        rest.filter(|rest| rest.current.high() <= self.limit())
    }

    /// Whether anything is left, where a draw over the limit was searched for.
    pub(super) fn left(&self) -> String {
        let remainder = self.report.remainder.as_ref();
        let words = |remainder| safe(&left_words(remainder, self.case.setting()));
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
                let felt = match felt(found, self.case) {
                    Some((true, entry)) => format!(
                        " The relay felt warm (entry {entry}), which speaks for what holds it on."
                    ),
                    Some((false, entry)) => {
                        format!(
                            " The relay felt cold (entry {entry}), which speaks for its contact."
                        )
                    }
                    None => String::new(),
                };
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
        let what = match method {
            Method::Open => "all that is at",
            method => word(*method),
        };
        let at = safe(&self.case.name(point));
        let colon = if reason.is_empty() { "" } else { ": " };
        format!("{what} {at}{colon}{} (entry {entry})", safe(reason))
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
        lines.push("Check also: latch tools, catches and switches, bridge lead, meter (red lead back to V), keep-alive supply, covers and trim.".to_owned());
        bullets(&lines)
    }

    pub(super) fn to_do(&self) -> String {
        let mut out = String::new();
        let all = self.report.to_do.iter().chain(self.still_to_watch());
        for (index, to_do) in all.enumerate() {
            let _ = writeln!(out, "{}. {}", index + 1, self.task(to_do));
        }
        out
    }

    /// Two readings in a row are no watch.
    pub(super) fn still_to_watch(&self) -> Option<&'static ToDo> {
        let watched = self.report.repairs.last().map(|repair| repair.verified);
        let short = watched == Some(Verified::Watched) && self.watch().is_none();
        short.then_some(&ToDo::Watch)
    }

    /// What a load hangs on that is open when all is well: it may be the fault behind the load.
    pub(super) fn switched_by(&self, subject: &Subject) -> Option<String> {
        let Subject::Part(part) = subject else {
            return None;
        };
        let feeds = self.feeds();
        // A coil that is held on, or that of a relay: what holds it.
        let coils = feeds.coils_of(*part).iter().chain(std::iter::once(part));
        let mut commands = coils.filter_map(|coil| feeds.part(*coil).commanded_by.as_ref());
        if let Some(command) = commands.next() {
            return Some(safe(&command.value));
        }
        let above = feeds.path(*part).into_iter().rev().skip(1);
        let switches = above.take_while(|p| feeds.up(*p).is_some()).find(|p| {
            let kind = feeds.part(*p).kind;
            let closed = feeds.part(*p).rest == Some(Rest::Closed);
            !closed && matches!(kind, PartKind::Switch | PartKind::Relay | PartKind::Output)
        })?;
        Some(safe(feeds.id(switches)))
    }

    /// What is to be mended: of a wire that has one of several faults, each of them.
    fn to_mend(&self, subject: &Subject) -> String {
        let found = self.proven().find(|found| found.subject == *subject);
        let wiring = found.filter(|found| !wiring_too(self.case, found).is_empty());
        if found.is_some_and(|found| coil_of(found, self.case) == Some(true)) {
            return format!(
                "{} (its coil is on, so the relay does as it is told: what holds the coil on is to be mended)",
                self.called(subject)
            );
        }
        match wiring {
            Some(found) => format!(
                "{} (look at its joints and plugs, and for anything added on the way)",
                safe(&culprit(found, self.case))
            ),
            None => self.called(subject),
        }
    }

    /// Whether it is a module on a network, which something else may keep awake.
    fn may_be_woken(&self, subject: &Subject) -> bool {
        let feeds = self.feeds();
        let module = match subject {
            Subject::Module(module) => Some(*module),
            Subject::Part(part) => feeds.module_of(*part),
            _ => None,
        };
        module.is_some_and(|module| feeds.network_of(module).is_some())
    }

    pub(super) fn task(&self, to_do: &ToDo) -> String {
        match to_do {
            ToDo::Repair(subjects) => {
                let names: Vec<String> = subjects.iter().map(|s| self.to_mend(s)).collect();
                let mut switched: Vec<String> =
                    subjects.iter().filter_map(|s| self.switched_by(s)).collect();
                switched.dedup();
                let look = if switched.is_empty() {
                    String::new()
                } else {
                    format!(" Look first at what switches it on: {}.", listed(&switched))
                };
                let lamp = |subject: &Subject| match subject {
                    Subject::Part(part) => self.feeds().load_kind(*part) == Some(LoadKind::Lamp),
                    _ => false,
                };
                let lit = if subjects.iter().any(lamp) {
                    format!(" {LIT}")
                } else {
                    String::new()
                };
                let woken = if subjects.iter().any(|s| self.may_be_woken(s)) {
                    " Before a module is replaced, look at what may wake it: latches, switches and aerials on it, what is plugged in or was added, also where this file does not have it."
                } else {
                    ""
                };
                let switch = |subject: &Subject| match subject {
                    Subject::Part(part) => self.feeds().part(*part).kind == PartKind::Switch,
                    _ => false,
                };
                let together = self.of_one_network();
                let woken = if together.is_empty() {
                    woken.to_owned()
                } else {
                    format!(
                        "{woken} {} are of one network: take them for two faults only when nothing is found that keeps both awake.",
                        capital(&listed(&together))
                    )
                };
                let pressed = if subjects.iter().any(switch) {
                    " A switch that is closed need not be broken: see first what presses it, its stop and its setting, and whether a wire goes round it."
                } else {
                    ""
                };
                format!(
                    "Repair or replace what was proven: {}.{lit}{look}{pressed}{woken}",
                    listed(&names)
                )
            }
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
            ToDo::PartFurther => "Split what is left by other means: the wiring sheet, a finer meter, a known good part.".to_owned(),
            ToDo::Log => "If the complaint stands, log the draw until it shows again, in the state in which the owner leaves the vehicle.".to_owned(),
            ToDo::SmallOnes => "Read the largest that are left with a finer instrument; several small ones may add up.".to_owned(),
            ToDo::FinerRange => "Read the draw on a finer range: an mA jack, or a clamp that reads single milliamps.".to_owned(),
            ToDo::FindLimit => "Find the maker's limit for the settled draw and enter it in the vehicle file.".to_owned(),
            ToDo::TestBattery(battery) => format!(
                "Charge and test {} by itself, and read what hangs on it: it was tied to this battery while parked, so it may be flat or harmed.",
                safe(self.feeds().id(*battery))
            ),
        }
    }
}
