//! An answer, taken into the stop report.

use super::about::{About, kerf_is_of};
use crate::facts::with_unit;
use crate::fields::Fields;
use crate::problem::Problem;
use crate::report::sentence;
use shop::{CutIs, CutState, StopKind, StopReport, StrayTold, Worded, from_word};
use units::{Duration, Length};

/// Places of a hole or kerf beside the cuts that a form takes.
pub(super) const STRAY_PLACES: usize = 3;

/// The word of a stop report for a source that shows none of the codes that the shop file knows.
pub(super) const NO_FAULT: &str = "no-such-fault";

/// An answer as it was sent.
pub(super) struct Answer<'a> {
    pub(super) fields: &'a Fields,
    /// Unit of bare numbers where the answer names none.
    pub(super) unit: &'a str,
}

impl Answer<'_> {
    /// Takes it into the report.
    pub(super) fn take(&self, about: About, told: &mut StopReport) -> Result<(), Problem> {
        match about {
            About::Kind => told.kind = Some(self.word("kind")?),
            About::Where => told.cut = Some(self.cut("cut")?),
            About::Since => told.from_cut = Some(self.cut("from_cut")?),
            About::Good => told.bad_from = self.along("bad_from")?,
            About::Kerf => self.kerf(told)?,
            About::Reached => told.stopped_along = self.length("stopped_along")?,
            About::Blown => {
                let blown = self.along("blown")?;
                (told.blown, told.kerf_within) = (blown, blown.and(self.along("kerf_within")?));
            }
            About::Fault => self.fault(told),
            About::Moved => told.moved = Some(self.fields.get("moved") == Some("yes")),
            About::Piece => self.piece(told)?,
            About::Cut => self.state(told)?,
            About::Strays => self.strays(told)?,
            About::Noted => self.noted(told)?,
            About::Odds => self.odds(told),
            About::Thickness | About::Pieces | About::Cuts => {}
        }
        Ok(())
    }

    fn word<C: Worded>(&self, name: &str) -> Result<C, Problem> {
        from_word(self.fields.get(name).unwrap_or_default()).ok_or_else(Problem::malformed)
    }

    /// The number of a cut.
    fn cut(&self, name: &str) -> Result<u32, Problem> {
        let cut = self.fields.get(name).and_then(|cut| cut.parse().ok()).filter(|cut| *cut > 0);
        cut.ok_or_else(|| {
            Problem::unfit(
                "That is no number of a cut.",
                "Go back and tap the cut, or write its number on the picture.",
            )
        })
    }

    fn length(&self, name: &str) -> Result<Option<Length>, Problem> {
        let unit = match self.fields.get("in") {
            Some("mm") => "mm",
            Some("in") => "in",
            _ => self.unit,
        };
        let read = |text: &str| {
            let length: Length = with_unit(text, unit).parse().map_err(|why: units::parse::ParseError| {
                Problem::unfit(
                    format!("{}.", sentence(&why.to_string())),
                    "Go back and write it as 120 mm or 4 3/4 in.",
                )
            })?;
            Ok(length)
        };
        self.fields.get(name).map(read).transpose()
    }

    /// A length that is not less than nothing.
    fn along(&self, name: &str) -> Result<Option<Length>, Problem> {
        let told = self.length(name)?;
        match told {
            Some(length) if length < Length::ZERO => Err(Problem::unfit(
                "That is less than nothing.",
                "Go back and measure it from the pierce along the cut.",
            )),
            told => Ok(told),
        }
    }

    fn place(&self, x: &str, y: &str) -> Result<Option<[Length; 2]>, Problem> {
        match (self.length(x)?, self.length(y)?) {
            (Some(x), Some(y)) => Ok(Some([x, y])),
            (None, None) => Ok(None),
            _ => Err(Problem::unfit("Only one of X and Y was told.", "Go back and tell both, or neither.")),
        }
    }

    fn kerf(&self, told: &mut StopReport) -> Result<(), Problem> {
        if self.fields.get("cut").is_some() {
            told.cut = Some(self.cut("cut")?);
        }
        let (along, place) = (self.along("kerf_to")?, self.place("kerf_x", "kerf_y")?);
        if self.fields.get("none").is_some() {
            let cut = kerf_is_of(told).ok_or_else(|| {
                Problem::unfit(
                    "It is not told at which cut it stopped.",
                    "Go back to that question, and tap the cut.",
                )
            })?;
            (told.kerf_to, told.kerf_at, told.kerf_within) = (None, None, None);
            set(told, CutState { cut, is: CutIs::Dry, from: None, kerf_to: None, within: None });
            return Ok(());
        }
        if along.is_none() && place.is_none() {
            return Err(Problem::unfit(
                "It is not told how far the kerf is through.",
                "Go back and tap its end on the picture, write the distance or the place, or say that you do not know.",
            ));
        }
        (told.kerf_to, told.kerf_at) = if place.is_some() { (None, place) } else { (along, None) };
        told.kerf_within = self.along("kerf_within")?;
        // What was told of this cut before is no longer so.
        let of = kerf_is_of(told);
        told.state.retain(|state| Some(state.cut) != of);
        Ok(())
    }

    /// The code that the source shows; that it shows none of those known is an observation like others.
    fn fault(&self, told: &mut StopReport) {
        told.fault = self.fields.get("fault").map(str::to_owned);
        told.seen.retain(|word| word != NO_FAULT);
        if self.fields.get("none").is_some() {
            told.seen.push(NO_FAULT.to_owned());
        }
    }

    fn piece(&self, told: &mut StopReport) -> Result<(), Problem> {
        let cut = self.cut("of")?;
        told.pieces.retain(|(other, _)| *other != cut);
        if self.fields.get("is") != Some("forget") {
            told.pieces.push((cut, self.word("is")?));
        }
        Ok(())
    }

    fn state(&self, told: &mut StopReport) -> Result<(), Problem> {
        let cut = self.cut("of")?;
        if self.fields.get("is") == Some("forget") {
            told.state.retain(|state| state.cut != cut);
            return Ok(());
        }
        let is: CutIs = self.word("is")?;
        let (from, kerf_to) = (self.along("from")?, self.along("kerf_to")?);
        if is == CutIs::Partial && kerf_to.is_none() {
            return Err(Problem::unfit(
                "It is not told how far it is through.",
                "Go back and tap the kerf's end, or write how far along the cut it lies.",
            ));
        }
        if from.zip(kerf_to).is_some_and(|(from, to)| from > to) {
            return Err(Problem::unfit(
                "The groove would end before it begins.",
                "Go back and measure both from the pierce along the cut.",
            ));
        }
        set(told, CutState { cut, is, from, kerf_to, within: self.along("within")? });
        Ok(())
    }

    /// A hole or kerf beside the cuts is added, or one of those told is taken back.
    fn strays(&self, told: &mut StopReport) -> Result<(), Problem> {
        if let Some(nth) = self.fields.get("forget").and_then(|nth| nth.parse::<usize>().ok()) {
            if nth < told.strays.len() {
                told.strays.remove(nth);
            }
            return Ok(());
        }
        let mut places = Vec::new();
        for k in 1..=STRAY_PLACES {
            places.extend(self.place(&format!("x{k}"), &format!("y{k}"))?);
        }
        if places.is_empty() {
            return Err(Problem::unfit(
                "It is not told where it lies.",
                "Go back: put the torch over its ends, and write down what the control shows each time.",
            ));
        }
        told.strays.push(StrayTold { places, wide: self.along("wide")?, within: self.along("within")? });
        Ok(())
    }

    fn noted(&self, told: &mut StopReport) -> Result<(), Problem> {
        told.at = self.place("x", "y")?;
        told.stopped_along = self.along("stopped_along")?;
        told.line = match self.fields.get("line").map(str::parse::<u32>) {
            None => None,
            Some(Ok(line)) if line > 0 => Some(line),
            Some(_) => {
                return Err(Problem::unfit(
                    "The line cannot be understood.",
                    "Go back and write its number as the control counts it, from 1, or leave it empty.",
                ));
            }
        };
        let time = self.fields.get("time").map(|time| {
            let bare = time.chars().all(|c| c.is_ascii_digit() || c == '.');
            if bare { format!("{time} min") } else { time.to_owned() }
        });
        told.time = time.map(|time| time.parse::<Duration>()).transpose().map_err(|why| {
            Problem::unfit(format!("{}.", sentence(&why.to_string())), "Go back and write it as 12.5 min.")
        })?;
        Ok(())
    }

    /// Of two facts that cannot both be so one is taken back.
    fn odds(&self, told: &mut StopReport) {
        match self.fields.get("so") {
            Some("cut") => told.kind = Some(StopKind::ArcLost),
            Some("no-kerf") => (told.kerf_to, told.kerf_at, told.kerf_within) = (None, None, None),
            Some("no-reach") => told.stopped_along = None,
            _ => {}
        }
    }
}

