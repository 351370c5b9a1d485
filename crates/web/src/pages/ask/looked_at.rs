//! How the cuts around the stop and the pieces cut so far are: as they are taken to be, and each to be told otherwise.

use super::Stop;
use super::about::About;
use crate::pages::frame::screen;
use crate::pages::plate_view::Tap;
use crate::planned::Planned;
use crate::problem::Problem;
use crate::report::{self, sentence};
use axum::response::Html;
use cuts::Lies;
use desk::{CutLook, PieceLook, Rescued, Stands};
use maud::{Markup, html};
use shop::{CutIs, PieceIs, Worded};
use units::Length;

/// Pieces listed: as many as a phone shows without scrolling.
const PIECES: usize = 6;

impl Stop<'_> {
    pub(super) fn cuts(&self) -> Html<String> {
        let around = |rescued: &Rescued, planned: &Planned| {
            rescued.cuts_around(&planned.read().reading, &planned.stop)
        };
        let looks = self
            .planned
            .and_then(|planned| Some(around(planned.outcome.as_ref().ok()?, planned)))
            .unwrap_or_default();
        screen(
            "How the cuts are",
            Some(&self.back(About::Cuts)),
            &html! {
                h1 { "Is every cut as it is taken to be?" }
                div.choices.three {
                    @for look in &looks {
                        a.button.look href={ (self.ask(About::Cut)) "&of=" (look.cut) } {
                            "Cut " (look.cut) small { (self.how(look)) @if look.is_told { ", as told" } }
                        }
                    }
                }
                (self.picked(About::Cut, "The plate: tap a cut that is not as it is taken to be"))
                a.button.main href=(self.of.path()) { "All others are so: go on" }
            },
        )
    }

    fn how(&self, look: &CutLook) -> String {
        match look.stands {
            Stands::Dry => "not cut".to_owned(),
            Stands::Whole => "whole".to_owned(),
            Stands::Groove => "a groove".to_owned(),
            Stands::Unknown => "not known".to_owned(),
            Stands::Partial(to) => format!("to {}", to.show(self.system())),
        }
    }

    /// The picture, to tap another cut, and the field for its number.
    fn picked(&self, about: About, label: &str) -> Markup {
        html! {
            (self.low_view(Tap::Cut(None), label))
            form action={ (self.of.path()) "/ask" } {
                input type="hidden" name="about" value=(about.word());
                div.row {
                    label { span { "Another cut" } input name="of" data-takes="cut" inputmode="numeric" autocomplete="off" required; }
                    button { "This one" }
                }
            }
        }
    }

    /// The cut that is spoken of.
    fn spoken_of(&self) -> Result<u32, Problem> {
        let most = self.opened.read.reading.list.cuts.len();
        let cut = self.asked.of.trim().parse().ok().filter(|cut| (1..=most).contains(&(*cut as usize)));
        cut.ok_or_else(|| {
            Problem::unfit(
                format!("There is no cut {:?}.", self.asked.of),
                format!("Go back: cuts are numbered from 1 to {most}, as on the picture."),
            )
        })
    }

    pub(super) fn cut(&self) -> Result<Html<String>, Problem> {
        let cut = self.spoken_of()?;
        let told = self.told.state.iter().find(|state| state.cut == cut);
        let here = format!("{}&of={cut}", self.ask(About::Cut));
        let is: Option<CutIs> = shop::from_word(&self.asked.state);
        let Some(is) = is.filter(|is| matches!(is, CutIs::Partial | CutIs::Groove)) else {
            let one = |is: CutIs| {
                let label = sentence(report::meaning(is));
                let marked =
                    html! { (label) @if told.is_some_and(|told| told.is == is) { small { "as told" } } };
                match is {
                    CutIs::Dry | CutIs::Whole => self.form(
                        About::Cut,
                        &html! {
                            input type="hidden" name="of" value=(cut);
                            button.main name="is" value=(report::word(is)) { (marked) }
                        },
                    ),
                    CutIs::Partial | CutIs::Groove => html! {
                        a.button.main href={ (here) "&is=" (report::word(is)) } { (marked) }
                    },
                }
            };
            return Ok(screen(
                "How is this cut?",
                Some(&self.back(About::Cut)),
                &html! {
                    h1 { "How is cut " (cut) "?" }
                    div.choices {
                        @for (_, is, _) in CutIs::WORDS { (one(*is)) }
                        @if told.is_some() { (self.forget(About::Cut, cut)) }
                    }
                },
            ));
        };
        let field = |name: &str, label: &str, value| {
            html! {
                label {
                    span { (label) }
                    input name=(name) data-takes="along" inputmode="decimal" value=[value] autocomplete="off";
                }
            }
        };
        let of = told.filter(|told| told.is == is);
        Ok(screen(
            "How far is this cut?",
            Some(&here),
            &html! {
                h1 { @if is == CutIs::Partial { "How far is cut " (cut) " through?" } @else { "Where is cut " (cut) " only a groove?" } }
                (self.low_view(Tap::Along(Some(cut)), "The plate: tap along the cut"))
                (self.form(About::Cut, &html! {
                    input type="hidden" name="of" value=(cut);
                    input type="hidden" name="is" value=(report::word(is));
                    div.row {
                        @if is == CutIs::Groove { (field("from", "Begins", of.and_then(|of| self.shown(of.from)))) }
                        (field("kerf_to", if is == CutIs::Groove { "Ends" } else { "From the pierce" }, of.and_then(|of| self.shown(of.kerf_to))))
                    }
                    div.row {
                        label {
                            span { "Off by at most" }
                            input name="within" inputmode="decimal" placeholder=[self.shown(Some(Length::from_mm(3.0)))] value=[of.and_then(|of| self.shown(of.within))] autocomplete="off";
                        }
                        (self.unit())
                        button.main { "Keep this" }
                    }
                    @if is == CutIs::Groove { p.faint { "Empty: from the pierce on, to the end of the cut." } }
                }))
            },
        ))
    }

    fn forget(&self, about: About, cut: u32) -> Markup {
        self.form(
            about,
            &html! {
                input type="hidden" name="of" value=(cut);
                button name="is" value="forget" { "Forget what I told of it" }
            },
        )
    }

    pub(super) fn pieces(&self) -> Html<String> {
        let loose =
            |rescued: &Rescued, planned: &Planned| rescued.loose_pieces(&planned.read().reading, PIECES);
        let pieces = self
            .planned
            .and_then(|planned| Some(loose(planned.outcome.as_ref().ok()?, planned)))
            .unwrap_or_default();
        screen(
            "How the pieces lie",
            Some(&self.back(About::Pieces)),
            &html! {
                h1 { "Which piece does not lie flat?" }
                div.choices.three {
                    @for piece in &pieces {
                        a.button.look href={ (self.ask(About::Piece)) "&of=" (piece.cut) } {
                            (name_of(piece)) small { (lies(piece.lies)) }
                        }
                    }
                }
                (self.picked(About::Piece, "The plate: tap the outline of a piece"))
                a.button.main href=(self.of.path()) { "All others lie flat: go on" }
            },
        )
    }

    pub(super) fn piece(&self) -> Result<Html<String>, Problem> {
        let cut = self.spoken_of()?;
        let told = self.told.pieces.iter().find(|(other, _)| *other == cut).map(|(_, is)| *is);
        Ok(screen(
            "How does it lie?",
            Some(&self.back(About::Piece)),
            &html! {
                h1 { "What cut " (cut) " frees: how does it lie?" }
                div.choices {
                    @for (word, is, meaning) in PieceIs::WORDS {
                        (self.form(About::Piece, &html! {
                            input type="hidden" name="of" value=(cut);
                            button.main name="is" value=(word) { (sentence(meaning)) @if told == Some(*is) { small { "as told" } } }
                        }))
                    }
                    @if told.is_some() { (self.forget(About::Piece, cut)) }
                }
            },
        ))
    }
}

fn name_of(piece: &PieceLook) -> String {
    match piece.part {
        Some(part) => format!("Part {part}"),
        None => format!("Slug of cut {}", piece.cut),
    }
}

fn lies(lies: Option<Lies>) -> &'static str {
    match lies {
        None => "taken to lie flat",
        Some(Lies::Flat) => "lies flat",
        Some(Lies::Fell) => "fell",
        Some(Lies::Standing) => "stands up",
        Some(Lies::Removed) => "taken away",
    }
}
