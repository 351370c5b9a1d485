//! What is asked after a stop, one question a screen, each answer kept as it is given.

use super::frame::{own_entry, screen};
use super::plate_view::{PlateView, Tap};
use crate::address::{Asked, AtStop, OfStop};
use crate::app::App;
use crate::facts::{Told, with_unit};
use crate::fields::Fields;
use crate::guard::Visit;
use crate::opened::Opened;
use crate::problem::Problem;
use crate::report;
use axum::response::{Html, IntoResponse, Redirect, Response};
use ledger::{Entry, FactsTold, Id, JobRecord, StopReported};
use maud::{Markup, html};
use serde::Deserialize;
use shop::{StopKind, StopReport};
use std::str::FromStr;
use units::Length;

/// A question.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum About {
    Kind,
    Where,
    Kerf,
    Fault,
    Moved,
    Thickness,
}

impl About {
    const ALL: [(Self, &'static str); 6] = [
        (Self::Kind, "kind"),
        (Self::Where, "where"),
        (Self::Kerf, "kerf"),
        (Self::Fault, "fault"),
        (Self::Moved, "moved"),
        (Self::Thickness, "thickness"),
    ];

    fn word(self) -> &'static str {
        Self::ALL.iter().find(|(about, _)| *about == self).map(|(_, word)| *word).unwrap_or_default()
    }

    /// Whether it is worth asking.
    fn is_open(self, told: &StopReport, opened: &Opened) -> bool {
        match self {
            Self::Kind => told.kind.is_none(),
            Self::Where => told.cut.is_none(),
            Self::Kerf => {
                told.kind.is_some_and(leaves_a_kerf) && told.kerf_to.is_none() && told.kerf_at.is_none()
            }
            Self::Fault => told.fault.is_none() && told.kind.is_some_and(may_show_a_fault),
            Self::Moved => told.moved.is_none(),
            Self::Thickness => opened.read.inputs.job.thickness.is_none(),
        }
    }

    /// The next one after this that is worth asking.
    fn next(self, told: &StopReport, opened: &Opened) -> Option<Self> {
        Self::ALL.iter().map(|(about, _)| *about).find(|about| *about > self && about.is_open(told, opened))
    }
}

impl FromStr for About {
    type Err = Problem;

    fn from_str(text: &str) -> Result<Self, Problem> {
        Self::ALL
            .iter()
            .find(|(_, word)| *word == text)
            .map(|(about, _)| *about)
            .ok_or_else(Problem::no_such_page)
    }
}

/// Whether the cut that was running may be through up to a place.
fn leaves_a_kerf(kind: StopKind) -> bool {
    !matches!(kind, StopKind::NoTransfer | StopKind::NoMotion | StopKind::PlateMoved | StopKind::WrongDatum)
}

/// Whether the source may show a fault.
fn may_show_a_fault(kind: StopKind) -> bool {
    matches!(
        kind,
        StopKind::NoTransfer | StopKind::ArcLost | StopKind::RanDry | StopKind::ArcStaysOn | StopKind::BadCut
    )
}

/// Kinds of stop under a few heads, so that a screen shows all without scrolling.
const HEADS: [(&str, &str, &[StopKind]); 5] = [
    ("no-arc", "The arc did not come", &[StopKind::NoTransfer]),
    ("out", "The arc went out on the way", &[StopKind::ArcLost]),
    (
        "bad",
        "It burned, but not as it should",
        &[StopKind::NotThrough, StopKind::BadCut, StopKind::NoMotion, StopKind::RanDry, StopKind::ArcStaysOn],
    ),
    (
        "halted",
        "Stopped by hand, struck, or the control froze",
        &[StopKind::ByHand, StopKind::Struck, StopKind::ControlFroze],
    ),
    (
        "moved",
        "The plate moved, or lies elsewhere than thought",
        &[StopKind::PlateMoved, StopKind::WrongDatum],
    ),
];

/// What is asked for.
#[derive(Debug, Default, Deserialize)]
pub(crate) struct Question {
    #[serde(default)]
    about: String,
    #[serde(default)]
    head: String,
}

/// Where a stop is.
struct Stop<'a> {
    app: &'a App,
    visit: Visit,
    record: &'a JobRecord,
    stop: Id,
    told: StopReport,
    opened: &'a Opened,
}

/// A question.
pub(crate) async fn ask(at: AtStop, Asked(asked): Asked<Question>) -> Result<Html<String>, Problem> {
    at.work(move |of| {
        let (told, _) = StopReport::parse(&of.stop.report);
        let opened = of.job().open()?;
        let OfStop { app, visit, record, stop } = of;
        let stop = Stop { app, visit, record, stop: stop.id, told, opened: &opened };
        let about: About = asked.about.parse()?;
        Ok(match about {
            About::Kind => stop.kind(&asked.head),
            About::Where => stop.place(),
            About::Kerf => stop.kerf(),
            About::Fault => stop.fault(),
            About::Moved => stop.moved(),
            About::Thickness => stop.thickness(),
        })
    })
    .await
}

