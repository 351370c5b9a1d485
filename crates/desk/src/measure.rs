//! What was measured on the plate, as it is typed in one line: a feature's place, `crater of 12 at 412.3,88.1 mm`, or a hole
//! or kerf beside the cuts, `412.3,88 mm wide 6 mm`.

use shop::{Feature, Measured, StrayTold, Worded, from_word};
use std::fmt;
use std::str::FromStr;
use units::Length;

/// What is typed, for remedies.
pub const FORM: &str = "write it as 'crater of 12 at 412.3,88.1 mm', 'hole of 5 at 100,50 110,60 105,55 mm', \
                    'hole of 5 100,50 at 98,45 92,50 98,55 mm', \
                    'corner lower-left at 12.3,4.5 mm', 'corner 100,80 at 112,84 mm lip scrap', \
                    'edge left at 1,20 2,400 mm', 'edge of 7 100,80 at 112,84 118,90 mm', \
                    'point 412,88 at 430.2,91.3 mm'; add 'by tip', 'lip part|scrap|middle' or 'sigma 0.3 mm'";

/// The same of a hole or kerf beside the cuts.
const STRAY_FORM: &str = "write a hole as '412.3,88 mm wide 6 mm', a kerf by its ends and bends as \
                          '100,50 160,50 mm within 2 mm'";

/// Words that end a list of places.
const MARKS: [&str; 8] = ["of", "at", "to", "by", "lip", "sigma", "wide", "within"];

/// Why a text tells no measurement: what in it cannot be understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotMeasured(pub String);

impl fmt::Display for NotMeasured {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for NotMeasured {}

/// The measurement that `text` tells.
///
/// # Errors
/// If it cannot be understood, with the part that cannot.
pub fn measured(text: &str) -> Result<Measured, NotMeasured> {
    feature_told(text).map_err(|why| NotMeasured(format!("{text:?}: {why}")))
}

fn feature_told(text: &str) -> Result<Measured, NotMeasured> {
    let mut words = Words::of(text);
    let feature: Feature = words.choice()?;
    let mut row = Measured {
        feature,
        cut: None,
        side: None,
        plan: None,
        to: None,
        found: Vec::new(),
        lip: None,
        by: None,
        sigma: None,
    };
    let at = words.words.iter().position(|word| word == "at");
    let unit = at.and_then(|at| words.unit_after(at + 1));
    while let Some(word) = words.peek().map(str::to_owned) {
        match word.as_str() {
            "of" => {
                words.next += 1;
                row.cut = Some(words.number()?);
            }
            "at" => {
                words.next += 1;
                row.found = words.places(unit.as_deref())?;
            }
            "to" => {
                words.next += 1;
                row.to = Some(words.place(unit.as_deref())?);
            }
            "by" => {
                words.next += 1;
                row.by = Some(words.choice()?);
            }
            "lip" => {
                words.next += 1;
                row.lip = Some(words.choice()?);
            }
            "sigma" => {
                words.next += 1;
                row.sigma = Some(words.length()?);
            }
            word if word.contains(',') => row.plan = Some(words.place(unit.as_deref())?),
            _ => row.side = Some(words.choice()?),
        }
    }
    if row.found.is_empty() {
        return Err(wrong("it does not say what the control showed; add 'at X,Y mm'"));
    }
    if row.sigma.is_some_and(|sigma| sigma.mm() <= 0.0) {
        return Err(wrong("its uncertainty must be more than nothing"));
    }
    match row.unnamed() {
        Some((what, _)) => Err(wrong(what)),
        None => Ok(row),
    }
}

/// The hole or kerf beside the cuts that `text` tells: its places, then how `wide` it is and `within` what the places are
/// right.
///
/// # Errors
/// If it cannot be understood, with the part that cannot and how it is written.
pub fn stray(text: &str) -> Result<StrayTold, NotMeasured> {
    stray_told(text).map_err(|why| NotMeasured(format!("{why}; {STRAY_FORM}")))
}

fn stray_told(text: &str) -> Result<StrayTold, NotMeasured> {
    let mut words = Words::of(text);
    let unit = words.unit_after(0);
    let mut stray = StrayTold { places: words.places(unit.as_deref())?, wide: None, within: None };
    if stray.places.is_empty() {
        return Err(wrong("it begins with no place"));
    }
    while words.peek().is_some() {
        let word = words.take()?;
        let told = match word.as_str() {
            "wide" => &mut stray.wide,
            "within" => &mut stray.within,
            _ => return Err(wrong(format!("{word:?} is neither a place nor `wide` nor `within`"))),
        };
        let length = words.length()?;
        if length.mm() <= 0.0 {
            return Err(wrong(format!("{length} after {word:?} must be more than nothing")));
        }
        *told = Some(length);
    }
    Ok(stray)
}

struct Words {
    words: Vec<String>,
    next: usize,
}

impl Words {
    fn of(text: &str) -> Self {
        Self { words: text.split_whitespace().map(str::to_lowercase).collect(), next: 0 }
    }

