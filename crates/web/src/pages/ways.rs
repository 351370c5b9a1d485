//! Ways to go on after a stop: each with its picture, price, risks and the proof's worst cases; and where one more fact would
//! make more provable, that fact as a question to answer right there.

use super::answer::{LISTED, Page};
use crate::report::{self, sentence};
use cuts::PartId;
use desk::figures::{counted, place, runs};
use maud::{Markup, html};
use rescue::{Choice, Fact, RescuePlan, Wanted};
use shop::{PieceIs, StopReport, Worded};
use units::{Duration, Length};

impl Page<'_> {
    pub(super) fn ways(&self, plan: &RescuePlan) -> Markup {
        html! {
            h2 { "How to go on" }
            @if plan.choices.is_empty() {
                div.card {
                    p.verdict { strong { @if plan.all_is_made { "No restart program is needed." } @else { "No restart program can be proven." } } }
                    p { (plan.none_because.as_deref().unwrap_or("Nothing is left to cut.")) }
                }
                (self.wanted(plan))
                @if !plan.by_hand.is_empty() {
                    div.card.unproven {
                        h3 { "By hand: unproven" }
                        p { "Nobody has proven this. What it spoils is not known before." }
                        ol { @for step in &plan.by_hand { li { (step.order) " " span.faint { (step.why) } } } }
                    }
                }
            }
            @for (k, choice) in plan.choices.iter().enumerate() { (self.way(choice, k == 0)) }
            @if !plan.choices.is_empty() { (self.wanted(plan)) }
            @if let Some(start) = &plan.start_at_line {
                details {
                    summary { "Or start the original at line " (start.line) }
                    p { "Proven too, for " (start.holds_for) "." }
                    @if !start.preconditions.is_empty() { ul { @for condition in &start.preconditions { li { (condition) } } } }
                }
            }
            @if !plan.refused.is_empty() && !plan.choices.is_empty() {
                details {
                    summary { "Ways that cannot be proven (" (plan.refused.len()) ")" }
                    ul { @for refused in &plan.refused { li { strong { (refused.name) } ": " (refused.why) } } }
                }
            }
            @if self.of.stop.chosen.is_some() {
                p { a.button href={ (self.path()) "/salvage" } { "Parts are lost: make them anew" } }
            }
        }
    }

    fn way(&self, choice: &Choice, first: bool) -> Markup {
        let system = self.system();
        let word = desk::kind_word(choice.kind);
        let taken = self.of.stop.chosen.as_ref().is_some_and(|chosen| chosen.way == word);
        let pose = self.planned.outcome.as_ref().ok().and_then(|rescued| rescued.plan.pose.as_ref());
        let at = pose.map_or(choice.restarts_at, |pose| pose.placement.point(choice.restarts_at));
        let at = place(Length::from_mm(at.x), Length::from_mm(at.y), system);
        let starts = counted(choice.starts as usize, "start", "starts");
        html! {
            details.card.way open[first || taken] {
                summary { strong { (choice.title) } @if taken { span.taken { "taken" } } }
                p { span.proven { "Proven" } " on its written text. It begins at " (at) "." }
                p { strong { "Price: " } (starts) " and " (Duration::from_s(choice.time_s)) " at the program's feeds." }
                (stake(choice))
                @if !choice.risks.is_empty() { ul { @for risk in &choice.risks { li { (risk) } } } }
                @if !choice.proof.preconditions.is_empty() {
                    p { strong { "Must be so before the start:" } }
                    ul { @for condition in &choice.proof.preconditions { li { (condition) } } }
                }
                @if !first {
                    img.chart src={ (self.path()) "/picture.svg?way=" (word) } loading="lazy"
                        alt={ "The plate, and where this way goes on: " (choice.title) };
                }
                (proof(choice))
                details {
                    summary { "Against the original: " (choice.diff.kept) " lines kept, " (choice.diff.left_out) " left out, " (choice.diff.added) " added" }
                    pre.diff tabindex="0" role="group" aria-label="Against the original, line by line" { (choice.diff.shown) }
                }
                @if taken { (self.files(word, choice)) } @else {
                    form method="post" action={ (self.path()) "/take" } {
                        (self.own_entry())
                        input type="hidden" name="way" value=(word);
                        button.main { "Take this way: write its program" }
                    }
                }
            }
        }
    }

    fn files(&self, word: &str, choice: &Choice) -> Markup {
        html! {
            p.files {
                a.button.main href={ (self.path()) "/ways/" (word) "/program" } { "Keep the restart program" }
                @if choice.trace.is_some() { a.button href={ (self.path()) "/ways/" (word) "/trace" } { "Keep the torch-off trace: run it first" } }
                a.button href={ (self.path()) "/steps" } { "Keep the steps, to print" }
                a.button href={ (self.path()) "/ways/" (word) "/changes" } { "Keep the differences" }
                a.button href={ (self.path()) "/ways/" (word) "/plate" } { "Keep the plate's state" }
            }
            p.faint { "If it stops again: the control at the top. The plate is then taken up from here." }
        }
    }

    /// The one fact that would make more provable, as a question.
    fn wanted(&self, plan: &RescuePlan) -> Markup {
        html! {
            @if let Some(wanted) = &plan.wanted {
                div.card.wanted #wanted {
                    p { strong { "One fact would make more provable:" } }
                    (self.question(wanted))
                }
            }
        }
    }

    fn question(&self, wanted: &Wanted) -> Markup {
        let told = &self.planned.stop;
        let ask = |about: &str| format!("{}/ask?about={about}&then=answer", self.path());
        match wanted.fact {
            Fact::KerfEnd(cut) if Some(cut.number()) == kerf_of(told, plan_cut(self)) => html! {
                p { "How far is cut " (cut.number()) " through? The less doubt, the more can be proven." }
                (self.length_form("kerf", &[("kerf_to", "From the pierce"), ("kerf_within", "Off by at most")], &[]))
                p { a.button href=(ask("kerf")) { "Tap it on the picture" } }
            },
            Fact::KerfEnd(cut) => html! {
                p { "How far is cut " (cut.number()) " through? The less doubt, the more can be proven." }
                (self.length_form(
                    "cut",
                    &[("kerf_to", "From the pierce"), ("within", "Off by at most")],
                    &[("of", &cut.number().to_string()), ("is", "partial")],
                ))
                p { a.button href={ (ask("cut")) "&of=" (cut.number()) "&is=partial" } { "Tap it on the picture" } }
            },
            Fact::Reached(cut) => html! {
                p { "How far along cut " (cut.number()) " did the torch get?" }
                (self.length_form("reached", &[("stopped_along", "From the pierce")], &[]))
                p { a.button href=(ask("reached")) { "Tap it on the picture" } }
            },
            Fact::Blown(cut) => html! {
                p { "How wide is the hole that was blown at cut " (cut.number()) "? Measure across it." }
                (self.length_form("blown", &[("blown", "Across"), ("kerf_within", "Its radius is off by at most")], &[]))
            },
            Fact::Piece(cut) => html! {
                p { "Is the piece that cut " (cut.number()) " frees loose? Look, and try it with a rod from the side." }
                (self.telling("piece", &[("of", &cut.number().to_string())], &html! {
                    div.choices.two {
                        @for (word, _, meaning) in PieceIs::WORDS { button name="is" value=(word) { (sentence(meaning)) } }
                    }
                }))
            },
            Fact::Seam(cut) => html! {
                p { "Is a nib left on the part at the seam of cut " (cut.number()) ", where its kerf should close? Look." }
                (self.telling("cut", &[("of", &cut.number().to_string())], &html! {
                    div.choices { button name="is" value="whole" { "No nib is left" } }
                }))
                p { "A nib is left: jog the torch to its end. How far is the cut through there?" }
                (self.length_form(
                    "cut",
                    &[("kerf_to", "From the pierce"), ("within", "Off by at most")],
                    &[("of", &cut.number().to_string()), ("is", "partial")],
                ))
                p { a.button href={ (ask("cut")) "&of=" (cut.number()) "&is=partial" } { "Tap it on the picture" } }
            },
            Fact::Place => html! {
                p { (wanted.says) }
                p { a.button.main href={ (self.path()) "/measure" } { "Measure a place" } }
            },
        }
    }

    /// A form that answers a question with lengths.
    fn length_form(&self, about: &str, fields: &[(&str, &str)], hidden: &[(&str, &str)]) -> Markup {
        self.telling(about, hidden, &html! {
            div.row {
                @for (k, (name, label)) in fields.iter().enumerate() {
                    label {
                        span { (label) }
                        input name=(name) inputmode="decimal" autocomplete="off" required[k == 0] placeholder=[(k > 0).then(|| Length::from_mm(3.0).show(self.system()))];
                    }
                }
                (super::ask::unit_choice(report::unit(self.system())))
                button.main { "Tell it" }
            }
        })
    }

    /// A form that tells something about the stop and leads back to the answer.
    fn telling(&self, about: &str, hidden: &[(&str, &str)], answers: &Markup) -> Markup {
        html! {
            form method="post" action={ (self.path()) "/tell" } {
                (self.own_entry())
                input type="hidden" name="about" value=(about);
                input type="hidden" name="then" value="answer";
                @for (name, value) in hidden { input type="hidden" name=(name) value=(value); }
                (answers)
            }
        }
    }
}

