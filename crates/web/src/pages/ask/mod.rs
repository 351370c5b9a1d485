//! What is asked after a stop, one question a screen, each answer kept as it is given.

mod about;
mod looked_at;
mod screens;
mod take;

use super::frame::own_entry;
use super::plate_view::{PlateView, Tap};
use crate::address::{Asked, AtStop, OfStop};
use crate::facts::Told;
use crate::fields::Fields;
use crate::opened::Opened;
use crate::planned::Planned;
use crate::problem::Problem;
use crate::report::{self, sentence};
use crate::works::{Met, Patience};
use about::About;
pub(super) use about::kerf_is_of;
use axum::response::{IntoResponse, Redirect, Response};
use ledger::{Entry, FactsTold, StopReported};
use maud::{Markup, html};
use serde::Deserialize;
use shop::StopReport;
use take::Answer;
use units::{Length, System};

/// What is asked for.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Question {
    #[serde(default)]
    about: String,
    /// A head under which kinds of stop are gathered.
    #[serde(default)]
    head: String,
    /// The cut that is spoken of.
    #[serde(default)]
    of: String,
    /// How it is taken to be.
    #[serde(default, rename = "is")]
    state: String,
    /// In which manner the answer is given.
    #[serde(default)]
    how: String,
    /// Where to go afterwards: `answer`, or else to the next question.
    #[serde(default)]
    then: String,
}

/// The stop that is asked about.
struct Stop<'a> {
    of: OfStop<'a>,
    told: StopReport,
    opened: &'a Opened,
    /// The plan, where it is asked how cuts and pieces are taken to be, and the stop can be placed already.
    planned: Option<&'a Planned>,
    asked: Question,
}

/// A question.
pub(crate) async fn ask(at: AtStop, Asked(asked): Asked<Question>) -> Result<Response, Problem> {
    let about: About = asked.about.parse()?;
    let planned = match about {
        // How cuts and pieces are taken to be is known once the stop can be placed.
        About::Cuts | About::Pieces => match at.plan(Patience::Blink).await {
            Ok((_, Met::Made(planned))) => Some(planned),
            Ok((_, Met::Waits(work))) => return Ok(at.waits(&work)),
            Err(_) => None,
        },
        _ => None,
    };
    at.page(move |of, opened| {
        let (told, _) = StopReport::parse(&of.stop.report);
        let stop = Stop { of, told, opened, planned: planned.as_deref(), asked };
        match about {
            About::Kind => Ok(stop.kind()),
            About::Where => Ok(stop.place()),
            About::Since => Ok(stop.since()),
            About::Good => Ok(stop.good()),
            About::Kerf => Ok(stop.kerf()),
            About::Reached => Ok(stop.reached()),
            About::Blown => Ok(stop.blown()),
            About::Fault => Ok(stop.fault()),
            About::Thickness => Ok(stop.thickness()),
            About::Moved => Ok(stop.moved()),
            About::Pieces => Ok(stop.pieces()),
            About::Piece => stop.piece(),
            About::Cuts => Ok(stop.cuts()),
            About::Cut => stop.cut(),
            About::Strays => Ok(stop.strays()),
            About::Noted => Ok(stop.noted()),
            About::Odds => Ok(stop.odds()),
        }
    })
    .await
}

