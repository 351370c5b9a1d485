//! The page of a rule: what `explain` prints, as a page.

use super::frame::{Frame, Place};
use crate::address::Named;
use crate::app::App;
use crate::guard::Visit;
use crate::problem::Problem;
use axum::extract::{Extension, State};
use axum::response::Html;
use maud::{Markup, html};
use std::sync::Arc;

/// The page.
pub(crate) async fn show(
    State(app): State<Arc<App>>,
    Extension(visit): Extension<Visit>,
    Named(rule): Named,
) -> Result<Html<String>, Problem> {
    let text = checks::explain(&rule).ok_or_else(Problem::no_such_page)?;
    let frame = Frame { title: &rule, place: Place::Elsewhere, job: None, visit: Some((&app, visit)) };
    Ok(frame.page(&html! { article.rule { @for part in parts(&text) { (part.markup()) } } }))
}

/// A part of a rule's page.
#[derive(Debug, PartialEq, Eq)]
enum Part<'t> {
    Title(&'t str),
    Head(&'t str),
    Paragraph(Vec<&'t str>),
    Points(Vec<Vec<&'t str>>),
    /// Lines of a program.
    Lines(Vec<&'t str>),
}

/// The parts of a text as rules have theirs: heads after `#`, points after `-`, programs between fences, paragraphs.
fn parts(text: &str) -> Vec<Part<'_>> {
    let mut parts = Vec::new();
    let mut in_program = false;
    let mut is_open = false;
    for line in text.lines() {
        if line.starts_with("```") {
            in_program = !in_program;
            is_open = false;
            if in_program {
                parts.push(Part::Lines(Vec::new()));
            }
            continue;
        }
        match (parts.last_mut(), line.trim()) {
            (Some(Part::Lines(lines)), _) if in_program => lines.push(line),
            (_, "") => is_open = false,
            (_, head) if head.starts_with('#') => {
                is_open = false;
                let name = head.trim_start_matches('#').trim();
                parts.push(if head.starts_with("##") { Part::Head(name) } else { Part::Title(name) });
            }
            (Some(Part::Points(points)), point) if is_open && point.starts_with("- ") => {
                points.push(vec![&point[2..]]);
            }
            (_, point) if point.starts_with("- ") => {
                is_open = true;
                parts.push(Part::Points(vec![vec![&point[2..]]]));
            }
            (Some(Part::Points(points)), more) if is_open => {
                points.last_mut().into_iter().for_each(|point| point.push(more));
            }
            (Some(Part::Paragraph(lines)), more) if is_open => lines.push(more),
            (_, more) => {
                is_open = true;
                parts.push(Part::Paragraph(vec![more]));
            }
        }
    }
    parts
}

impl Part<'_> {
    fn markup(&self) -> Markup {
        match self {
            Self::Title(name) => html! { h1 { (name) } },
            Self::Head(name) => html! { h2 { (name) } },
            Self::Paragraph(lines) => html! { p { (words(&lines.join(" "))) } },
            Self::Points(points) => {
                html! { ul { @for point in points { li { (words(&point.join(" "))) } } } }
            }
            Self::Lines(lines) => html! { pre { @for line in lines { (line) "\n" } } },
        }
    }
}

/// A text in which what stands between backticks is a word of a program or a file.
fn words(text: &str) -> Markup {
    html! {
        @for (k, piece) in text.split('`').enumerate() {
            @if k % 2 == 1 { code { (piece) } } @else { (piece) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Part, parts, words};

    #[test]
    fn a_rules_text_is_read_part_by_part() {
        let text = "# a-rule\n\n## What it checks\nOne line\nand more.\n\nAnother.\n- a point\n  goes on\n- the next\n\n## Example\n```nc\nG0 X1\n\n# M3\n```\nAfter.\n";
        let expected = [
            Part::Title("a-rule"),
            Part::Head("What it checks"),
            Part::Paragraph(vec!["One line", "and more."]),
            Part::Paragraph(vec!["Another."]),
            Part::Points(vec![vec!["a point", "goes on"], vec!["the next"]]),
            Part::Head("Example"),
            Part::Lines(vec!["G0 X1", "", "# M3"]),
            Part::Paragraph(vec!["After."]),
        ];
        assert_eq!(parts(text), expected);
        assert_eq!(words("put `M5 <` first").into_string(), "put <code>M5 &lt;</code> first");
    }

    /// Every rule's page reads on the screen as a page: no mark of its text is left over, and no flag is named that nobody can
    /// type here.
    #[test]
    fn every_rules_page_is_a_page() {
        for name in checks::names() {
            let text = checks::explain(name).unwrap();
            let said: Vec<String> = parts(&text).iter().map(|part| part.markup().into_string()).collect();
            let said = said.concat();
            assert!(said.starts_with(&format!("<h1>{name}</h1>")), "{name}: {said}");
            let prose = said.split("<pre>").map(|piece| piece.split("</pre>").last().unwrap_or_default());
            for prose in prose {
                for mark in ["##", "`", "--"] {
                    assert!(!prose.contains(mark), "{name}: {mark} in {prose}");
                }
            }
        }
    }
}
