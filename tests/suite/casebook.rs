//! The casebook: patterns that electricians meet, each a vehicle and what is typed at it in one small file.
//!
//! A file of `tests/casebook` holds a few lines of comment that say what it is about, the vehicle, and the
//! story. In the story a line behind `>` is typed; the lines behind it say where the case must stand then:
//!
//! | line | it holds when |
//! | --- | --- |
//! | `state WORD` | the case is in that state |
//! | `next ENTRY \| ENTRY …` | what is to be done begins with one of these |
//! | `not next ENTRY` | it does not begin so |
//! | `found NAME, …` | just these are proven; `found nobody` |
//! | `located NAME, …` | these are named as the branch, perhaps with others |
//! | `likeliest NAME` | it is the likeliest of those left |
//! | `likely NAME, …` | each is one of those left, with a twentieth of the odds or more |
//! | `unlikely NAME, …` | none of them has a twentieth of the odds |
//! | `clash NUMBER, …` | these entries are said to clash |
//! | `asks WORDS` | a question about what was typed, or of the step, says these words |
//! | `unasked WORDS` | none says these words |
//! | `careful WORDS` | a caution of the step says these words |
//! | `careless WORDS` | none says these words |
//! | `by WORD` | the step reads by that: `clamp`, or the meter's jack `A` or `mA`; `by nothing` |
//! | `refused WORDS` | the line was not taken, with a line that would be which begins so |
//!
//! `with KIT` before the story says which sample instruments are at hand; else a plain meter is.

use halfsplit::case::{Case, Next, Setting, Weighed};
use halfsplit::feeds::load;
use halfsplit::instruments::{self, Instruments};
use halfsplit::render::{next_json, question};
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// What a case of the book says once a line has been typed.
struct Stand {
    next: Next,
    suspects: Vec<Weighed>,
    data: serde_json::Value,
    asked: String,
    refused: Option<String>,
}

/// All that a file says.
struct Page {
    setting: Setting,
    story: Vec<String>,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/casebook")
}

fn page(name: &str, text: &str) -> Page {
    let at = text
        .find("\nStory\n")
        .unwrap_or_else(|| panic!("{name}: no line `Story`"));
    let (head, story) = text.split_at(at);
    let at = head
        .find("Vehicle(")
        .unwrap_or_else(|| panic!("{name}: no vehicle"));
    let (words, vehicle) = head.split_at(at);
    assert!(!words.trim().is_empty(), "{name}: what is it about?");
    assert!(
        vehicle.contains("(invented)"),
        "{name}: the vehicle is invented"
    );
    let (feeds, problems) = load(vehicle);
    let feeds = feeds.unwrap_or_else(|| panic!("{name}: {problems:#?}"));
    let kit = words.lines().find_map(|line| line.strip_prefix("with "));
    let kit = kit.map(|kit| {
        let file = format!(
            "{}/sample-vehicles/instruments/{kit}.ron",
            env!("CARGO_MANIFEST_DIR")
        );
        let text = std::fs::read_to_string(file).unwrap();
        instruments::read(&text).0.unwrap()
    });
    let story = story.lines().skip(2).map(str::trim);
    Page {
        setting: Setting::new(feeds, kit.unwrap_or_else(Instruments::assumed_meter)),
        story: story
            .filter(|line| !line.is_empty())
            .map(str::to_owned)
            .collect(),
    }
}

fn stand(case: &Case<'_>, asked: &[String], refused: Option<String>) -> Stand {
    let next = case.next();
    let setting = case.setting();
    let mut words: Vec<String> = next
        .questions
        .iter()
        .map(|q| question(q, setting))
        .collect();
    words.extend_from_slice(asked);
    Stand {
        data: next_json(&next, setting),
        suspects: case.suspects(),
        asked: words.join("\n"),
        next,
        refused,
    }
}

fn ids(names: &str) -> Vec<&str> {
    let names = names.split(',').map(str::trim);
    names
        .filter(|name| !matches!(*name, "" | "nobody"))
        .collect()
}

impl Stand {
    fn odds(&self, id: &str) -> f64 {
        let of = self.suspects.iter().filter(|s| s.id == id);
        of.map(|s| s.odds).sum()
    }

    fn all(&self, list: &str, field: &str) -> Vec<String> {
        let rows = self.data[list].as_array().into_iter().flatten();
        rows.filter(|row| row["returned"] != false)
            .map(|row| row[field].as_str().unwrap().to_owned())
            .collect()
    }

    fn entry(&self) -> &str {
        self.data["test"]["entry"].as_str().unwrap_or("nothing")
    }