/// Puts what is told of a cut in the place of what was told of it before.
fn set(told: &mut StopReport, state: CutState) {
    told.state.retain(|other| other.cut != state.cut);
    told.state.push(state);
    told.state.sort_by_key(|state| state.cut);
}

#[cfg(test)]
mod tests {
    use super::Answer;
    use crate::fields::Fields;
    use crate::pages::ask::about::About;
    use crate::report;
    use shop::StopReport;

    /// The report, as kept, after answers to questions.
    fn after(answers: &[(About, &str)]) -> String {
        let mut told = StopReport::default();
        for (about, fields) in answers {
            let answer = Answer { fields: &Fields::of(fields), unit: "mm" };
            answer.take(*about, &mut told).unwrap_or_else(|why| panic!("{fields}: {why:?}"));
        }
        report::text(&told)
    }

    #[test]
    fn every_fact_of_a_stop_file_can_be_told() {
        let kept = after(&[
            (About::Kind, "kind=not-through"),
            (About::Where, "cut=42"),
            (About::Since, "from_cut=40"),
            (About::Kerf, "kerf_to=310&kerf_within=2"),
            (About::Reached, "stopped_along=400"),
            (About::Fault, "fault=AIR-THIN"),
            (About::Moved, "moved=no"),
            (About::Piece, "of=12&is=standing"),
            (About::Cut, "of=39&is=groove&from=40&kerf_to=120&within=1"),
            (About::Cut, "of=38&is=whole"),
            (About::Strays, "x1=1&y1=2&x2=11&y2=2&wide=4"),
            (About::Good, "bad_from=80"),
            (About::Noted, "line=512&x=1&y=2+in&time=12.5&stopped_along=400"),
        ]);
        let expected = "kind = \"not-through\"\ncut = 42\nfrom_cut = 40\nline = 512\nat = [\"1 mm\", \"50.8 mm\"]\n\
            stopped_along = \"400 mm\"\ntime = \"750 s\"\nkerf_to = \"310 mm\"\nkerf_within = \"2 mm\"\nbad_from = \"80 mm\"\n\
            fault = \"AIR-THIN\"\nmoved = false\n\
            \n[[state]]\ncut = 38\nis = \"whole\"\n\
            \n[[state]]\ncut = 39\nis = \"groove\"\nfrom = \"40 mm\"\nkerf_to = \"120 mm\"\nwithin = \"1 mm\"\n\
            \n[[piece]]\ncut = 12\nis = \"standing\"\n\
            \n[[stray]]\nplaces = [\"1x2 mm\", \"11x2 mm\"]\nwide = \"4 mm\"\n";
        assert_eq!(kept, expected);
    }

