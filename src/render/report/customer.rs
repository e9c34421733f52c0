//! What the owner of the vehicle reads: a paragraph in plain words.

use super::Page;
use super::figures::{about, in_amps_too, two_digits};
use super::owner::number_of;
use crate::battery::{self, Comparison};
use crate::case::{Found, Left, TakenOut};
use crate::feeds::PartId;
use crate::interval::Interval;
use crate::log::Pattern;
use crate::quantity::{Days, Milliamps};
use crate::render::answer::current;
use crate::render::intake::day_count;
use crate::render::log::duration;
use crate::render::mending::is_hedged;
use crate::render::words::{capital, in_words, listed, number, plain};
use crate::report::{Ending, Repaired, Unexplained, Verified, Watched, tied_battery};
use crate::suspects::{Cause, Subject};
use crate::vehicle::{LoadKind, PartKind};
use std::fmt::Write as _;

/// Hours or days as they are told: tenths below two.
fn round(value: f64) -> String {
    if value < 1.95 {
        number(value)
    } else {
        format!("{value:.0}")
    }
}

/// That what comes and goes was not there.
const AWAY: &str = "We measured while that was away, so what causes it is not found yet.";

impl Page<'_> {
    pub(super) fn days(&self, draw: Interval<Milliamps>) -> Option<Interval<Days>> {
        let feeds = self.feeds();
        let batteries = feeds
            .parts()
            .filter(|p| feeds.part(*p).kind == PartKind::Battery);
        let written = feeds.part(PartId(0));
        let capacity = written
            .capacity
            .or_else(|| written.reserve.map(battery::capacity_of_reserve))?;
        (batteries.count() == 1).then(|| battery::days_at(draw, capacity))
    }

    /// When a full battery is too weak at such a draw, where that is known.
    fn flat_after(&self, draw: Interval<Milliamps>) -> Option<String> {
        let days = self.days(draw).filter(|days| days.high().is_finite())?;
        let (low, high, unit) = if days.high() < 2.0 {
            (days.low() * 24.0, days.high() * 24.0, "hours")
        } else {
            (days.low(), days.high(), "days")
        };
        Some(format!(
            "A full battery is then too weak to start the engine, or quite flat, after about {} to {} {unit}.",
            round(low),
            round(high)
        ))
    }

    /// What comes and goes regularly, the largest of it on average, and that average in mA.
    fn mean(&self) -> Option<(Pattern, f64)> {
        let means = self.case.comes().iter().filter_map(|comes| {
            let mean = comes.pattern.mean()?;
            Some((comes.pattern, mean))
        });
        means.max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Whether the draw was in order when it was read, and is too much with what comes and goes.
    pub(super) fn is_over_on_average(&self) -> bool {
        let before = self.report.before.as_ref().map(|before| before.current);
        self.mean().is_some()
            && before.is_some_and(|quiet| {
                quiet.high() <= self.limit() && self.case.on_average(quiet).low() > self.limit()
            })
    }

    /// What the battery loses on average to what comes and goes.
    fn on_average(&self) -> Option<String> {
        let (pattern, _) = self.mean()?;
        let exactly = |ma: f64| Interval::exactly(Milliamps::of(ma));
        let before = self.report.before.as_ref().map(|before| before.current);
        let mean = self.case.on_average(before.unwrap_or_else(|| exactly(0.0)));
        let over = mean.low() > self.limit();
        let flat = self.flat_after(mean).filter(|_| over);
        Some(format!(
            "By a log it comes and goes: {} more for {} of every {}, which is {} on average, with what flows all the time.{}",
            about(exactly(pattern.size)),
            duration(pattern.lasts?),
            duration(pattern.every?),
            about(mean),
            flat.map_or_else(String::new, |flat| format!(" {flat}"))
        ))
    }

    pub(super) fn customer(&self) -> String {
        let mut text = Vec::new();
        let ending = self.report.verdict.ending;
        if let Some(before) = &self.report.before {
            text.push(format!(
                "Parked and switched off, this vehicle took {} from its battery{}.",
                in_amps_too(self.as_read(before.entry, before.current)),
                self.against_the_limit(before.current)
            ));
            let over = before.current.low() > self.limit();
            if self.mean().is_none() {
                text.extend(self.flat_after(before.current).filter(|_| over));
            }
        }
        text.extend(self.on_average());
        if self.report.before.is_some() {
            text.extend(self.days_told());
        }
        // The repair may not have caught all of it.
        let all_found = ending == Ending::Confirmed
            || (ending == Ending::Open && self.rest_in_order().is_some());
        text.push(match ending {
            _ if all_found => {
                let hedged = self.proven().any(|found| is_hedged(found, self.case));
                let head = match self.proven().count() {
                    _ if !self.of_one_network().is_empty() => {
                        "We found what takes it and proved each of them, though one thing may be keeping them awake".to_owned()
                    }
                    // No more is called a cause than was shown to be it.
                    1 if hedged => "We found where it goes and proved it".to_owned(),
                    1 => "We found the cause and proved it".to_owned(),
                    more if hedged => format!("We found {} drains and proved each", in_words(more)),
                    more => format!("We found {} causes and proved each", in_words(more)),
                };
                self.causes(&head) + &self.within()
            }
            Ending::Located if !self.case.kept_up().is_empty() => format!(
                "{}. What keeps it so was not found yet, and nothing there need be broken.",
                capital(&self.stay_awake())
            ),
            Ending::Located => format!(
                "The cause is narrowed down, but not proven: it is at {}{}.",
                self.narrowed_to(),
                if self.report.one_plug.is_empty() {
                    ""
                } else {
                    ", which share a connector"
                }
            ),
            Ending::Gone | Ending::WithinLimit if self.is_over_on_average() => AWAY.to_owned(),
            Ending::Gone => self.back_to_normal(),
            Ending::WithinLimit => self.within_the_limit(),
            Ending::Contradiction => "Our readings contradict each other, so there is no result yet; at least one has to be measured again.".to_owned(),
            Ending::NoSingleCause => "No single part takes that much: several small ones may add up, or a reading was wrong.".to_owned(),
            Ending::TooCoarse => "What is left is so little that our meter cannot say whether it is too much.".to_owned(),
            Ending::NoLimit => "How much this vehicle may take is not known to us, so there is no verdict yet.".to_owned(),
            Ending::Open if self.is_mended_unproven() => "The cause was not proven by disconnecting and connecting it again: we know only that it is normal since the repair.".to_owned(),
            Ending::Confirmed | Ending::Open => "The search is not finished.".to_owned(),
        });
        if !all_found && self.proven().next().is_some() {
            text.push(self.causes("Proven so far") + &self.within());
        }
        for found in self.report.verdict.found.iter().filter(|f| !f.returned) {
            text.push(format!(
                "With {} disconnected it dropped, and it stayed low when that was connected again: so the fault was reset for now, and nothing is repaired.",
                self.owner_knows(found)
            ));
        }
        text.extend(self.proven().filter_map(|found| self.tied(found)));
        text.extend(self.out_for_now());
        text.extend(self.report.repairs.iter().map(|r| self.done(r)));
        text.extend(self.settings_lost());
        text.join(" ")
    }

    /// That it is normal again with everything connected, and what that may be.
    fn back_to_normal(&self) -> String {
        let reset = self.report.verdict.found.iter().any(|f| !f.returned);
        let known = reset || self.mean().is_some();
        let why = if known {
            "Then it went back to normal, with everything connected"
        } else {
            "Later it was normal, with everything connected: it went by itself, or the vehicle had not gone to sleep yet when we measured first"
        };
        format!("{why}. Nothing about a fault is proven, and it may come back.")
    }

    /// What a draw within the limit says, where nothing else speaks against it.
    fn within_the_limit(&self) -> String {
        if let Some((low, at, volts)) = self.case.lower_battery() {
            return format!(
                "Where we measured, that is in order. But of the two batteries {} had {} V and the other {} V: something may draw from that one alone, or it is worn, so nothing is ruled out yet.",
                self.owner_part(low),
                plain(at),
                plain(volts)
            );
        }
        if self.mean().is_some() {
            return AWAY.to_owned();
        }
        "Nothing was draining the battery while we measured. A fault that comes and goes is not ruled out by this.".to_owned()
    }

    /// ", which is about 8 times what is normal (up to 70 mA)".
    fn against_the_limit(&self, draw: Interval<Milliamps>) -> String {
        /// From so many times on the number is told (judgement).
        const TIMES: f64 = 1.5;
        let limit = self.limit();
        if !limit.is_finite() {
            return String::new();
        }
        let times = f64::midpoint(draw.low(), draw.high()) / limit;
        let allowed = current(limit);
        if draw.high() <= limit && !self.is_over_on_average() {
            format!(", which is normal (up to {allowed})")
        } else if draw.low() <= limit {
            format!("; up to {allowed} is normal")
        } else if times < TIMES {
            format!(", which is more than the {allowed} that are normal")
        } else {
            let times = if times < 9.5 {
                number((times * 2.0).round() / 2.0)
            } else {
                two_digits(times)
            };
            format!(", which is about {times} times what is normal (up to {allowed})")
        }
    }

    /// That what was measured does not explain what the owner told.
    fn days_told(&self) -> Option<String> {
        let Unexplained { told, how, .. } = self.report.unexplained.as_ref()?;
        let days = day_count(*told);
        Some(match how {
            Comparison::More => format!(
                "You told us it is flat after {days}. By what we measured it would be sooner: so it does not draw that much all the time, or it was left otherwise."
            ),
            _ => format!(
                "You told us it is flat after only {days}. What we measured does not explain that: the battery and its charging should be checked too, and please note when it is worse."
            ),
        })
    }

    /// That another battery hung on this one, and has to be looked after.
    fn tied(&self, found: &Found) -> Option<String> {
        let battery = tied_battery(self.case, found)?;
        Some(format!(
            "{} tied {} to this one while the vehicle was parked: that battery may be flat or harmed too, and should be charged and tested.",
            capital(&self.owner_knows(found)),
            self.owner_part(battery)
        ))
    }

    /// What does not work until it is mended or put back.
    fn out_for_now(&self) -> Vec<String> {
        let cause = |name: &str| {
            let mut found = self.proven();
            found.find(|f| f.taken.iter().any(|taken| taken.name == name))
        };
        let (mut dead, mut fuses) = (Vec::new(), Vec::new());
        for taken in &self.report.out {
            match cause(&taken.name) {
                // What was never there for the owner cannot be missed: what else its fuse feeds can.
                Some(found) if found.cause != Cause::NotOnSheet || taken.unplugged => {
                    dead.push(self.owner_knows(found));
                }
                None if taken.unplugged => dead.extend(self.in_plug(&taken.parts)),
                _ => fuses.push(self.owner_reads(&taken.name)),
            }
        }
        dead.dedup();
        let mut text = Vec::new();
        if !dead.is_empty() {
            let (is, does) = number_of(&dead);
            let names = listed(&dead);
            text.push(format!(
                "{} {is} disconnected for now and {does} not work.",
                capital(&names)
            ));
        }
        text.extend(self.report.out.iter().filter_map(|taken| {
            let found = cause(&taken.name)?;
            self.out_beside(taken, found)
        }));
        if !fuses.is_empty() {
            let (is, feeds) = if fuses.len() == 1 {
                ("is", "it feeds")
            } else {
                ("are", "they feed")
            };
            let names = capital(&listed(&fuses));
            text.push(format!(
                "{names} {is} out for now, so what {feeds} does not work."
            ));
        }
        text
    }

    /// What does not work either with a cause out.
    fn out_beside(&self, taken: &TakenOut, found: &Found) -> Option<String> {
        let Subject::Part(seat) = found.subject else {
            return None;
        };
        let feeds = self.feeds();
        if !taken.unplugged {
            let whole = taken.parts.contains(&seat);
            let name = self.owner_reads(&taken.name);
            return (!whole).then(|| format!("Nothing else that {name} feeds works either."));
        }
        let others: Vec<PartId> = taken
            .parts
            .iter()
            .copied()
            .filter(|part| !feeds.is_below(seat, *part))
            .collect();
        let called = self.owner_knows(found);
        let mut names = self.in_plug(&others);
        names.retain(|name| *name != called);
        let (is, does) = match names.as_slice() {
            [] => return None,
            names => number_of(names),
        };
        Some(format!(
            "{} {is} on the same connector and {does} not work either.",
            capital(&listed(&names))
        ))
    }

    /// What was mended, and how the draw was after it, in plain words.
    pub(super) fn done(&self, repaired: &Repaired) -> String {
        let what: Vec<String> = repaired
            .entries
            .iter()
            .map(|entry| self.work_done(*entry))
            .collect();
        let last = repaired.draws.last();
        let last = last.map(|draw| self.as_read(draw.entry, draw.current));
        let times = match repaired.draws.len() {
            0..=2 => "twice".to_owned(),
            more => format!("{} times", in_words(more)),
        };
        let normal = if self.limit().is_finite() {
            "which is normal"
        } else {
            "and how much is normal for it is not known to us"
        };
        let after = match (repaired.verified, last) {
            (Verified::Watched, Some(last)) if matches!(self.watch(), Watched::Short(_)) => format!(
                "After that, with everything connected again, it takes {last}, {normal}. We measured that {times} in a short time and did not watch it for longer, so the repair is not verified."
            ),
            (Verified::Watched, Some(last)) if self.watch().is_none() => format!(
                "After that, with everything connected again, it takes {last}, {normal}. It was not watched for long enough since, so the repair is not verified."
            ),
            (Verified::Watched, Some(last)) if self.watch() == Watched::Unknown => format!(
                "After that, with everything connected again, it takes {last}, {normal}. We measured that {times}; how long it was watched was not noted."
            ),
            (Verified::Watched, Some(last)) if repaired.draws.len() == 1 => format!(
                "After that, with everything connected again, it takes {last}, {normal}, and nothing more came while it was recorded for longer."
            ),
            (Verified::Watched, Some(last)) => format!(
                "After that, with everything connected again, it takes {last}, {normal}, and it did again when we measured a second time."
            ),
            (Verified::Unwatched, Some(last)) => format!(
                "After that, with everything connected again, it takes {last}, {normal}. We measured that once and did not watch it for longer, so the repair is not verified."
            ),
            (Verified::StillOver, Some(last)) => {
                let left = repaired.unmended.iter().map(|s| self.owner_calls(s));
                let left = listed(&left.collect::<Vec<_>>());
                let not_yet = match repaired.unmended.len() {
                    0 => String::new(),
                    1 => format!(": {left} is not repaired yet"),
                    _ => format!(": {left} are not repaired yet"),
                };
                format!("After that it still took {last}, which is too much{not_yet}.")
            }
            _ => "The repair is not verified: it was not measured since, or not finely enough to say whether that mended it."
                .to_owned(),
        };
        format!("Repaired: {}. {after}", what.join("; "))
    }

    /// What was proven, and how, as the owner sees it.
    fn causes(&self, head: &str) -> String {
        let names: Vec<String> = self
            .proven()
            .map(|found| self.with_what_hangs_there(found))
            .collect();
        // What holds an "or" is not joined by "and".
        let hedged = self.proven().any(|found| is_hedged(found, self.case));
        let all = if hedged {
            names.join("; ")
        } else {
            listed(&names)
        };
        let mut text = format!("{head}: {all}.");
        for found in self.proven() {
            let instead = found.out_in_its_place(self.feeds());
            let with = match instead {
                Some(taken) => {
                    let parts: Vec<PartId> = taken.iter().flat_map(|t| t.parts.clone()).collect();
                    listed(&self.in_plug(&parts))
                }
                None if names.len() == 1 => "it".to_owned(),
                None => self.owner_knows(found),
            };
            let again = if with == "it" { "it" } else { "that" };
            let _ = write!(
                text,
                " With {with} disconnected the vehicle took {} less, and with {again} connected again as much as before.",
                self.fell(found)
            );
            let added = match &found.subject {
                Subject::Part(part) => self.feeds().load_kind(*part) == Some(LoadKind::Added),
                _ => false,
            };
            if added {
                let _ = write!(
                    text,
                    " {} is added equipment.",
                    capital(&self.owner_knows(found))
                );
            }
        }
        text
    }

    /// What it takes with all of that disconnected, as far as it was read.
    pub(super) fn within(&self) -> String {
        let Some(rest) = &self.report.rest else {
            return String::new();
        };
        let all = match self.proven().count() {
            1 => "it",
            2 => "both",
            _ => "all of them",
        };
        let (now, limit) = (rest.current, self.limit());
        let judged = if !limit.is_finite() {
            "; how much is normal for it is not known to us"
        } else if now.high() <= limit {
            ", which is normal"
        } else if now.low() > limit {
            ", which is still too much"
        } else {
            ""
        };
        let left = self.report.remainder.as_ref().map(|left| left.left);
        let more = match left {
            Some(Left::MoreThanUsual(above)) if now.high() <= limit => format!(
                " That is still {} more than is usual for it; what takes that was not looked for.",
                current(above)
            ),
            _ => String::new(),
        };
        format!(
            " With {all} disconnected the vehicle took {}{judged}.{more}",
            self.as_read(rest.entry, now)
        )
    }
}