    /// Whether a line of the story holds.
    fn holds(&self, line: &str) -> bool {
        let (word, rest) = line.split_once(' ').unwrap_or((line, ""));
        let begins = |entry: &str| self.entry().starts_with(entry.trim());
        match word {
            "state" => self.data["state"] == rest,
            "next" => rest.split('|').any(begins),
            "not" => !begins(rest.strip_prefix("next ").expect("not next")),
            "found" => {
                let (mut found, mut want) = (self.all("found", "part"), ids(rest));
                found.sort();
                want.sort_unstable();
                found == want
            }
            "located" => {
                let located = self.all("located", "part");
                ids(rest).iter().all(|id| located.iter().any(|l| l == id))
            }
            "likeliest" => self.suspects.first().is_some_and(|s| s.id == rest),
            "likely" => ids(rest).iter().all(|id| self.odds(id) >= 0.05),
            "unlikely" => ids(rest).iter().all(|id| self.odds(id) < 0.05),
            "clash" => {
                let clash = self.next.clash.iter().map(ToString::to_string);
                clash.collect::<Vec<_>>() == ids(rest)
            }
            "asks" | "unasked" => {
                let says = self.asked.to_lowercase().contains(&rest.to_lowercase());
                says == (word == "asks")
            }
            "careful" | "careless" => {
                let list = self.data["test"]["cautions"].as_array();
                let mut list = list.into_iter().flatten();
                let says = |said: &serde_json::Value| said.as_str().unwrap().contains(rest);
                list.any(says) == (word == "careful")
            }
            "by" => {
                let test = &self.data["test"];
                let by = test["jack"].as_str().or(test["instrument"].as_str());
                by.is_some_and(|by| by == rest || by == "none" && rest == "nothing")
            }
            "refused" => self
                .refused
                .as_ref()
                .is_some_and(|works| works.starts_with(rest)),
            _ => panic!("no such line: {line}"),
        }
    }

    fn told(&self) -> String {
        let mut text = format!(
            "   {} | {} | {}\n",
            self.data["state"].as_str().unwrap(),
            self.entry(),
            self.data["because"].as_str().unwrap_or("")
        );
        let few = self.suspects.iter().take(6);
        let few: Vec<String> = few
            .map(|s| format!("{} {:.2} {}", s.id, s.odds, s.cause.words()))
            .collect();
        let _ = writeln!(text, "   suspects {few:?}");
        let _ = writeln!(
            text,
            "   located {:?}, found {:?}, clash {:?}, out {:?}",
            self.all("located", "part"),
            self.all("found", "part"),
            self.next.clash,
            self.next.out
        );
        for line in self.asked.lines() {
            let _ = writeln!(text, "   ? {line}");
        }
        if let Some(works) = &self.refused {
            let _ = writeln!(text, "   refused; works: {works}");
        }
        text
    }
}

/// Plays a page; the lines that do not hold, and all that happened.
fn play(page: &Page) -> (Vec<String>, String) {
    let mut case = Case::new(&page.setting);
    let (mut wrong, mut log) = (Vec::new(), String::new());
    let mut now = stand(&case, &[], None);
    for line in &page.story {
        if let Some(typed) = line.strip_prefix('>') {
            let typed = typed.trim();
            let _ = writeln!(log, "> {typed}");
            now = match case.record(typed) {
                Ok(recorded) => {
                    let asked = recorded
                        .questions
                        .iter()
                        .map(|q| question(q, &page.setting));
                    stand(&case, &asked.collect::<Vec<_>>(), None)
                }
                Err(refusal) => stand(&case, &[], Some(refusal.works)),
            };
            let refused = now.refused.is_some();
            log.push_str(&now.told());
            let expected = page.story.iter().any(|line| line.starts_with("refused"));
            if refused && !expected {
                wrong.push(format!("refused: {typed}"));
            }
        } else if !now.holds(line) {
            let _ = writeln!(log, "   NOT SO: {line}");
            wrong.push(line.clone());
        }
    }
    (wrong, log)
}

/// `ONLY=name` plays one page, `SHOW=1` prints all of it.
#[test]
#[allow(clippy::print_stdout)]
fn every_page_of_the_casebook_goes_as_it_says() {
    let only = std::env::var("ONLY").ok();
    let show = std::env::var("SHOW").is_ok();
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder())
        .unwrap()
        .map(|f| f.unwrap().path())
        .collect();
    files.sort();
    let mut failed = Vec::new();
    let mut held = 0;
    for file in files {
        let name = file.file_stem().unwrap().to_str().unwrap().to_owned();
        if only
            .as_ref()
            .is_some_and(|only| !name.contains(only.as_str()))
        {
            continue;
        }
        let text = std::fs::read_to_string(&file).unwrap();
        let page = page(&name, &text);
        let checks = page
            .story
            .iter()
            .filter(|line| !line.starts_with('>'))
            .count();
        assert!(checks > 1, "{name} checks nothing");
        held += checks;
        let (wrong, log) = play(&page);
        if show {
            println!("== {name}\n{log}");
        }
        if !wrong.is_empty() {
            failed.push(format!("== {name}: {wrong:?}\n{log}"));
        }
    }
    assert!(
        failed.is_empty(),
        "{} pages:\n{}",
        failed.len(),
        failed.join("\n")
    );
    assert!(held > 1 || only.is_some());
}