    #[test]
    fn a_blown_hole_is_told_with_how_far_off_its_radius_may_be() {
        let kept =
            after(&[(About::Kind, "kind=no-motion"), (About::Blown, "blown=9&kerf_within=1/16+in&in=mm")]);
        assert_eq!(kept, "kind = \"no-motion\"\nkerf_within = \"1.5875 mm\"\nblown = \"9 mm\"\n");
        let (_, findings) = StopReport::parse(&kept);
        assert_eq!(findings, [], "a stop file may say so");
        assert_eq!(after(&[(About::Blown, "blown=&kerf_within=2")]), "");
    }

    #[test]
    fn an_answer_takes_the_place_of_an_earlier_one() {
        let kerf = [(About::Where, "cut=4"), (About::Kerf, "kerf_to=1&in=in")];
        assert!(after(&kerf).contains("kerf_to = \"25.4 mm\""));
        let dry = [&kerf[..], &[(About::Kerf, "none=yes")]].concat();
        assert_eq!(after(&dry), "cut = 4\n\n[[state]]\ncut = 4\nis = \"dry\"\n");
        let placed = [&dry[..], &[(About::Kerf, "kerf_x=1&kerf_y=2")]].concat();
        assert_eq!(after(&placed), "cut = 4\nkerf_at = [\"1 mm\", \"2 mm\"]\n");
        // The cut that X and Y spoke for is told by whoever tells how far its kerf goes.
        assert_eq!(after(&[(About::Kerf, "cut=4&kerf_to=9")]), "cut = 4\nkerf_to = \"9 mm\"\n");
        assert_eq!(
            after(&[(About::Kerf, "cut=4&none=yes")]),
            "cut = 4\n\n[[state]]\ncut = 4\nis = \"dry\"\n"
        );
        let forgotten = [(About::Piece, "of=3&is=fell"), (About::Piece, "of=3&is=forget")];
        assert_eq!(after(&forgotten), "");
    }

    #[test]
    fn what_cannot_be_understood_is_refused() {
        for (about, fields) in [
            (About::Kind, "kind=weather"),
            (About::Where, "cut=0"),
            (About::Where, "cut=x"),
            (About::Kerf, ""),
            (About::Kerf, "kerf_to=far"),
            (About::Kerf, "kerf_to=-5"),
            (About::Kerf, "kerf_x=1"),
            (About::Kerf, "none=yes"),
            (About::Kerf, "cut=0&kerf_to=5"),
            (About::Cut, "of=3&is=partial"),
            (About::Cut, "of=3&is=groove&from=9&kerf_to=2"),
            (About::Piece, "of=3&is=asleep"),
            (About::Strays, "wide=4"),
            (About::Strays, "x1=4"),
            (About::Noted, "line=0"),
            (About::Noted, "time=noon"),
        ] {
            let answer = Answer { fields: &Fields::of(fields), unit: "mm" };
            assert!(answer.take(about, &mut StopReport::default()).is_err(), "{fields}");
        }
    }
}