impl Stop<'_> {
    fn path(&self) -> String {
        format!("/jobs/{}/stops/{}", self.record.id, self.stop)
    }

    fn ask(&self, about: About) -> String {
        format!("{}/ask?about={}", self.path(), about.word())
    }

    /// A form that answers this question.
    fn form(&self, about: About, fields: &Markup) -> Markup {
        html! {
            form method="post" action={ (self.path()) "/tell" } {
                (own_entry(self.app, self.visit))
                input type="hidden" name="about" value=(about.word());
                (fields)
            }
        }
    }

    /// A button that answers it with one tap.
    fn answer(&self, about: About, name: &str, value: &str, label: &str, class: &str) -> Markup {
        self.form(
            about,
            &html! { input type="hidden" name=(name) value=(value); button class=(class) { (label) } },
        )
    }

    fn view(&self, tap: Tap, near: &str, label: &str) -> Markup {
        PlateView {
            strokes: format!("/jobs/{}/strokes", self.record.id),
            picture: format!("/jobs/{}/picture.svg", self.record.id),
            label: label.to_owned(),
            tap,
            near: Some(near),
        }
        .markup()
    }

    fn kind(&self, head: &str) -> Html<String> {
        let under = HEADS.iter().find(|(word, ..)| *word == head);
        let back =
            under.map(|_| self.ask(About::Kind)).unwrap_or_else(|| format!("/jobs/{}", self.record.id));
        screen(
            "What happened?",
            Some(&back),
            &html! {
                h1 { "What happened?" }
                div.choices {
                    @match under {
                        Some((_, _, kinds)) => @for kind in *kinds {
                            (self.answer(About::Kind, "kind", report::word(*kind), &sentence(report::meaning(*kind)), "main"))
                        },
                        None => @for (word, label, kinds) in HEADS {
                            @if let [only] = kinds {
                                (self.answer(About::Kind, "kind", report::word(*only), label, "main"))
                            } @else {
                                a.button.main href={ (self.ask(About::Kind)) "&head=" (word) } { (label) }
                            }
                        },
                    }
                }
            },
        )
    }

    fn place(&self) -> Html<String> {
        let near = format!("/jobs/{}/near", self.record.id);
        let noted = self.told.line.is_some() || self.told.at.is_some();
        screen(
            "Where did it stop?",
            Some(&self.ask(About::Kind)),
            &html! {
                h1 { "At which cut did it stop?" }
                (self.view(Tap::Cut, &near, "The plate: tap the cut at which it stopped"))
                (self.form(About::Where, &html! {
                    div.row {
                        label { span { "Cut" } input name="cut" inputmode="numeric" value=[self.told.cut] autocomplete="off"; }
                        button.main { "This one" }
                    }
                }))
                @if noted {
                    (self.answer(About::Where, "skip", "yes", "I do not know: go by what I wrote down", ""))
                }
            },
        )
    }

    fn kerf(&self) -> Html<String> {
        let near = format!("/jobs/{}/near", self.record.id);
        screen(
            "How far is it through?",
            Some(&self.ask(About::Where)),
            &html! {
                h1 { "How far is the kerf through?" }
                (self.view(Tap::Along, &near, "The plate: tap where the kerf ends"))
                (self.form(About::Kerf, &html! {
                    input type="hidden" name="of" value=[self.told.cut];
                    label { span { "Along the cut, from the pierce" } input name="kerf_to" inputmode="decimal" placeholder="300 mm" autocomplete="off"; }
                    p.faint { "Or, with the torch jogged over the kerf's end, what the control shows:" }
                    div.row {
                        label { span { "X" } input name="kerf_x" inputmode="decimal" autocomplete="off"; }
                        label { span { "Y" } input name="kerf_y" inputmode="decimal" autocomplete="off"; }
                        button.main { "Go on" }
                    }
                }))
                (self.answer(About::Kerf, "skip", "yes", "I do not know yet", ""))
            },
        )
    }

    fn fault(&self) -> Html<String> {
        let shop = self.opened.read.inputs.shop.as_ref();
        let faults =
            shop.and_then(|shop| shop.source.as_ref()).map(|source| &source.faults[..]).unwrap_or_default();
        screen(
            "Does the source show a fault?",
            Some(&self.ask(About::Where)),
            &html! {
                h1 { "Does the source show a fault?" }
                div.choices.two {
                    (self.answer(About::Fault, "skip", "yes", "None", "main"))
                    @for fault in faults { (self.answer(About::Fault, "fault", &fault.code, &fault.code, "main")) }
                }
                (self.form(About::Fault, &html! {
                    div.row {
                        label { span { "Another code" } input name="fault" autocomplete="off"; }
                        button { "Go on" }
                    }
                }))
            },
        )
    }

    fn moved(&self) -> Html<String> {
        screen(
            "Did anything move?",
            Some(&self.ask(About::Where)),
            &html! {
                h1 { "Did the plate move, or anything on it?" }
                div.choices {
                    (self.answer(About::Moved, "moved", "no", "No, all lies as it was", "main"))
                    (self.answer(About::Moved, "moved", "yes", "Yes, or I am not sure", "main"))
                }
            },
        )
    }

    fn thickness(&self) -> Html<String> {
        screen(
            "How thick is the plate?",
            Some(&self.ask(About::Moved)),
            &html! {
                h1 { "How thick is the plate?" }
                (self.form(About::Thickness, &html! {
                    label { span { "Thickness" } input name="thickness" placeholder="10 mm" autocomplete="off" required; }
                    button.main { "Go on" }
                }))
            },
        )
    }
}

