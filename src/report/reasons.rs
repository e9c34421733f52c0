//! Why a part, or several that belong together, is in its state.

use crate::case::{Case, Clash, Setting};
use crate::feeds::{Named, PartId};
use crate::journal::Act;
use crate::judgement::{Judgement, Standing};
use crate::ledger::{Because, End, Line, Out};
use crate::suspects::Subject;

/// What a reason is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum About {
    /// A part with all it feeds.
    Part(PartId),
    /// What is on no sheet under a part: what the part itself takes.
    Unlisted(PartId),
    /// Parts that are judged as one, with their name: a module's feeds, what is in a plug, the modules of
    /// a network, all that an input can keep awake.
    Together(String, Vec<PartId>),
}

impl About {
    /// What was meant by a name as it is typed, or as suspects are named in the data (`unlisted at F7`);
    /// `None` where nothing that draws current has that name.
    pub fn named(setting: &Setting, typed: &str) -> Option<Self> {
        let feeds = &setting.feeds;
        let Some((name, named)) = setting.names.meant(typed) else {
            let under = typed.strip_prefix("unlisted at ")?;
            return match setting.names.meant(under)?.1 {
                Named::Part(part) => Some(Self::Unlisted(part)),
                _ => None,
            };
        };
        let feeds_of = |modules: &[_]| -> Vec<PartId> {
            let feeds = modules.iter().flat_map(|m| feeds.module_feeds(*m));
            feeds.copied().collect()
        };
        let parts = match named {
            Named::Part(part) => return Some(Self::Part(part)),
            Named::Plug(parts) => match parts.as_slice() {
                [part] => return Some(Self::Part(*part)),
                _ => parts,
            },
            Named::Module(module) => feeds_of(&[module]),
            Named::Network(network) => feeds_of(&feeds.partners(network).collect::<Vec<_>>()),
            Named::Input(modules) => {
                raised_by(setting, &name).unwrap_or_else(|| feeds_of(&modules))
            }
            Named::Place(_) => return None,
        };
        (!parts.is_empty()).then_some(Self::Together(name, parts))
    }

    /// What a suspect is judged by.
    pub fn subject(setting: &Setting, subject: &Subject) -> Option<Self> {
        match subject {
            Subject::Part(part) => Some(Self::Part(*part)),
            Subject::Unlisted(part) => Some(Self::Unlisted(*part)),
            Subject::Module(module) => {
                Self::named(setting, &setting.feeds.module(*module).id.value)
            }
            Subject::Input(name) => Self::named(setting, name),
        }
    }

    /// The parts it is about.
    pub fn parts(&self) -> &[PartId] {
        match self {
            Self::Part(part) | Self::Unlisted(part) => std::slice::from_ref(part),
            Self::Together(_, parts) => parts,
        }
    }
}

/// The feeds that an input can raise: those of the modules that read it and of those that these keep awake.
fn raised_by(setting: &Setting, input: &str) -> Option<Vec<PartId>> {
    let mut suspects = setting.suspects.iter();
    let this = suspects.find(|s| matches!(&s.subject, Subject::Input(name) if name == input))?;
    Some(this.raises.iter().map(|(feed, _)| *feed).collect())
}

