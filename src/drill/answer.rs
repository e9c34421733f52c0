//! What the learner says: the answer at the end, and replies to the questions of an exercise.

use super::{Drill, Said, Wanted};
use crate::journal::{Misfit, Refusal, read_quantity};
use crate::measurement::Unit;

/// What the learner names at the end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// The parts, as they are called in the data; none where the learner says that nothing is wrong.
    pub parts: Vec<String>,
    /// The connectors named with them.
    pub plugs: Vec<String>,
    /// The learner says that it is proven.
    pub claims_proof: bool,
}

/// A question with what was said to it.
#[derive(Clone, Debug, PartialEq)]
pub struct Replied {
    /// What was asked.
    pub ask: String,
    /// What was said; `None` where nothing was.
    pub given: Option<String>,
    /// It is right; `None` where nobody here can tell, because the answer is sealed.
    pub right: Option<bool>,
    /// What is right.
    pub wanted: Right,
    /// What the author says to this wrong reply.
    pub say: Option<String>,
}

/// What is right.
#[derive(Clone, Debug, PartialEq)]
pub enum Right {
    /// Nobody here can tell.
    Sealed,
    /// This text, or one that means the same.
    Text(String),
    /// These parts.
    Parts(Vec<String>),
    /// A current from one to the other, in mA.
    Between(f64, f64),
}

/// What is typed where nothing is wrong.
pub(super) const NO_FAULT: &str = "no fault";

/// A current that was not read is right within this share of the true one (judgement).
const NEAR: f64 = 0.15;

