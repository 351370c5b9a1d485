//! What an event says, and the form in which it is kept: a kind, a version, and a body in JSON.

use crate::{Id, TextId};
use serde::{Deserialize, Serialize};

/// What an event says.
#[derive(Clone, Debug, PartialEq)]
pub enum Entry {
    /// A program was laid on the desk.
    JobOpened(JobOpened),
    /// Facts of a job were told, or told anew.
    FactsTold(FactsTold),
    /// Something on a list was ticked, or the tick taken back.
    Tick(Tick),
    /// A stop was reported, or a report of it put in the place of an earlier one.
    StopReported(StopReported),
    /// Something was measured on the plate after a stop, or a measurement taken back.
    Measured(Measured),
    /// A way to go on was taken.
    PlanChosen(PlanChosen),
    /// What became of the plate, or of a stop.
    Outcome(Outcome),
    /// A practice session: how it stands.
    Practice(Practice),
}

/// A program was laid on the desk.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobOpened {
    /// The program's name, for people.
    pub name: String,
    /// Its text.
    pub program: TextId,
    /// What was told of the job: the text of a job file.
    pub facts: String,
}

/// Facts of a job.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FactsTold {
    /// All of them: the text of a job file.
    pub facts: String,
}

/// A tick.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tick {
    /// The list, in kebab-case.
    pub list: String,
    /// The item on it: its text, or a name that does not change with the text.
    pub item: String,
    /// Whether it is ticked from now on.
    pub done: bool,
}

/// A stop.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StopReported {
    /// The stop. A later report of the same stop takes the place of an earlier one.
    #[serde(with = "crate::id::as_text")]
    pub stop: Id,
    /// All that has been told of it: the text of a stop report.
    pub report: String,
}

/// A measurement.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// The stop after which it was made.
    #[serde(with = "crate::id::as_text")]
    pub stop: Id,
    /// The measurement. A later one of the same name takes its place.
    #[serde(with = "crate::id::as_text")]
    pub measurement: Id,
    /// What was measured, as one line of text; none if it is taken back.
    pub text: Option<String>,
}

/// A way to go on that was taken: from then on its program is what runs.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlanChosen {
    /// The stop after which it was taken.
    #[serde(with = "crate::id::as_text")]
    pub stop: Id,
    /// What kind of way it is, in kebab-case.
    pub way: String,
    /// The restart program.
    pub program: TextId,
    /// The plate file that goes with it: the plate's state for a second stop.
    pub plate: TextId,
}

/// What became of a plate.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Outcome {
    /// Parts whose fate is told, by number on the picture, each once.
    pub parts: Vec<(u32, Fate)>,
    /// What the cause turned out to be, by its name in kebab-case.
    pub cause: Option<String>,
    /// Anything else, in the words of whoever wrote it.
    pub note: String,
    /// Whether the plate is off the table and the job done.
    pub done: bool,
}

/// What became of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fate {
    /// It is good.
    Made,
    /// It is scrap.
    Lost,
}

/// A practice session.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Practice {
    /// The scenario's name.
    pub scenario: String,
    /// Its seed.
    pub seed: u64,
    /// Who practised, by the name given.
    pub by: String,
    /// How it stands, in the form that practice keeps it in.
    pub session: String,
}

impl Entry {
    /// Its kind, in kebab-case, as it is kept.
    #[must_use]
    pub const fn kind(&self) -> &'static str {
        match self {
            Self::JobOpened(_) => "job-opened",
            Self::FactsTold(_) => "facts-told",
            Self::Tick(_) => "tick",
            Self::StopReported(_) => "stop-reported",
            Self::Measured(_) => "measured",
            Self::PlanChosen(_) => "plan-chosen",
            Self::Outcome(_) => "outcome",
            Self::Practice(_) => "practice",
        }
    }

    /// The texts it speaks of.
    pub(crate) fn texts(&self) -> Vec<TextId> {
        match self {
            Self::JobOpened(opened) => vec![opened.program],
            Self::PlanChosen(chosen) => vec![chosen.program, chosen.plate],
            _ => Vec::new(),
        }
    }

    /// Its body in JSON.
    pub(crate) fn body(&self) -> String {
        let body = match self {
            Self::JobOpened(body) => serde_json::to_string(body),
            Self::FactsTold(body) => serde_json::to_string(body),
            Self::Tick(body) => serde_json::to_string(body),
            Self::StopReported(body) => serde_json::to_string(body),
            Self::Measured(body) => serde_json::to_string(body),
            Self::PlanChosen(body) => serde_json::to_string(body),
            Self::Outcome(body) => serde_json::to_string(body),
            Self::Practice(body) => serde_json::to_string(body),
        };
        body.expect("strings, numbers and lists can always be written as JSON")
    }

    /// The entry of this kind and version with this body.
    ///
    /// # Errors
    /// A sentence, if the kind or version is not known here or the body is not of its shape.
    pub(crate) fn read(kind: &str, version: u32, body: &str) -> Result<Self, String> {
        fn of<'a, T: Deserialize<'a>>(body: &'a str, make: fn(T) -> Entry) -> Result<Entry, String> {
            serde_json::from_str(body).map(make).map_err(|why| why.to_string())
        }
        if version != VERSION {
            return Err(format!(
                "it has an event of kind {kind:?} in version {version}, and only {VERSION} is known here"
            ));
        }
        match kind {
            "job-opened" => of(body, Self::JobOpened),
            "facts-told" => of(body, Self::FactsTold),
            "tick" => of(body, Self::Tick),
            "stop-reported" => of(body, Self::StopReported),
            "measured" => of(body, Self::Measured),
            "plan-chosen" => of(body, Self::PlanChosen),
            "outcome" => of(body, Self::Outcome),
            "practice" => of(body, Self::Practice),
            other => Err(format!("it has an event of kind {other:?}, which is not known here")),
        }
    }
}