/// What one step says. Currents in mA.
#[derive(Clone, Debug, PartialEq)]
pub enum Says {
    /// At least, or at most, this flows in the feed of a part with this out. The steps it rests on that
    /// bound the same end count for it, those that bound the other end against it.
    Flows {
        /// The part.
        part: PartId,
        /// What was out.
        out: Out,
        /// Which end.
        end: End,
        /// The current.
        ma: f64,
        /// Why.
        because: Because,
    },
    /// Nothing that was read bounds the current in the feed of a part from above.
    NotBounded {
        /// The part.
        part: PartId,
    },
    /// What a part with all it feeds takes when healthy, by the file and its defaults: the least where an
    /// upper end is judged, the most where a lower end is.
    Healthy {
        /// The part.
        part: PartId,
        /// The end that is judged.
        end: End,
        /// The current.
        ma: f64,
    },
    /// What a part with all it feeds takes too much: at least, or at most.
    TooMuch {
        /// The part.
        part: PartId,
        /// Which end.
        end: End,
        /// The current.
        ma: f64,
    },
    /// What a part itself, beside what it feeds, could take too much at most.
    Own {
        /// The part.
        part: PartId,
        /// The current.
        ma: f64,
    },
    /// What several could take too much together: the sum, or less where the part above them all cannot
    /// carry that.
    Together {
        /// The current.
        ma: f64,
    },
    /// The settled draw that everything is judged against.
    Settled {
        /// Its entry.
        entry: u32,
        /// What it says at least.
        low: f64,
        /// What it says at most.
        high: f64,
    },
    /// What one part must take to keep the vehicle over its limit.
    EnoughAlone {
        /// The current.
        ma: f64,
        /// The limit.
        limit: f64,
        /// What all take usually.
        usual: f64,
    },
    /// What a single cause of the settled draw takes at least.
    NeededNow {
        /// The current.
        ma: f64,
        /// The limit.
        limit: f64,
    },
    /// The excess from which on a part matters.
    Matters {
        /// The current.
        ma: f64,
    },
    /// The state.
    Stands(Standing),
    /// The readings that cannot all be true: a smallest few of them. Nothing is judged by them.
    Clash(Vec<u32>),
}

/// One numbered step.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// What it says.
    pub says: Says,
    /// Indices of the earlier steps it rests on.
    pub from: Vec<usize>,
}

/// Why something is in its state.
#[derive(Clone, Debug, PartialEq)]
pub struct Reasons {
    /// What was asked for.
    pub about: About,
    /// Its state.
    pub standing: Standing,
    /// What it could still hide, in mA.
    pub hides: f64,
    /// What one part must take to keep the vehicle over its limit, in mA.
    pub enough_alone: f64,
    /// What a single cause of today's draw takes at least, in mA.
    pub needed: f64,
    /// The excess from which on a part matters, in mA.
    pub matters: f64,
    /// The steps; the last one is the state, or the clash.
    pub steps: Vec<Step>,
    /// Readings clash: then the steps say which, and the state cannot be relied on.
    pub clash: bool,
    /// What was proven and is out in the state that is judged, as parts.
    pub out: Out,
}

impl Reasons {
    /// The entries of the readings cited, in order.
    pub fn entries(&self) -> Vec<u32> {
        cited(&self.steps)
    }
}

/// The entries of the readings that steps cite, in order.
fn cited(steps: &[Step]) -> Vec<u32> {
    let mut entries: Vec<u32> = steps
        .iter()
        .filter_map(|step| match step.says {
            Says::Settled { entry, .. }
            | Says::Flows {
                because: Because::Reading(entry),
                ..
            } => Some(entry),
            _ => None,
        })
        .collect();
    entries.sort_unstable();
    entries.dedup();
    entries
}

/// Why something is in its state.
///
/// Linear in the parts times the readings that bear on it.
pub fn reasons(case: &Case<'_>, about: About) -> Reasons {
    let judged = case.judged();
    let mut argument = Argument {
        case,
        judged: &judged,
        steps: Vec::new(),
    };
    let (standing, hides) = match &about {
        About::Part(part) => argument.part(*part),
        About::Unlisted(part) => argument.unlisted(*part),
        About::Together(_, parts) => argument.together(parts),
    };
    let clash = case.clash();
    if let Some(clash) = &clash {
        argument.steps.clear();
        argument.clash(clash);
    }
    Reasons {
        standing,
        hides,
        enough_alone: case.setting().healthy.enough_alone(),
        needed: judged.needed(),
        matters: judged.matters(),
        steps: argument.steps,
        clash: clash.is_some(),
        out: case.base(),
        about,
    }
}

/// Steps as they are put together.
struct Argument<'c> {
    case: &'c Case<'c>,
    judged: &'c Judgement<'c>,
    steps: Vec<Step>,
}

