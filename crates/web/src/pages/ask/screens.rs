//! The questions that come in turn, and those about what was told.

use super::Stop;
use super::about::{About, cut_noted, kerf_is_of, taken_by_place, went_wrong_earlier};
use super::take::{NO_FAULT, STRAY_PLACES};
use crate::pages::frame::screen;
use crate::pages::known::example;
use crate::pages::plate_view::Tap;
use crate::report::{self, sentence};
use axum::response::Html;
use maud::{Markup, html};
use shop::StopKind;
use units::Length;

/// Kinds of stop under a few heads, so that a screen shows all without scrolling.
const HEADS: [(&str, &str, &[StopKind]); 5] = [
    ("no-arc", "The arc did not come", &[StopKind::NoTransfer]),
    ("out", "The arc went out", &[StopKind::ArcLost]),
    (
        "bad",
        "The arc burned badly",
        &[StopKind::NotThrough, StopKind::BadCut, StopKind::NoMotion, StopKind::RanDry, StopKind::ArcStaysOn],
    ),
    (
        "halted",
        "Stopped by hand, struck, or froze",
        &[StopKind::ByHand, StopKind::Struck, StopKind::ControlFroze],
    ),
    ("moved", "The plate moved, or lies wrong", &[StopKind::PlateMoved, StopKind::WrongDatum]),
];

/// Cuts offered as that since which it went wrong, before the stopped one.
const SINCE: u32 = 5;