/// Version of the bodies: one more whenever a field is added to one of them or changes its meaning.
pub(crate) const VERSION: u32 = 1;

#[cfg(test)]
mod tests {
    use super::*;

    fn every_kind() -> Vec<Entry> {
        let (stop, text) = (Id::new([7; 16]), TextId::of(b"M3"));
        vec![
            Entry::JobOpened(JobOpened {
                name: "a.nc".into(),
                program: text,
                facts: "thickness = \"10 mm\"".into(),
            }),
            Entry::FactsTold(FactsTold { facts: String::new() }),
            Entry::Tick(Tick { list: "before".into(), item: "path-clear".into(), done: true }),
            Entry::StopReported(StopReported { stop, report: "cut = 3".into() }),
            Entry::Measured(Measured { stop, measurement: stop, text: Some("crater of 3 at 1,2 mm".into()) }),
            Entry::PlanChosen(PlanChosen { stop, way: "kerf-end".into(), program: text, plate: text }),
            Entry::Outcome(Outcome {
                parts: vec![(3, Fate::Lost)],
                cause: None,
                note: "\u{1F525}\0".into(),
                done: true,
            }),
            Entry::Practice(Practice {
                scenario: "work-lead".into(),
                seed: u64::MAX,
                by: "Kim".into(),
                session: "{}".into(),
            }),
        ]
    }

    #[test]
    fn every_kind_reads_back() {
        for entry in every_kind() {
            assert_eq!(Entry::read(entry.kind(), VERSION, &entry.body()), Ok(entry));
        }
    }

    /// The form in which events lie on disks out there: a change here needs a new version.
    #[test]
    fn bodies_keep_their_form() {
        let bodies: Vec<String> = every_kind().iter().map(Entry::body).collect();
        let hash = TextId::of(b"M3").to_string();
        let stop = Id::new([7; 16]).to_string();
        assert_eq!(
            bodies,
            [
                format!(r#"{{"name":"a.nc","program":"{hash}","facts":"thickness = \"10 mm\""}}"#),
                r#"{"facts":""}"#.to_owned(),
                r#"{"list":"before","item":"path-clear","done":true}"#.to_owned(),
                format!(r#"{{"stop":"{stop}","report":"cut = 3"}}"#),
                format!(r#"{{"stop":"{stop}","measurement":"{stop}","text":"crater of 3 at 1,2 mm"}}"#),
                format!(r#"{{"stop":"{stop}","way":"kerf-end","program":"{hash}","plate":"{hash}"}}"#),
                "{\"parts\":[[3,\"lost\"]],\"cause\":null,\"note\":\"\u{1F525}\\u0000\",\"done\":true}"
                    .to_owned(),
                r#"{"scenario":"work-lead","seed":18446744073709551615,"by":"Kim","session":"{}"}"#
                    .to_owned(),
            ]
        );
    }

    #[test]
    fn what_a_later_version_wrote_is_not_guessed_at() {
        assert!(Entry::read("tick", 2, "{}").expect_err("a later version").contains("version 2"));
        assert!(Entry::read("weather", VERSION, "{}").expect_err("another kind").contains("weather"));
        let grown = r#"{"list":"a","item":"b","done":true,"by":"Kim"}"#;
        assert!(Entry::read("tick", VERSION, grown).is_err());
    }
}