    fn peek(&self) -> Option<&str> {
        self.words.get(self.next).map(String::as_str)
    }

    fn take(&mut self) -> Result<String, NotMeasured> {
        let word = self.words.get(self.next).cloned();
        self.next += 1;
        word.ok_or_else(|| wrong("it ends too early"))
    }

    fn choice<C: Worded>(&mut self) -> Result<C, NotMeasured> {
        let word = self.take()?;
        from_word(&word).ok_or_else(|| {
            let names: Vec<&str> = C::WORDS.iter().map(|(name, ..)| *name).collect();
            wrong(format!("{word:?} is no {}; known are {}", C::WHAT, names.join(", ")))
        })
    }

    fn number(&mut self) -> Result<u32, NotMeasured> {
        let word = self.take()?;
        let number = word.parse().ok().filter(|number| *number > 0);
        number.ok_or_else(|| wrong(format!("{word:?} is no number of a cut")))
    }

    /// A length: `0.3 mm` or `0.3mm`.
    fn length(&mut self) -> Result<Length, NotMeasured> {
        let mut text = self.take()?;
        if Length::from_str(&text).is_err()
            && let Some(unit) = self.peek().filter(|word| is_unit(word))
        {
            text = format!("{text} {unit}");
            self.next += 1;
        }
        Length::from_str(&text).map_err(wrong)
    }

    /// The unit after the places that begin at a word, which counts for all of them that have none of their own.
    fn unit_after(&self, first: usize) -> Option<String> {
        let mut places = self.words[first..].iter().take_while(|word| !MARKS.contains(&word.as_str()));
        let last = places.find(|word| is_unit(word) || own_unit(word).is_some())?;
        Some(own_unit(last).unwrap_or(last).to_owned())
    }

    fn places(&mut self, unit: Option<&str>) -> Result<Vec<[Length; 2]>, NotMeasured> {
        let mut places = Vec::new();
        while self.peek().is_some_and(|word| word.contains(',')) {
            places.push(self.place(unit)?);
        }
        Ok(places)
    }

    /// A place: `412.3,88.1`, with a unit after it or within it, or the one that counts for all.
    fn place(&mut self, unit: Option<&str>) -> Result<[Length; 2], NotMeasured> {
        let word = self.take()?;
        let own = own_unit(&word).map(str::to_owned);
        let after = self.peek().filter(|word| is_unit(word)).map(str::to_owned);
        self.next += usize::from(after.is_some());
        let unit = own.or(after).or(unit.map(str::to_owned));
        let Some((x, y)) = word.split_once(',') else {
            return Err(wrong(format!("{word:?} is no place; a place is X,Y")));
        };
        let length = |text: &str| {
            let bare = unit.as_deref().filter(|_| own_unit(text).is_none());
            let text = bare.map_or_else(|| text.to_owned(), |unit| format!("{text} {unit}"));
            Length::from_str(&text).map_err(wrong)
        };
        Ok([length(x)?, length(y)?])
    }
}

fn wrong(what: impl fmt::Display) -> NotMeasured {
    NotMeasured(what.to_string())
}

fn is_unit(word: &str) -> bool {
    !word.is_empty()
        && !MARKS.contains(&word)
        && Length::from_str(&format!("1 {word}")).is_ok()
        && word.starts_with(|c: char| !c.is_ascii_digit())
}

/// The unit written at the end of a number, if there is one.
fn own_unit(word: &str) -> Option<&str> {
    let number = |c: char| c.is_ascii_digit() || "+-.,".contains(c);
    let unit = word.trim_start_matches(number);
    (unit.len() < word.len() && !unit.is_empty()).then_some(unit)
}

#[cfg(test)]
mod tests {
    use super::{measured, stray};
    use shop::{Feature, Lip, Measured, PlateSide, SightedBy, StrayTold};
    use units::Length;