impl Stop<'_> {
    pub(super) fn kind(&self) -> Html<String> {
        let under = HEADS.iter().find(|(word, ..)| *word == self.asked.head);
        let back = under.map_or_else(|| self.back(About::Kind), |_| self.ask(About::Kind));
        let is_told = |kinds: &[StopKind]| self.told.kind.is_some_and(|told| kinds.contains(&told));
        let one = |kind: StopKind, label: &str| {
            self.choice(About::Kind, ("kind", report::word(kind)), label, is_told(&[kind]))
        };
        screen(
            "What happened?",
            Some(&back),
            &html! {
                h1 { "What happened?" }
                div.choices {
                    @match under {
                        Some((_, _, kinds)) => @for kind in *kinds { (one(*kind, &sentence(report::meaning(*kind)))) },
                        None => @for (word, label, kinds) in HEADS {
                            @if let [only] = kinds {
                                (one(*only, label))
                            } @else {
                                a.button.main href={ (self.ask(About::Kind)) "&head=" (word) } {
                                    (label) @if is_told(kinds) { small { "as told" } }
                                }
                            }
                        },
                    }
                }
            },
        )
    }

    pub(super) fn place(&self) -> Html<String> {
        let noted = self.told.line.is_some() || self.told.at.is_some();
        let by_place = cut_noted(&self.told, self.opened).filter(|_| self.told.cut.is_none());
        let shown = self.told.cut.or(by_place);
        screen(
            "Where did it stop?",
            Some(&self.back(About::Where)),
            &html! {
                h1 { @if let Some(cut) = by_place { "Was it cut " (cut) ", as X and Y say?" } @else { "At which cut did it stop?" } }
                (self.view(Tap::Cut(shown), "The plate: tap the cut at which it stopped"))
                (self.form(About::Where, &html! {
                    div.row {
                        label { span { "Cut" } input name="cut" data-takes="cut" inputmode="numeric" value=[shown] autocomplete="off"; }
                        button.main { "This one" }
                    }
                }))
                @if noted {
                    (self.answer(About::Where, ("skip", "yes"), "I do not know", ""))
                }
            },
        )
    }

    pub(super) fn since(&self) -> Html<String> {
        let stopped = self.told.cut.unwrap_or(1);
        let question = match self.told.kind {
            Some(StopKind::RanDry) => "In which cut did the arc go out?",
            Some(StopKind::NotThrough) => "Since which cut is it not through?",
            _ => "Since which cut is it bad?",
        };
        screen(
            "Since which cut?",
            Some(&self.back(About::Since)),
            &html! {
                h1 { (question) }
                div.choices.three {
                    (self.choice(About::Since, ("from_cut", &stopped.to_string()), &format!("Only cut {stopped}"), self.told.from_cut == Some(stopped)))
                    @for cut in (stopped.saturating_sub(SINCE).max(1)..stopped).rev() {
                        (self.choice(About::Since, ("from_cut", &cut.to_string()), &format!("Cut {cut}"), self.told.from_cut == Some(cut)))
                    }
                }
                (self.low_view(Tap::Cut(self.told.from_cut), "The plate: tap the cut since which it went wrong"))
                (self.form(About::Since, &html! {
                    div.row {
                        label { span { "Another cut" } input name="from_cut" data-takes="cut" inputmode="numeric" autocomplete="off"; }
                        button { "This one" }
                    }
                }))
            },
        )
    }

    pub(super) fn kerf(&self) -> Html<String> {
        let noted = taken_by_place(&self.told, self.opened);
        let of = kerf_is_of(&self.told).or(noted);
        let by_place =
            self.asked.how == "place" || (self.asked.how.is_empty() && self.told.kerf_at.is_some());
        let other = if by_place { "along" } else { "place" };
        let within = html! {
            label {
                span { "Off by at most" }
                input name="kerf_within" inputmode="decimal" placeholder=[self.shown(Some(Length::from_mm(3.0)))] value=[self.shown(self.told.kerf_within)] autocomplete="off";
            }
        };
        let may_be_dry =
            of.is_some() && !matches!(self.told.kind, Some(StopKind::ArcLost | StopKind::NotThrough));
        // Whoever answers for the cut that is shown has told that it is this one.
        let taken = html! { @if let Some(cut) = noted { input type="hidden" name="cut" value=(cut); } };
        let is_three = may_be_dry != noted.is_some();
        screen(
            "How far is it through?",
            Some(&self.back(About::Kerf)),
            &html! {
                h1 { "How far is " @if let Some(cut) = of { "cut " (cut) } @else { "the kerf" } " through?" }
                @if by_place {
                    p { "Jog the torch over the kerf's end. What does the control show?" }
                    (self.form(About::Kerf, &html! {
                        (taken)
                        div.row {
                            (self.coordinate("kerf_x", "X", self.told.kerf_at.map(|[x, _]| x)))
                            (self.coordinate("kerf_y", "Y", self.told.kerf_at.map(|[_, y]| y)))
                        }
                        div.row { (within) (self.unit()) button.main { "Go on" } }
                    }))
                } @else {
                    (self.low_view(Tap::Along(of), "The plate: tap where the kerf ends"))
                    (self.form(About::Kerf, &html! {
                        (taken)
                        div.row {
                            label {
                                span { "From the pierce" }
                                input name="kerf_to" data-takes="along" inputmode="decimal" value=[self.shown(self.told.kerf_to)] autocomplete="off";
                            }
                            (within)
                            (self.unit())
                            button.main { "Go on" }
                        }
                    }))
                }
                div.choices.two[!is_three].three[is_three] {
                    a.button href={ (self.ask(About::Kerf)) "&how=" (other) } {
                        @if by_place { "Tap it" } @else { "Jog there" }
                    }
                    (self.answer(About::Kerf, ("skip", "yes"), "Not known yet", ""))
                    @if may_be_dry {
                        (self.form(About::Kerf, &html! {
                            (taken)
                            button name="none" value="yes" { "Nothing of it is cut" }
                        }))
                    }
                    @if noted.is_some() {
                        a.button href=(self.ask(About::Where)) { "Another cut" }
                    }
                }
            },
        )
    }

    /// A coordinate as the control shows it.
    fn coordinate(&self, name: &str, label: &str, told: Option<Length>) -> Markup {
        html! {
            label { span { (label) } input name=(name) inputmode="decimal" value=[self.shown(told)] autocomplete="off"; }
        }
    }

    pub(super) fn reached(&self) -> Html<String> {
        screen(
            "How far did the torch get?",
            Some(&self.back(About::Reached)),
            &html! {
                h1 { "How far along " @if let Some(cut) = self.told.cut { "cut " (cut) } @else { "the cut" } " did the torch get?" }
                (self.low_view(Tap::Along(self.told.cut), "The plate: tap where the torch stopped"))
                (self.form(About::Reached, &html! {
                    div.row {
                        label {
                            span { "From the pierce" }
                            input name="stopped_along" data-takes="along" inputmode="decimal" value=[self.shown(self.told.stopped_along)] autocomplete="off";
                        }
                        (self.unit())
                        button.main { "Go on" }
                    }
                }))
                (self.answer(About::Reached, ("skip", "yes"), "Not known yet", ""))
            },
        )
    }

    pub(super) fn good(&self) -> Html<String> {
        let of = kerf_is_of(&self.told);
        screen(
            "How far is it good?",
            Some(&self.back(About::Good)),
            &html! {
                h1 { "How far is " @if let Some(cut) = of { "cut " (cut) } @else { "the cut" } " good?" }
                (self.low_view(Tap::Along(of), "The plate: tap where it begins to be bad"))
                (self.form(About::Good, &html! {
                    div.row {
                        label {
                            span { "Good from the pierce to" }
                            input name="bad_from" data-takes="along" inputmode="decimal" value=[self.shown(self.told.bad_from)] autocomplete="off";
                        }
                        (self.unit())
                        button.main { "Go on" }
                    }
                }))
                (self.answer(About::Good, ("skip", "yes"), "It is bad from its pierce on", ""))
            },
        )
    }

    /// Holes and kerfs beside the cuts: those told, and one more.
    pub(super) fn strays(&self) -> Html<String> {
        let at = |stray: &shop::StrayTold| {
            let [x, y] = stray.places.first().copied().unwrap_or_default();
            desk::figures::place(x, y, self.system())
        };
        screen(
            "Cut beside the cuts",
            Some(&self.back(About::Strays)),
            &html! {
                h1 { "A hole or kerf beside the cuts?" }
                p.faint { "Put the torch over its two ends; over a hole's middle. The control shows:" }
                (self.form(About::Strays, &html! {
                    @for k in 1..=STRAY_PLACES {
                        div.row.tight {
                            @for axis in ["X", "Y"] {
                                input name={ (axis.to_lowercase()) (k) } inputmode="decimal" autocomplete="off" placeholder=(axis)
                                    aria-label={ (axis) " of place " (k) };
                            }
                        }
                    }
                    div.row {
                        label { span { "Wide" } input name="wide" inputmode="decimal" autocomplete="off"; }
                        label { span { "Off by at most" } input name="within" inputmode="decimal" placeholder=[self.shown(Some(Length::from_mm(1.0)))] autocomplete="off"; }
                    }
                    div.row { (self.unit()) button.main { "Add it" } }
                }))
                div.choices.two {
                    @for (nth, stray) in self.told.strays.iter().enumerate().rev().take(1) {
                        (self.answer(About::Strays, ("forget", &nth.to_string()), &format!("Forget that at {}", at(stray)), ""))
                    }
                    a.button href=(self.of.path()) { "No more: go on" }
                }
            },
        )
    }

    pub(super) fn blown(&self) -> Html<String> {
        screen(
            "How wide is the hole?",
            Some(&self.back(About::Blown)),
            &html! {
                h1 { "How wide is the hole that the arc blew?" }
                p { "Across it at its widest, once the source is isolated." }
                (self.form(About::Blown, &html! {
                    div.row {
                        label { span { "Across" } input name="blown" inputmode="decimal" value=[self.shown(self.told.blown)] autocomplete="off"; }
                        label {
                            span { "Its radius is off by at most" }
                            input name="kerf_within" inputmode="decimal" placeholder=[self.shown(Some(Length::from_mm(0.5)))]
                                value=[self.shown(self.told.kerf_within)] autocomplete="off";
                        }
                        (self.unit())
                        button.main { "Go on" }
                    }
                }))
                (self.answer(About::Blown, ("skip", "yes"), "I have not measured it yet", ""))
            },
        )
    }

    pub(super) fn fault(&self) -> Html<String> {
        let shop = self.opened.read.inputs.shop.as_ref();
        let faults =
            shop.and_then(|shop| shop.source.as_ref()).map(|source| &source.faults[..]).unwrap_or_default();
        let told = self.told.fault.as_deref();
        screen(
            "A fault on the source?",
            Some(&self.back(About::Fault)),
            &html! {
                h1 { "A fault on the source?" }
                div.choices.two {
                    (self.choice(About::Fault, (if faults.is_empty() { "skip" } else { "none" }, "yes"), "None", self.told.seen.iter().any(|word| word == NO_FAULT)))
                    @for fault in faults { (self.choice(About::Fault, ("fault", &fault.code), &fault.code, told == Some(&fault.code))) }
                }
                (self.form(About::Fault, &html! {
                    div.row {
                        label {
                            span { "Another code" }
                            input name="fault" autocomplete="off" value=[told.filter(|told| faults.iter().all(|fault| fault.code != *told))];
                        }
                        button { "Go on" }
                    }
                }))
            },
        )
    }

    pub(super) fn moved(&self) -> Html<String> {
        let answer = |value: &str, label: &str, is_told: bool| {
            self.choice(About::Moved, ("moved", value), label, is_told)
        };
        let moved = self.told.moved;
        screen(
            "Did anything move?",
            Some(&self.back(About::Moved)),
            &html! {
                h1 { "Did anything move?" }
                div.choices {
                    (answer("no", "Nothing", moved == Some(false) && self.told.pieces.is_empty()))
                    (answer("piece", "A piece stands up, or is gone", moved == Some(false) && !self.told.pieces.is_empty()))
                    (answer("yes", "The plate, or I am not sure", moved == Some(true)))
                    @if self.told.kind == Some(StopKind::ControlFroze) {
                        (answer("yes", "The control has lost its place", false))
                    }
                }
            },
        )
    }

    pub(super) fn thickness(&self) -> Html<String> {
        screen(
            "How thick is the plate?",
            Some(&self.back(About::Thickness)),
            &html! {
                h1 { "How thick is the plate?" }
                p.faint { "What is safe depends on it." }
                (self.form(About::Thickness, &html! {
                    div.row {
                        label { span { "Thickness" } input name="thickness" placeholder=(example("thickness", self.system())) autocomplete="off" required; }
                        (self.unit())
                        button.main { "Go on" }
                    }
                }))
            },
        )
    }

    pub(super) fn noted(&self) -> Html<String> {
        let told = &self.told;
        screen(
            "What was written down",
            Some(&self.back(About::Noted)),
            &html! {
                h1 { "What did the control show?" }
                (self.form(About::Noted, &html! {
                    div.row {
                        label { span { "Line" } input name="line" inputmode="numeric" value=[told.line] autocomplete="off"; }
                        label { span { "Minutes since the start" } input name="time" inputmode="decimal" value=[told.time.map(|time| time.to_string())] autocomplete="off"; }
                    }
                    div.row {
                        (self.coordinate("x", "X", told.at.map(|[x, _]| x)))
                        (self.coordinate("y", "Y", told.at.map(|[_, y]| y)))
                    }
                    div.row {
                        label { span { "Torch, from the pierce" } input name="stopped_along" inputmode="decimal" value=[self.shown(told.stopped_along)] autocomplete="off"; }
                        (self.unit())
                        button.main { "Keep this" }
                    }
                    p.faint { "Any of it may stay empty. Where it does not fit together, the answer says which was taken." }
                }))
            },
        )
    }

    /// What was told and cannot be so together: which of it is so?
    pub(super) fn odds(&self) -> Html<String> {
        let odd = self.told.at_odds();
        let past_stop = matches!((self.told.stopped_along, self.told.kerf_to), (Some(stopped), Some(kerf)) if kerf > stopped);
        screen(
            "That does not fit together",
            Some(&self.back(About::Odds)),
            &html! {
                h1 { "That does not fit together" }
                @match odd {
                    None => {
                        p { "It does now." }
                        a.button.main href=(self.of.path()) { "Go on" }
                    },
                    Some((what, _)) => {
                        p { (sentence(&what)) "." }
                        p { strong { "What is so?" } }
                        div.choices {
                            @if past_stop {
                                (self.answer(About::Odds, ("so", "no-reach"), "The kerf: forget how far the torch got", "main"))
                                (self.answer(About::Odds, ("so", "no-kerf"), "The torch: forget how far the kerf is through", "main"))
                            } @else {
                                (self.answer(About::Odds, ("so", "cut"), "It was cutting, and the arc went out", "main"))
                                (self.answer(About::Odds, ("so", "no-kerf"), "The arc did not come: forget the kerf", "main"))
                            }
                        }
                    },
                }
                @if went_wrong_earlier(self.told.kind) { p.faint { "All lengths count from the pierce along the cut." } }
            },
        )
    }
}
