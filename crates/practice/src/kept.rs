//! Sessions and results as texts: what is kept while somebody practises, and what is compared afterwards.

use crate::act::Act;
use crate::score::Area;
use crate::session::Session;
use serde::{Deserialize, Serialize};
use std::fmt;

/// What the two documents call themselves.
const SESSION: &str = "platewright.practice-session";
const RESULT: &str = "platewright.practice";

/// Version of both: one more whenever a field is added or changes its meaning.
const VERSION: u32 = 1;

/// Longest text that is taken for either, in bytes.
const LONGEST: usize = 1 << 20;

/// A session as it is kept: from it everything can be worked out again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kept {
    schema: String,
    version: u32,
    /// The name of a bundled scenario; else the text of a scenario file.
    pub scenario: String,
    /// Whether `scenario` is a text.
    pub own: bool,
    /// What was done, each as a line.
    pub acts: Vec<String>,
}

/// Why a text is no session or result, in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotKept(pub String);

impl fmt::Display for NotKept {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NotKept {}

impl Kept {
    /// A session that has just begun.
    #[must_use]
    pub fn new(scenario: String, own: bool) -> Self {
        Self { schema: SESSION.to_owned(), version: VERSION, scenario, own, acts: Vec::new() }
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> String {
        written(self)
    }

    /// The session of a text.
    ///
    /// # Errors
    /// If it is none, or of a later version.
    pub fn parse(text: &str) -> std::result::Result<Self, NotKept> {
        let kept: Self = read(text)?;
        check(&kept.schema, SESSION, kept.version).map(|()| kept)
    }

    /// Its acts.
    ///
    /// # Errors
    /// If one of them is none.
    pub fn acts(&self) -> std::result::Result<Vec<Act>, NotKept> {
        self.acts
            .iter()
            .map(|line| line.parse().map_err(|why: crate::NotAnAct| NotKept(why.to_string())))
            .collect()
    }
}

/// The result of a session.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Result {
    schema: String,
    version: u32,
    /// Who practised, by the name given.
    pub by: String,
    /// The scenario's name.
    pub scenario: String,
    /// Its title.
    pub title: String,
    /// The seed.
    pub seed: u64,
    /// How it ended: `hands`, `ran`, `given`, or `open` while it has not.
    pub ended: String,
    /// Whether it was passed.
    pub passed: bool,
    /// Points got, 0 to 100.
    pub points: u32,
    /// Points got in each area, in their order: order of work, parts, plate, time.
    pub areas: [u32; 4],
    /// Time at the table, in whole seconds.
    pub time_s: u64,
    /// What was lost and why.
    pub lost: Vec<Lost>,
    /// What was done, each as a line.
    pub acts: Vec<String>,
}

/// Points lost.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lost {
    /// In which area.
    pub area: String,
    /// How many points.
    pub points: u32,
    /// Why, in a sentence.
    pub why: String,
}

impl Result {
    /// The result of a session as it stands.
    #[must_use]
    pub fn of(session: &Session<'_>, by: &str) -> Self {
        let score = session.score();
        let scenario = &session.setting().scenario;
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a session lasts some hours"
        )]
        let time_s = session.time_s().max(0.0).round() as u64;
        Self {
            schema: RESULT.to_owned(),
            version: VERSION,
            by: by.to_owned(),
            scenario: scenario.name.clone(),
            title: scenario.title.clone(),
            seed: session.seed(),
            ended: session.ended().map_or("open", crate::Ended::word).to_owned(),
            passed: score.passed() && session.ended().is_some(),
            points: score.total(),
            areas: Area::ALL.map(|area| score.got(area)),
            time_s,
            lost: score
                .lost
                .iter()
                .map(|(area, points, why)| Lost {
                    area: area.name().to_owned(),
                    points: *points,
                    why: why.clone(),
                })
                .collect(),
            acts: session.acts().iter().map(ToString::to_string).collect(),
        }
    }

    /// The text.
    #[must_use]
    pub fn text(&self) -> String {
        written(self)
    }

    /// The result of a text.
    ///
    /// # Errors
    /// If it is none, or of a later version.
    pub fn parse(text: &str) -> std::result::Result<Self, NotKept> {
        let result: Self = read(text)?;
        check(&result.schema, RESULT, result.version).map(|()| result)
    }
}

fn written(document: &impl Serialize) -> String {
    let text = serde_json::to_string_pretty(document);
    text.expect("strings, numbers and lists can always be written as JSON") + "\n"
}

fn read<'a, T: Deserialize<'a>>(text: &'a str) -> std::result::Result<T, NotKept> {
    if text.len() > LONGEST {
        return Err(NotKept("it is too long for a practice session or result".to_owned()));
    }
    serde_json::from_str(text).map_err(|why| NotKept(format!("it is no practice session or result: {why}")))
}

fn check(told: &str, own: &str, version: u32) -> std::result::Result<(), NotKept> {
    if told != own {
        return Err(NotKept(format!(
            "it is no {own}: it calls itself {:?}",
            told.chars().take(60).collect::<String>()
        )));
    }
    if version != VERSION {
        return Err(NotKept(format!("it is of version {version}, and {VERSION} is the one known here")));
    }
    Ok(())
}