    fn read(text: &str) -> Measured {
        measured(text).unwrap_or_else(|why| panic!("{text}: {why}"))
    }

    fn mm(x: f64, y: f64) -> [Length; 2] {
        [Length::from_mm(x), Length::from_mm(y)]
    }

    #[test]
    fn features_are_named_as_people_name_them() {
        let row = read("crater of 12 at 412.3,-88.1 mm by tip sigma 0.3 mm");
        assert_eq!((row.feature, row.cut, row.found), (Feature::Crater, Some(12), vec![mm(412.3, -88.1)]));
        assert_eq!((row.by, row.sigma), (Some(SightedBy::Tip), Some(Length::from_mm(0.3))));
        let row = read("Hole of 5 at 1,0 0,1 in");
        assert_eq!(row.found, vec![mm(25.4, 0.0), mm(0.0, 25.4)]);
        let row = read("corner lower-left at 12.3,4.5mm");
        assert_eq!((row.side, row.found), (Some(PlateSide::LowerLeft), vec![mm(12.3, 4.5)]));
        let row = read("corner 100,80 at 112,84 mm lip scrap");
        assert_eq!((row.plan, row.lip), (Some(mm(100.0, 80.0)), Some(Lip::Scrap)));
        let row = read("edge 0,0 to 0,50 in at 1,20 mm 2,400 mm");
        assert_eq!((row.plan, row.to), (Some(mm(0.0, 0.0)), Some(mm(0.0, 1270.0))));
        assert_eq!(row.found, vec![mm(1.0, 20.0), mm(2.0, 400.0)]);
    }

    #[test]
    fn a_hole_and_a_kerf_beside_the_cuts() {
        let read = |text: &str| stray(text).unwrap_or_else(|why| panic!("{text}: {why}"));
        let told = |places: &[[Length; 2]], wide: Option<f64>, within: Option<f64>| StrayTold {
            places: places.to_vec(),
            wide: wide.map(Length::from_mm),
            within: within.map(Length::from_mm),
        };
        assert_eq!(read("412.3,-88 mm"), told(&[mm(412.3, -88.0)], None, None));
        assert_eq!(read("1,2 in wide 6mm"), told(&[mm(25.4, 50.8)], Some(6.0), None));
        let kerf = [mm(100.0, 50.0), mm(160.0, 50.0), mm(160.0, 80.0)];
        assert_eq!(read("100,50 160,50 160,80 mm within 2 mm wide 4 mm"), told(&kerf, Some(4.0), Some(2.0)));
        for (text, told) in [
            ("", "no place"),
            ("wide 6 mm", "no place"),
            ("412.3 mm", "no place"),
            ("412.3,88", "unit"),
            ("412.3,88 mm wide", "ends too early"),
            ("412.3,88 mm wide 0 mm", "more than nothing"),
            ("412.3,88 mm within -1 mm", "more than nothing"),
            ("412.3,88 mm deep 3 mm", "neither a place"),
            ("412.3,88 mm 3", "neither a place"),
            ("1,x mm", "`x` is not a unit"),
        ] {
            let why = stray(text).expect_err(text).to_string();
            assert!(why.contains(told) && why.contains("write a hole as"), "{text}: {why}");
        }
    }

    #[test]
    fn what_cannot_be_understood_is_told() {
        for (text, told) in [
            ("", "ends too early"),
            ("crater", "what the control showed"),
            ("crater of 12 at", "what the control showed"),
            ("crater of twelve at 1,2 mm", "no number of a cut"),
            ("crater at 1,2 mm", "of which cut"),
            ("dent of 3 at 1,2 mm", "known are"),
            ("corner middle at 1,2 mm", "known are"),
            ("point 1,2 at 3,4", "unit"),
            ("point 1;2 at 3,4 mm", "known are"),
            ("hole of 3 at 1,2 mm sigma 0 mm", "more than nothing"),
            ("hole of 3 at 1,2 mm sigma", "ends too early"),
            ("hole of 3 at 1,x mm", "hole of 3 at 1,x mm"),
        ] {
            let why = measured(text).expect_err(text).to_string();
            assert!(why.contains(told), "{text}: {why}");
        }
    }
}
