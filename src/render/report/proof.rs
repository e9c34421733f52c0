//! The verdict, its numbered reasons, where it is, and the repair after it.

use super::{Page, alone, bounded, bullets, entries, less_likely, safe};
use crate::journal::Act;
use crate::render::answer::{current, span};
use crate::render::culprit::{culprit, what_was_out, wiring};
use crate::render::log::duration;
use crate::render::mending::is_told_wet;
use crate::render::report::when::lasting;
use crate::render::words::{capital, listed, particulars, plug, spoken_branch};
use crate::report::{Ending, Ground, Repaired, Settled, Verified, Watched};
use std::fmt::Write as _;

impl Page<'_> {
    /// Each repair with what was read after it.
    pub(super) fn repairs(&self) -> String {
        let known = self.limit().is_finite();
        let lines: Vec<String> = self
            .report
            .repairs
            .iter()
            .map(|repaired| {
                let what: Vec<String> = repaired
                    .entries
                    .iter()
                    .map(|entry| format!("{} (entry {entry})", self.mended(*entry)))
                    .collect();
                let draws: Vec<String> = repaired.draws.iter().map(|d| self.settled(d)).collect();
                let read = match repaired.verified {
                    Verified::NotRead => "no settled draw read since says that it holds: **not** verified".to_owned(),
                    Verified::Unwatched => format!(
                        "**not** verified: {}, everything in, it was {}{}, once. It was not read again after a watch, so a drain that comes and goes, or takes its time, is not excluded",
                        self.settled_anew(repaired),
                        listed(&draws),
                        if known { ", within the limit" } else { "" }
                    ),
                    Verified::Watched => format!(
                        "{}, everything in: {}; {}{}",
                        self.settled_anew(repaired),
                        listed(&draws),
                        if known { "within the limit " } else { "" },
                        self.watched(repaired)
                    ),
                    Verified::StillOver if !repaired.unmended.is_empty() => format!(
                        "settled anew: {}; still over the limit, with {} not mended yet",
                        listed(&draws),
                        self.all_called(&repaired.unmended)
                    ),
                    Verified::StillOver => format!(
                        "settled anew: {}; still over the limit, so this was not the cause, or not the only one",
                        listed(&draws)
                    ),
                };
                format!("{}: {read}{}.", what.join("; "), log_words(repaired, self.watch()))
            })
            .collect();
        bullets(&lines)
    }

    /// "R5: new relay".
    fn mended(&self, entry: u32) -> String {
        match self.act(entry) {
            Some(Act::Repaired {
                point: Some(point),
                text,
            }) if !text.is_empty() => format!("{}: {}", safe(&self.case.name(point)), safe(text)),
            _ => capital(&self.text(entry)),
        }
    }

    pub(super) fn headline(&self) -> String {
        let word = match self.report.verdict.ending {
            Ending::Confirmed => "Confirmed",
            Ending::Located => "Located, not proven",
            Ending::Gone | Ending::WithinLimit if self.is_over_on_average() => {
                "Quiet when it was read, and over the limit with what comes and goes: not found"
            }
            Ending::Gone => "Gone, not proven",
            Ending::WithinLimit if self.case.lower_battery().is_some() => {
                "Within the limit where it was read, and one battery lower than the other"
            }
            Ending::WithinLimit => "Within the limit",
            Ending::Contradiction => "No result: readings contradict each other",
            Ending::NoSingleCause => "No single cause",
            Ending::TooCoarse => "No verdict: the instrument is too coarse",
            Ending::NoLimit => "No verdict: no limit known",
            Ending::Open if self.rest_in_order().is_none() && self.proven().next().is_some() => {
                "Not finished; proven so far"
            }
            Ending::Open if self.rest_in_order().is_none() && self.is_mended_unproven() => {
                "Within the limit after a repair; the cause was not proven"
            }
            Ending::Open if self.rest_in_order().is_none() => "Not finished",
            Ending::Open if self.report.repairs.is_empty() => "Found, not mended",
            Ending::Open if self.all_mended() => "Found and mended",
            Ending::Open => "Found, not all mended",
        };
        let names: Vec<String> = match self.report.verdict.ending {
            Ending::Confirmed | Ending::Open => self
                .proven()
                .map(|found| safe(&culprit(found, self.case)))
                .collect(),
            Ending::Located => self
                .report
                .located
                .iter()
                .map(|one| {
                    safe(&spoken_branch(
                        &one.id,
                        self.feeds(),
                        is_told_wet(self.case),
                    ))
                })
                .collect(),
            _ => Vec::new(),
        };
        let both = if self.of_one_network().is_empty() {
            ""
        } else {
            ", or one thing that keeps them awake"
        };
        let open = self.report.verdict.ending == Ending::Open && self.report.repairs.is_empty();
        let branches = self.report.branches.iter().filter(|_| open);
        let branches: Vec<String> = branches.map(|branch| safe(&branch.id)).collect();
        let without = if branches.is_empty() {
            String::new()
        } else {
            format!("; the draw falls without {}", listed(&branches))
        };
        let colon = if names.is_empty() { "" } else { ": " };
        format!(
            "**{word}{colon}{}{both}{without}.** {:.0} min at the vehicle by the tool's own count.",
            names.join("; "),
            self.report.spent
        )
    }

    /// Whether the draw was within the limit after the last repair, and nothing that was proven is left out of
    /// what was mended.
    fn all_mended(&self) -> bool {
        self.report.repairs.last().is_some_and(|repaired| {
            let within = matches!(repaired.verified, Verified::Watched | Verified::Unwatched);
            within && repaired.unmended.is_empty()
        })
    }

    /// Whether the draw is within the limit since a repair, though nothing was proven before it.
    pub(super) fn is_mended_unproven(&self) -> bool {
        self.all_mended() && self.proven().next().is_none()
    }

    pub(super) fn grounds(&self) -> String {
        let mut out = String::new();
        for (index, ground) in self.report.verdict.grounds.iter().enumerate() {
            let _ = writeln!(out, "{}. {}", index + 1, self.ground(ground));
        }
        let rests = &self.report.verdict.rests_on;
        if !rests.is_empty() {
            let _ = writeln!(
                out,
                "\nThis rests on {}: with these readings alone it comes out the same (tried).",
                entries(rests)
            );
        }
        out
    }

    pub(super) fn settled(&self, draw: &Settled) -> String {
        let out = if draw.out.is_empty() {
            String::new()
        } else {
            format!(" with {} out", self.taken(&draw.out))
        };
        format!(
            "{}{out} (entry {}: {})",
            span(draw.current),
            draw.entry,
            self.text(draw.entry)
        )
    }

    pub(super) fn ground(&self, ground: &Ground) -> String {
        let verdict = &self.report.verdict;
        let subject = |index: &usize| {
            let found = verdict.found.get(*index);
            found.map(|f| self.called(&f.subject)).unwrap_or_default()
        };
        let out = |index: &usize| {
            let found = verdict.found.get(*index);
            let instead = found.and_then(|found| what_was_out(found, self.feeds()));
            instead.map_or_else(|| subject(index), |names| safe(&names))
        };
        match ground {
            Ground::Limit(limit) => {
                let assumed = if self.feeds().vehicle().limit.is_some() {
                    "by the vehicle file"
                } else {
                    "assumed; common practice, no source"
                };
                format!(
                    "The settled draw may be up to {} ({assumed}).",
                    current(*limit)
                )
            }
            Ground::Found(draw) => {
                let over = if draw.current.low() > self.limit() {
                    let by = draw.current.low() - self.limit();
                    format!(", at least {} over the limit", current(by))
                } else {
                    String::new()
                };
                format!("It was {}{over}.", self.settled(draw))
            }
            Ground::Fell { found, draws, fell } => format!(
                "Without {} it fell by {} ({}).",
                out(found),
                span(*fell),
                entries(draws)
            ),
            Ground::Alone {
                found,
                ruled_out,
                left,
            } => {
                let this = &self.report.verdict.found[*found];
                let but = less_likely(this, &format!(", but less likely than {}", subject(found)));
                alone(&but, ruled_out, left)
            }
            Ground::Returned {
                found,
                draw,
                returned: true,
            } => format!(
                "With {} back in it returned (entry {draw}: {}).",
                out(found),
                self.text(*draw)
            ),
            Ground::Returned { found, draw, .. } => format!(
                "With {} back in it did **not** return (entry {draw}: {}): it was reset, not proven.",
                out(found),
                self.text(*draw)
            ),
            Ground::Within(draw) => format!("It is within the limit now: {}.", self.settled(draw)),
            Ground::StillOver(draw) if draw.current.low() > self.limit() => format!(
                "It is still over the limit, by {} at least: {}.",
                current(draw.current.low() - self.limit()),
                self.settled(draw)
            ),
            Ground::StillOver(draw) => format!(
                "It is not proven to be within the limit: {}.",
                self.settled(draw)
            ),
            Ground::Clash(clash) => {
                let texts: Vec<String> = clash
                    .iter()
                    .map(|n| format!("entry {n}, {}", self.text(*n)))
                    .collect();
                format!("These cannot all be true: {}.", texts.join("; "))
            }
            Ground::Largest(rivals) => format!(
                "The largest that are left: {}.",
                rivals.iter().map(bounded).collect::<Vec<_>>().join("; ")
            ),
            Ground::Left(rival, carrying) => {
                let left = bounded(rival);
                match carrying {
                    Some((part, least, cited)) => format!(
                        "{} carries at least {} too much ({}); what is left there: {left}.",
                        safe(self.feeds().id(*part)),
                        current(*least),
                        entries(cited)
                    ),
                    None => format!("What is left: {left}."),
                }
            }
        }
    }

    pub(super) fn located(&self) -> String {
        let feeds = self.feeds();
        let mut out = String::new();
        for located in &self.report.located {
            let proven = self.proven().find(|f| f.subject.id(feeds) == located.id);
            let excess = located.excess;
            let took = match proven {
                Some(found) => format!("{} less without it", span(found.fell)),
                None if excess.low() > 0.0 => format!("{} too much", span(excess)),
                None if excess.high().is_finite() => {
                    format!("up to {} too much", current(excess.high()))
                }
                None => "how much is not known".to_owned(),
            };
            let id = safe(&match proven {
                Some(found) => wiring(found, self.case)
                    .unwrap_or_else(|| spoken_branch(&located.id, feeds, is_told_wet(self.case))),
                None => spoken_branch(&located.id, feeds, is_told_wet(self.case)),
            });
            if located.path.is_empty() {
                let _ = writeln!(
                    out,
                    "{id}, {took}; an input, which carries no current of its own: its connector comes out.\n"
                );
                continue;
            }
            let _ = writeln!(out, "{id}, {took}; from the battery down:\n");
            for (index, part) in located.path.iter().enumerate() {
                let (number, id) = (index + 1, safe(feeds.id(*part)));
                let what = particulars(feeds, *part).join(", ");
                let _ = writeln!(out, "{number}. {id}: {}", safe(&what));
            }
            let plugs: Vec<String> = located
                .path
                .iter()
                .rev()
                .filter_map(|part| plug(feeds.part(*part)))
                .map(|plug| safe(&plug))
                .collect();
            if !plugs.is_empty() {
                let _ = writeln!(
                    out,
                    "\nPlugs on the way, nearest first: {}.",
                    plugs.join(", ")
                );
            } else if !located.unplug.is_empty() {
                let names: Vec<String> = located.unplug.iter().map(|n| safe(n)).collect();
                let _ = writeln!(out, "\nTo take out, nearest first: {}.", names.join(", "));
            }
            out.push('\n');
        }
        out
    }
}

/// Whether it was logged after a repair, and as long as the fault stays away.
fn log_words(repaired: &Repaired, watched: Watched) -> String {
    if let Watched::LogTooSoon { long, since } = watched {
        return format!(
            "; a log of {} was entered {} after the last thing that was done: it **cannot** have run since",
            duration(long),
            lasting(since)
        );
    }
    let entered = if watched == Watched::LoggedAsEntered {
        " (as entered, not by this program's clock)"
    } else {
        ""
    };
    match (repaired.logged, repaired.stays_away) {
        (None, None) => String::new(),
        (None, Some(away)) => format!(
            "; **not** logged, and the fault stays away for up to {}",
            duration(away)
        ),
        (Some(logged), None) => format!("; logged for {}{entered}", duration(logged)),
        (Some(logged), Some(away)) if logged < away => format!(
            "; logged for {}, which is **shorter** than the {} that the fault stays away",
            duration(logged),
            duration(away)
        ),
        (Some(logged), Some(away)) => format!(
            "; logged for {}{entered}, at least as long as the {} that the fault stays away",
            duration(logged),
            duration(away)
        ),
    }
}