/// A sentence's beginning.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// An answer.
pub(crate) async fn tell(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let (job, stop) = (of.record.id, of.stop.id);
        let (before, _) = StopReport::parse(&of.stop.report);
        let about: About = fields.get("about").unwrap_or_default().parse()?;
        let opened = of.job().open()?;
        let unit = opened.unit();
        if about == About::Thickness {
            return thickness(of.app, of.record, stop, &fields, unit);
        }
        let mut told = before.clone();
        if fields.get("skip").is_none() {
            take(&mut told, about, &fields, unit)?;
        }
        if let Some((what, remedy)) = told.at_odds() {
            return Err(Problem::unfit(format!("{}.", sentence(&what)), format!("{}.", sentence(&remedy))));
        }
        if told != before {
            let entry = StopReported { stop, report: report::text(&told) };
            of.keep(fields.entry()?, Entry::StopReported(entry), &[])?;
        }
        Ok(go_on(job, stop, about.next(&told, &opened)))
    })
    .await
}

fn go_on(job: Id, stop: Id, next: Option<About>) -> Response {
    let path = format!("/jobs/{job}/stops/{stop}");
    let to = next.map_or(path.clone(), |next| format!("{path}/ask?about={}", next.word()));
    Redirect::to(&to).into_response()
}

fn thickness(
    app: &App,
    record: &JobRecord,
    stop: Id,
    fields: &Fields,
    unit: &str,
) -> Result<Response, Problem> {
    let (job, _) = shop::Job::parse(&record.facts);
    let with =
        job.material.map(|material| format!("&material={}", report::word(material))).unwrap_or_default();
    let thickness = fields.get("thickness").unwrap_or_default();
    let only = Fields::of(&format!("thickness={}{with}", crate::fields::escaped(thickness)));
    let told = Told::of(&only, unit, "");
    if let Some((_, what)) = told.mistakes.first() {
        return Err(Problem::unfit(
            format!("{}.", sentence(what)),
            "Go back and write it as 10 mm or 3/8 in.",
        ));
    }
    let facts = format!("{}{}", told.facts, crate::facts::without(&record.facts, &["thickness", "material"]));
    app.keep(fields.entry()?, record.id, Entry::FactsTold(FactsTold { facts }), &[])?;
    Ok(go_on(record.id, stop, None))
}

/// Takes an answer into the report.
fn take(told: &mut StopReport, about: About, fields: &Fields, unit: &str) -> Result<(), Problem> {
    let length = |name: &str| {
        let read = |text: &str| {
            with_unit(text, unit).parse::<Length>().map_err(|why| {
                Problem::unfit(
                    format!("{}.", sentence(&why.to_string())),
                    "Go back and write it as 120 mm or 4 3/4 in.",
                )
            })
        };
        fields.get(name).map(read).transpose()
    };
    match about {
        About::Kind => {
            let word = fields.get("kind").unwrap_or_default();
            told.kind = Some(shop::from_word(word).ok_or_else(Problem::malformed)?);
        }
        About::Where => {
            let cut = fields.get("cut").and_then(|cut| cut.parse().ok()).filter(|cut| *cut > 0);
            told.cut = Some(cut.ok_or_else(|| {
                Problem::unfit(
                    "That is no number of a cut.",
                    "Go back and tap the cut, or write its number on the picture.",
                )
            })?);
        }
        About::Kerf => {
            (told.kerf_to, told.kerf_at) = match (length("kerf_to")?, length("kerf_x")?, length("kerf_y")?) {
                (along, None, None) => (along, None),
                (_, Some(x), Some(y)) => (None, Some([x, y])),
                _ => {
                    return Err(Problem::unfit(
                        "Only one of X and Y was told.",
                        "Go back and tell both, or the length along the cut.",
                    ));
                }
            };
        }
        About::Fault => told.fault = fields.get("fault").map(str::to_owned),
        About::Moved => told.moved = Some(fields.get("moved") == Some("yes")),
        About::Thickness => {}
    }
    Ok(())
}