impl Stop<'_> {
    fn system(&self) -> System {
        self.opened.system()
    }

    /// The address of a question; where the answer leads is kept.
    fn ask(&self, about: About) -> String {
        // What was told of one cut or piece leads back to the list of them.
        let lists = matches!(about, About::Cut | About::Piece);
        let then = if self.asked.then.is_empty() || lists { "" } else { "&then=answer" };
        format!("{}/ask?about={}{then}", self.of.path(), about.word())
    }

    /// Where *Back* leads: to the question before, or to the page that the question was asked from.
    fn back(&self, about: About) -> String {
        let from_answer = !self.asked.then.is_empty() && about <= About::Moved;
        match about.before(&self.told, self.opened) {
            Some(before) if !from_answer => self.ask(before),
            None if about == About::Kind => self.of.job().path(),
            _ => self.of.path(),
        }
    }

    /// A form that answers this question.
    fn form(&self, about: About, fields: &Markup) -> Markup {
        html! {
            form method="post" action={ (self.of.path()) "/tell" } {
                (own_entry(self.of.app, self.of.visit))
                input type="hidden" name="about" value=(about.word());
                @if !self.asked.then.is_empty() { input type="hidden" name="then" value="answer"; }
                (fields)
            }
        }
    }

    /// A button that answers it with one tap.
    fn answer(&self, about: About, (name, value): (&str, &str), label: &str, class: &str) -> Markup {
        self.form(
            about,
            &html! { input type="hidden" name=(name) value=(value); button class=(class) { (label) } },
        )
    }

    /// The same where one of several is told already: that one is marked.
    fn choice(&self, about: About, (name, value): (&str, &str), label: &str, is_told: bool) -> Markup {
        self.form(
            about,
            &html! {
                input type="hidden" name=(name) value=(value);
                button.main { (label) @if is_told { small { "as told" } } }
            },
        )
    }

    /// The picture of the plate as it stood when the program that stopped was started, to tap on.
    fn view(&self, tap: Tap, label: &str) -> Markup {
        let begun = format!("{}/begun", self.of.path());
        PlateView {
            strokes: format!("{begun}/strokes"),
            picture: format!("{begun}/picture.svg"),
            label: label.to_owned(),
            tap,
            near: Some(&format!("{begun}/near")),
        }
        .markup()
    }

    /// The same, low, where there is more on the screen.
    fn low_view(&self, tap: Tap, label: &str) -> Markup {
        let of = match tap {
            Tap::Along(of) => of,
            _ => None,
        };
        let cut = of.and_then(|of| self.opened.read.reading.list.by_number(of));
        let around = cut
            .and_then(|cut| cut.path.bounds())
            .map(|b| format!("{:.1} {:.1} {:.1} {:.1}", b.min.x, b.min.y, b.max.x, b.max.y));
        html! { div.low data-around=[around] { (self.view(tap, label)) } }
    }

    /// A length as told, to be filled in again.
    fn shown(&self, length: Option<Length>) -> Option<String> {
        length.map(|length| length.show(self.system()))
    }

    /// In which unit bare numbers are typed.
    fn unit(&self) -> Markup {
        unit_choice(self.opened.unit())
    }
}

/// A choice between millimetres and inches for what is typed beside it without a unit.
pub(super) fn unit_choice(unit: &str) -> Markup {
    html! {
        label.unit {
            span { "Unit" }
            select name="in" {
                @for name in ["mm", "in"] { option value=(name) selected[name == unit] { (name) } }
            }
        }
    }
}

/// An answer.
pub(crate) async fn tell(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.opened(move |of, opened| {
        let (before, _) = StopReport::parse(&of.stop.report);
        let about: About = fields.get("about").unwrap_or_default().parse()?;
        if about == About::Thickness {
            thickness(of, &fields, opened.unit())?;
            return Ok(go_on(of, about, &fields, &before, opened));
        }
        let mut told = before.clone();
        if fields.get("skip").is_none() {
            Answer { fields: &fields, unit: opened.unit() }.take(about, &mut told)?;
        }
        if told != before {
            let entry = StopReported { stop: of.stop.id, report: report::text(&told) };
            of.keep(fields.entry()?, Entry::StopReported(entry), &[])?;
        }
        Ok(go_on(of, about, &fields, &told, opened))
    })
    .await
}

/// To the next question, or to the answer.
fn go_on(of: OfStop<'_>, about: About, fields: &Fields, told: &StopReport, opened: &Opened) -> Response {
    let to_answer = fields.get("then").is_some() && about != About::Kind;
    let next = match about {
        // What cannot be so together is asked about at once; nothing that was told is lost meanwhile.
        _ if told.at_odds().is_some() => Some(About::Odds),
        About::Moved if fields.get("moved") == Some("piece") => Some(About::Pieces),
        _ if to_answer => None,
        About::Piece => Some(About::Pieces),
        About::Cut => Some(About::Cuts),
        About::Strays => Some(About::Strays),
        // Who took something back goes on where he was.
        About::Odds => About::Kind.next(told, opened),
        _ if about <= About::Moved => about.next(told, opened),
        _ => None,
    };
    let to = next.map_or_else(|| of.path(), |next| format!("{}/ask?about={}", of.path(), next.word()));
    Redirect::to(&to).into_response()
}

/// The thickness is a fact of the job.
fn thickness(of: OfStop<'_>, fields: &Fields, unit: &str) -> Result<(), Problem> {
    let facts = &of.record.facts;
    let (job, _) = shop::Job::parse(facts);
    let with =
        job.material.map(|material| format!("&material={}", report::word(material))).unwrap_or_default();
    let thickness = fields.get("thickness").unwrap_or_default();
    let only = Fields::of(&format!("thickness={}{with}", crate::fields::escaped(thickness)));
    let told =
        Told::of(&only, fields.get("in").filter(|unit| ["mm", "in"].contains(unit)).unwrap_or(unit), "");
    if let Some((_, what)) = told.mistakes.first() {
        return Err(Problem::unfit(
            format!("{}.", sentence(what)),
            "Go back and write it as 10 mm or 3/8 in.",
        ));
    }
    let facts = format!("{}{}", told.facts, crate::facts::without(facts, &["thickness", "material"]));
    of.keep(fields.entry()?, Entry::FactsTold(FactsTold { facts }), &[])
}