/// The cut of which the report tells how far its kerf goes.
fn kerf_of(told: &StopReport, stopped: Option<u32>) -> Option<u32> {
    super::ask::kerf_is_of(told).or(stopped)
}

/// The cut at which the stop was taken to be.
fn plan_cut(page: &Page<'_>) -> Option<u32> {
    page.planned.outcome.as_ref().ok().map(|rescued| rescued.plan.stop.cut.number())
}

/// What a way costs, where prices are told, and the parts that it gives up or may spoil.
pub(super) fn stake(choice: &Choice) -> Markup {
    let numbers = |parts: &[PartId]| {
        let mut numbers: Vec<u32> = parts.iter().map(|part| part.number()).collect();
        numbers.sort_unstable();
        runs(&numbers, LISTED)
    };
    html! {
        @if let Some(price) = &choice.price { p { (price.told()) } }
        @if !choice.given_up.is_empty() { p.callout { "It gives up part " (numbers(&choice.given_up)) "." } }
        @if !choice.parts_at_risk.is_empty() {
            p { strong { "At risk, if it does not go as it should: " } "part " (numbers(&choice.parts_at_risk)) "." }
        }
    }
}

/// Every figure of the proof beside its limit.
pub(super) fn proof(choice: &Choice) -> Markup {
    html! {
        details {
            summary { "The proof's worst cases, each beside its limit" }
            table {
                thead { tr { th { "What" } th { "Worst" } th { "Limit" } } }
                tbody {
                    @for figure in &choice.proof.figures {
                        tr { td { (figure.name) } td { (short(figure.worst)) " " (figure.unit) } td { (short(figure.limit)) " " (figure.unit) } }
                    }
                }
            }
            @if !choice.proof.unproven.is_empty() {
                p { "Could not be proven for want of a fact:" }
                ul { @for lack in &choice.proof.unproven { li { (lack) } } }
            }
        }
    }
}

fn short(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
