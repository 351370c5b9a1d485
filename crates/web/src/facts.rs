//! What is told of a job, as the text in which it is kept, which is that of a job file.

use crate::fields::Fields;
use finding::{Finding, Level};
use shop::Job;
use std::fmt::Write as _;

/// Fields of the form that hold one value, by their key in a job file.
pub(crate) const KEYS: [&str; 5] = ["thickness", "plate", "material", "process", "tolerance"];
/// Fields that hold a place, each in two: X and Y.
pub(crate) const PLACES: [&str; 2] = ["plate_at", "datum"];

/// What a form tells of a job, and mistakes in it by their field.
#[derive(Clone, Debug, Default)]
pub(crate) struct Told {
    /// The text of a job file with all that could be understood.
    pub(crate) facts: String,
    /// What could not: the field, and what to say about it.
    pub(crate) mistakes: Vec<(String, String)>,
}

impl Told {
    /// Reads the fields. Numbers without a unit count in `unit`: `mm` or `in`. What the form does not ask stays as it is
    /// in `before`.
    pub(crate) fn of(fields: &Fields, unit: &str, before: &str) -> Self {
        let mut told = Self { facts: untold(before), mistakes: Vec::new() };
        // The material first: what a gauge means depends on it.
        for key in ["material", "thickness", "plate", "process", "tolerance"] {
            if let Some(value) = fields.get(key) {
                let value = if ["material", "process"].contains(&key) {
                    value.to_owned()
                } else {
                    with_unit(value, unit)
                };
                told.take(key, &quoted(&value));
            }
        }
        for key in PLACES {
            let half = |axis: &str| {
                fields.get(&format!("{key}_{axis}")).map(|value| quoted(&with_unit(value, unit)))
            };
            match (half("x"), half("y")) {
                (None, None) => {}
                (Some(x), Some(y)) => told.take(key, &format!("[{x}, {y}]")),
                _ => told.mistakes.push((key.to_owned(), "tell both X and Y, or neither".to_owned())),
            }
        }
        told
    }

    /// Takes a line if it can be understood after those taken already.
    fn take(&mut self, key: &str, value: &str) {
        // Single values stand before the first table of a job file.
        let with = format!("{key} = {value}\n{}", self.facts);
        let (_, before) = Job::parse(&self.facts);
        let (_, after) = Job::parse(&with);
        let new = after
            .iter()
            .find(|finding| finding.level == Level::Error && !before.iter().any(|old| same(old, finding)));
        match new {
            None => self.facts = with,
            Some(mistake) => {
                let mut what = mistake.message.clone();
                if !mistake.remedy.is_empty() {
                    let _ = write!(what, ": {}", mistake.remedy);
                }
                self.mistakes.push((key.to_owned(), what));
            }
        }
    }
}

fn same(a: &Finding, b: &Finding) -> bool {
    (a.rule, &a.message) == (b.rule, &b.message)
}

/// A job file without what the form asks.
fn untold(before: &str) -> String {
    let asked: Vec<&str> = KEYS.into_iter().chain(PLACES).collect();
    without(before, &asked)
}

/// A job file without these keys.
pub(crate) fn without(before: &str, keys: &[&str]) -> String {
    let asked = |line: &str| keys.contains(&line.split('=').next().unwrap_or_default().trim());
    let mut in_table = false;
    let kept = before.lines().filter(|line| {
        in_table |= line.trim_start().starts_with('[');
        in_table || !asked(line)
    });
    kept.fold(String::new(), |text, line| text + line + "\n")
}

/// `value` with `unit` after it if it is a bare number, or two with an x between.
pub(crate) fn with_unit(value: &str, unit: &str) -> String {
    let bare = value.chars().all(|c| c.is_ascii_digit() || " .,+-/x×*".contains(c));
    if bare { format!("{value} {unit}") } else { value.to_owned() }
}

/// A text as TOML has it.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 2);
    out.push('"');
    for c in text.chars() {
        match c {
            '"' | '\\' => {
                out.push('\\');
                out.push(c);
            }
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::Told;
    use crate::fields::Fields;
    use shop::Job;
    use units::Length;

    fn told(fields: &str, unit: &str) -> (Job, Vec<(String, String)>) {
        let told = Told::of(&Fields::of(fields), unit, "");
        let (job, findings) = Job::parse(&told.facts);
        assert_eq!(findings, [], "{}", told.facts);
        (job, told.mistakes)
    }

    #[test]
    fn what_is_typed_is_what_a_job_file_says() {
        let (job, mistakes) =
            told("thickness=10&plate=1500x750&datum_x=10&datum_y=-5&process=steel+85", "mm");
        assert_eq!(mistakes, []);
        assert_eq!(job.thickness, Some(Length::from_mm(10.0)));
        assert_eq!(job.plate.unwrap().size(), [Length::from_mm(1500.0), Length::from_mm(750.0)]);
        assert_eq!(job.datum, Some([Length::from_mm(10.0), Length::from_mm(-5.0)]));
        assert_eq!(job.process.as_deref(), Some("steel 85"));
        let (job, mistakes) = told("thickness=3/8&plate=96x48", "in");
        assert_eq!(mistakes, []);
        assert_eq!(job.thickness, Some(Length::from_inch(0.375)));
        assert!((job.plate.unwrap().size()[0].inch() - 96.0).abs() < 1e-9);
    }

    #[test]
    fn a_gauge_takes_its_meaning_from_the_material() {
        let (job, mistakes) = told("thickness=7+ga&material=mild-steel", "mm");
        assert_eq!(mistakes, []);
        assert!(job.thickness.is_some_and(|t| (t.mm() - 4.554).abs() < 0.01), "{:?}", job.thickness);
        assert_eq!(told("thickness=7+ga", "mm").1.len(), 1);
    }

    #[test]
    fn what_cannot_be_understood_is_told_by_its_field_and_the_rest_is_taken() {
        let (job, mistakes) = told("thickness=thick&plate=1500x750&datum_x=3&material=wood", "mm");
        let fields: Vec<&str> = mistakes.iter().map(|(field, _)| field.as_str()).collect();
        assert_eq!(fields, ["material", "thickness", "datum"]);
        assert!(job.thickness.is_none() && job.plate.is_some());
        let (job, mistakes) = told("process=%22%0Athickness+%3D+%221+mm%22%0A%23", "mm");
        assert_eq!((job.thickness, mistakes), (None, vec![]), "a name is a name, whatever stands in it");
    }

    #[test]
    fn what_the_form_does_not_ask_stays() {
        let before = "thickness = \"10 mm\"\nprogram = \"a.nc\"\n\n[values]\n1 = 14.5\n";
        let told = Told::of(&Fields::of("thickness=12"), "mm", before);
        let (job, findings) = Job::parse(&told.facts);
        assert_eq!(findings, []);
        assert_eq!((job.thickness, job.values), (Some(Length::from_mm(12.0)), vec![(1, 14.5)]));
    }
}