impl Drill<'_> {
    /// `PART [and PART] [at PLUG [and PLUG]] [proven]`.
    pub(super) fn read_answer(&self, text: &str) -> Result<Answer, Refusal> {
        let (text, claims_proof) = match text.trim().strip_suffix("proven") {
            Some(rest) if !rest.trim_end().ends_with("not") => (rest.trim(), true),
            Some(rest) => (rest.trim_end().trim_end_matches("not").trim(), false),
            None => (text.trim(), false),
        };
        if text.to_lowercase() == NO_FAULT {
            return Ok(Answer {
                parts: Vec::new(),
                plugs: Vec::new(),
                claims_proof,
            });
        }
        let known = |name: &str| -> Result<String, Refusal> {
            let (ahead, id) = match name.to_lowercase().strip_prefix("unlisted at ") {
                Some(rest) => ("unlisted at ", &name[name.len() - rest.len()..]),
                None => ("", name),
            };
            if let Some((found, _)) = self.setting.names.meant(id.trim()) {
                return Ok(format!("{ahead}{found}"));
            }
            let like = self.setting.nearest_name(id);
            let unknown = Misfit::UnknownName(name.to_owned());
            Err(Refusal::misfit(text, unknown, format!("answer {like}")))
        };
        let list = |text: &str| text.split(" and ").map(|n| known(n.trim())).collect();
        // A name may hold " at ": the longest first part that is known wins.
        let cuts = text.rmatch_indices(" at ").map(|(at, _)| at);
        if let Ok(parts) = list(text) {
            return Ok(Answer {
                parts,
                plugs: Vec::new(),
                claims_proof,
            });
        }
        for at in cuts {
            if let (Ok(parts), Ok(plugs)) = (list(&text[..at]), list(&text[at + 4..])) {
                return Ok(Answer {
                    parts,
                    plugs,
                    claims_proof,
                });
            }
        }
        // The parts are known, and what stands behind them is no connector.
        let mut cuts = text.rmatch_indices(" at ").map(|(at, _)| at);
        if let Some(at) = cuts.find(|at| list(&text[..*at]).is_ok()) {
            let unknown = Misfit::UnknownName(text[at + 4..].to_owned());
            let works = format!("answer {}", &text[..at]);
            return Err(Refusal::misfit(text, unknown, works));
        }
        list(text).map(|parts| Answer {
            parts,
            plugs: Vec::new(),
            claims_proof,
        })
    }

    /// `reply 2 F1 and F3`: kept as it was typed; a later one takes its place.
    pub(super) fn reply(&mut self, line: &str, rest: &str) -> Said {
        let count = self.exercise.questions.len();
        let (number, text) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
        let number = number.trim_end_matches([':', '.']).parse::<usize>().ok();
        let number = number.filter(|n| (1..=count).contains(n));
        let (Some(number), false) = (number, text.trim().is_empty()) else {
            let (misfit, works) = match self.exercise.questions.first() {
                None => (Misfit::NoQuestion, "hint"),
                Some(first) if matches!(first.wants, Wanted::Current(_)) => {
                    (Misfit::NoReply(count), "reply 1 130mA")
                }
                Some(_) => (Misfit::NoReply(count), "reply 1 F3"),
            };
            return Said::Refused(Refusal::misfit(line, misfit, works));
        };
        if let Wanted::Current(_) = self.exercise.questions[number - 1].wants
            && read_quantity(text.trim(), Unit::Milliamps).is_err()
        {
            let works = format!("reply {number} 130mA");
            return Said::Refused(Refusal::misfit(line, Misfit::NoCurrent, works));
        }
        self.replies[number - 1] = Some(text.trim().to_owned());
        if !self.exercise.hunt && self.replies.iter().all(Option::is_some) {
            self.ended = true;
            return Said::Ended;
        }
        let step = self.step(format!("reply {number} {}", text.trim()));
        self.keep(step)
    }

    /// What was said to each question so far.
    pub fn replies(&self) -> &[Option<String>] {
        &self.replies
    }

    /// Every question with what was said to it.
    pub(super) fn replied(&self) -> Vec<Replied> {
        let questions = self.exercise.questions.iter().zip(&self.replies);
        questions
            .map(|(question, given)| {
                let (right, wanted) = self.marked(&question.wants, given.as_deref());
                let told = |said: &String| {
                    let fits = |(reply, _): &&(String, String)| same(reply, said);
                    question.wrong.iter().find(fits).map(|(_, say)| say.clone())
                };
                Replied {
                    ask: question.ask.clone(),
                    say: given
                        .as_ref()
                        .filter(|_| right == Some(false))
                        .and_then(told),
                    given: given.clone(),
                    right,
                    wanted,
                }
            })
            .collect()
    }

    fn marked(&self, wants: &Wanted, given: Option<&str>) -> (Option<bool>, Right) {
        match wants {
            Wanted::Sealed => (None, Right::Sealed),
            Wanted::Words(words) => {
                let right = given.is_some_and(|said| words.iter().any(|word| means(word, said)));
                let text = words.first().cloned().unwrap_or_default();
                (Some(right), Right::Text(text))
            }
            Wanted::Parts(parts) => {
                let right = given.is_some_and(|said| {
                    let mut said = self.named(said);
                    let mut wanted: Vec<String> = parts.iter().map(|p| p.to_lowercase()).collect();
                    said.sort();
                    wanted.sort();
                    said == wanted
                });
                (Some(right), Right::Parts(parts.clone()))
            }
            Wanted::Current(part) => {
                // What the tool itself makes of the last reading there, else of the truth.
                let read = self.case.readings().iter().rev();
                let read = read.filter(|r| r.part == *part).find_map(|r| r.current);
                let truth = self.parked.currents()[part.index()];
                let (low, high) = read.map_or_else(
                    || ((1.0 - NEAR) * truth, (1.0 + NEAR) * truth),
                    |current| (current.low(), current.high()),
                );
                let said = given.and_then(|said| read_quantity(said, Unit::Milliamps).ok());
                let right = said.is_some_and(|s| s.low >= low - 0.5 && s.high <= high + 0.5);
                (Some(right), Right::Between(low, high))
            }
        }
    }

    /// The names in a list: by commas or `and`, known ones as the file has them.
    fn named(&self, text: &str) -> Vec<String> {
        let names = text.split(',').flat_map(|some| some.split(" and "));
        let names = names.map(str::trim).filter(|name| !name.is_empty());
        names.map(|name| self.known(name).to_lowercase()).collect()
    }

    /// The name that is meant: as it stands, without small words, by words that one part alone has in its
    /// name (`heater`), or as the one name among other words (`F4 is blown`).
    fn known(&self, name: &str) -> String {
        let meant = |text: &str| {
            let found = self.setting.names.meant(text);
            found.map(|(found, _)| found.clone())
        };
        let said = words(name);
        let feeds = &self.setting.feeds;
        let has_all = |id: &&str| {
            let own = words(id);
            !said.is_empty() && said.iter().all(|word| own.contains(word))
        };
        let one = |mut found: Vec<String>| (found.len() == 1).then(|| found.remove(0));
        let by_words = || {
            let ids = feeds.parts().map(|p| feeds.id(p)).filter(has_all);
            one(ids.map(str::to_owned).collect())
        };
        let among = || one(said.iter().filter_map(|word| meant(word)).collect());
        meant(name)
            .or_else(|| meant(&said.join(" ")))
            .or_else(by_words)
            .or_else(among)
            .unwrap_or_else(|| name.to_owned())
    }
}

/// The words of a text, without those that say nothing here.
fn words(text: &str) -> Vec<String> {
    const SMALL: [&str; 6] = ["the", "a", "an", "is", "are", "it"];
    let lower = text.to_lowercase();
    let lower = lower
        .replace("can't", "cannot")
        .replace("can not", "cannot");
    let words = lower.split(|c: char| !c.is_alphanumeric());
    let words = words.filter(|word| !word.is_empty() && !SMALL.contains(word));
    let words = words.map(|word| if word == "cant" { "cannot" } else { word });
    words.map(str::to_owned).collect()
}

/// Whether a reply says what is wanted: the same text, the same words, or it begins with them.
fn means(wanted: &str, said: &str) -> bool {
    let (wanted_words, said_words) = (words(wanted), words(said));
    same(wanted, said) || !wanted_words.is_empty() && said_words.starts_with(&wanted_words)
}

/// Two texts that a person would call the same.
fn same(one: &str, other: &str) -> bool {
    let plain = |text: &str| text.to_lowercase().replace([' ', ',', '.'], "");
    plain(one) == plain(other)
}