impl Argument<'_> {
    /// Adds a step, or finds it where it was said before; its index.
    fn say(&mut self, says: Says, from: Vec<usize>) -> usize {
        if let Some(said) = self.steps.iter().position(|step| step.says == says) {
            return said;
        }
        self.steps.push(Step { says, from });
        self.steps.len() - 1
    }

    /// One end of the current in a part's feed, with all that it rests on; `None` for "not negative".
    fn flows(&mut self, part: PartId, end: End) -> Option<usize> {
        let lines = self.case.why(part, end);
        self.told(&lines, part, end)
    }

    fn told(&mut self, lines: &[Line], part: PartId, end: End) -> Option<usize> {
        if lines.is_empty() {
            return match end {
                End::Low => None,
                End::High => Some(self.say(Says::NotBounded { part }, Vec::new())),
            };
        }
        let last = lines.len() - 1;
        let mut said: Vec<usize> = Vec::with_capacity(lines.len());
        for (index, line) in lines.iter().enumerate() {
            // Where one part feeds one, the same current is told once.
            let passed = passes_on(lines, line).filter(|_| index < last);
            if let Some(same) = passed {
                said.push(said[same]);
                continue;
            }
            let from = line.from.iter().map(|from| said[*from]).collect();
            let says = Says::Flows {
                part: line.part,
                out: line.out.clone(),
                end: line.end,
                ma: line.value,
                because: line.because,
            };
            said.push(self.say(says, from));
        }
        said.last().copied()
    }

    /// What a part with all it feeds takes too much, at one end.
    fn too_much(&mut self, part: PartId, end: End) -> usize {
        let mut from: Vec<usize> = self.flows(part, end).into_iter().collect();
        let healthy = self.case.setting().healthy.draw(part);
        let excess = self.judged.excess(part);
        let (expected, ma) = match end {
            End::High => (healthy.low(), excess.high()),
            End::Low => (healthy.high(), excess.low()),
        };
        let says = Says::Healthy {
            part,
            end,
            ma: expected,
        };
        from.push(self.say(says, Vec::new()));
        self.say(Says::TooMuch { part, end, ma }, from)
    }

    /// What a part itself could take too much.
    fn own(&mut self, part: PartId) -> usize {
        let feeds = &self.case.setting().feeds;
        let mut from: Vec<usize> = self.flows(part, End::High).into_iter().collect();
        for child in feeds.children(part) {
            from.extend(self.flows(child, End::Low));
        }
        let ma = self.judged.own_hides(part);
        self.say(Says::Own { part, ma }, from)
    }

    /// What several could take too much together.
    fn all(&mut self, parts: &[PartId]) -> usize {
        let mut from: Vec<usize> = parts.iter().map(|part| self.own(*part)).collect();
        let sum: f64 = parts.iter().map(|p| self.judged.own_hides(*p)).sum();
        let ma = self.judged.hide_together(parts);
        if let Some(common) = self.judged.common(parts).filter(|_| ma < sum) {
            from.push(self.too_much(common, End::High));
        }
        self.say(Says::Together { ma }, from)
    }

    /// The two thresholds and the smaller of them; the indices of N and θ.
    fn thresholds(&mut self) -> (usize, usize) {
        let healthy = &self.case.setting().healthy;
        let limit = healthy.limit();
        let enough = Says::EnoughAlone {
            ma: healthy.enough_alone(),
            limit,
            usual: healthy.usual(),
        };
        let enough = self.say(enough, Vec::new());
        let draw = self.settled();
        let needed = Says::NeededNow {
            ma: self.judged.needed(),
            limit,
        };
        let needed = self.say(needed, draw.into_iter().collect());
        let matters = Says::Matters {
            ma: self.judged.matters(),
        };
        (needed, self.say(matters, vec![enough, needed]))
    }

    /// What the settled draw is at least, by all that was read.
    fn settled(&mut self) -> Option<usize> {
        let draw = self.case.judged_by()?;
        let (entry, low, high) = (draw.entry, draw.current.low(), draw.current.high());
        let read = self.say(Says::Settled { entry, low, high }, Vec::new());
        let alone = (low - self.case.setting().healthy.limit()).max(0.0);
        if (alone - self.judged.needed()).abs() < 1e-6 {
            return Some(read);
        }
        self.flows(PartId(0), End::Low)
    }

    /// The two ends that cross.
    fn clash(&mut self, clash: &Clash) {
        let from = [End::Low, End::High]
            .into_iter()
            .filter_map(|end| {
                let lines = self.case.why_in(&clash.out, clash.part, end);
                self.told(&lines, clash.part, end)
            })
            .collect();
        self.say(Says::Clash(clash.entries.clone()), from);
    }

    /// The state, from what was found about the amount.
    fn stands(&mut self, standing: Standing, mut from: Vec<usize>) -> Standing {
        if standing != Standing::Dead {
            let (needed, matters) = self.thresholds();
            from.extend(match standing {
                Standing::RuledOut | Standing::Carrying => vec![matters],
                Standing::TooSmall => vec![needed, matters],
                _ if self.judged.needed() < self.judged.matters() => vec![matters],
                _ => vec![needed],
            });
        }
        self.say(Says::Stands(standing), from);
        standing
    }

    fn part(&mut self, part: PartId) -> (Standing, f64) {
        let standing = self.judged.standing(part);
        let alone = self.judged.hides(part);
        let module = self.case.setting().feeds.module_of(part);
        let together = module.map_or(0.0, |module| self.judged.module_hides(module));
        let hides = alone.max(together);
        let from = match standing {
            Standing::Dead => self.flows(part, End::High).into_iter().collect(),
            Standing::Carrying => vec![self.too_much(part, End::Low)],
            _ => {
                let mut from = vec![self.too_much(part, End::High)];
                if let Some(module) = module.filter(|_| together > alone) {
                    let feeds = self.case.setting().feeds.module_feeds(module);
                    from.push(self.all(feeds));
                }
                from
            }
        };
        (self.stands(standing, from), hides)
    }

    fn unlisted(&mut self, part: PartId) -> (Standing, f64) {
        let hides = self.judged.own_hides(part);
        let standing = if self.judged.view().current(part).high() <= 0.0 {
            Standing::Dead
        } else {
            self.judged.standing_of(hides)
        };
        let from = if standing == Standing::Dead {
            self.flows(part, End::High).into_iter().collect()
        } else {
            vec![self.own(part)]
        };
        (self.stands(standing, from), hides)
    }

    fn together(&mut self, parts: &[PartId]) -> (Standing, f64) {
        let standing = self.judged.standing_together(parts);
        let from = match standing {
            Standing::Dead => parts
                .iter()
                .filter_map(|part| self.flows(*part, End::High))
                .collect(),
            Standing::Carrying => {
                let matters = self.judged.matters();
                let carrying = |p: &&PartId| self.judged.excess(**p).low() >= matters;
                let carrying: Vec<PartId> = parts.iter().filter(carrying).copied().collect();
                carrying
                    .into_iter()
                    .map(|part| self.too_much(part, End::Low))
                    .collect()
            }
            _ => vec![self.all(parts)],
        };
        let hides = self.judged.hide_together(parts);
        (self.stands(standing, from), hides)
    }
}

/// The one line that a line only passes on to a part above or below, in the same state.
fn passes_on(lines: &[Line], line: &Line) -> Option<usize> {
    let [only] = line.from.as_slice() else {
        return None;
    };
    let sweeps = matches!(line.because, Because::Sum | Because::Remainder);
    let before = &lines[*only];
    let same = before.end == line.end && (before.value - line.value).abs() < 1e-6;
    (sweeps && same).then_some(*only)
}

/// Whether an entry is a reading or something seen: what a verdict can rest on.
pub fn is_reading(act: &Act) -> bool {
    matches!(act, Act::Read { .. } | Act::Look { .. })
}
