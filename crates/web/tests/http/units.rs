//! Metric and inch: what is shown, and in what bare numbers that are typed count, is as the visitor chose.

use crate::client::{Page, demo, run};
use crate::main_job::{dropped, stopped};
use axum::http::StatusCode;

/// A program written in inches.
const INCHES: &[u8] = b"G20 G90\nG0 X1 Y1\nM3\nG4 P0.5\nG1 X3 F60\nG1 Y3\nG1 X1\nG1 Y1\nM5\nM30\n";

#[test]
fn one_switch_changes_all_that_is_shown() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        std::fs::write(page.shop(), demo::SHOP).unwrap();
        let job = dropped(&mut client).await;
        let metric = client.page(&job).await.text();
        assert!(metric.contains("value=\"mm\" aria-pressed=\"true\""), "the program is metric: {metric}");
        assert!(metric.contains("1500 mm × 750 mm") && metric.contains("value=\"10 mm\""), "{metric}");
        client.reads_in("in").await;
        let inches = client.page(&job).await.text();
        assert!(inches.contains("value=\"in\" aria-pressed=\"true\""), "{inches}");
        assert!(inches.contains("59.055 in × 29.528 in"), "{inches}");
        // What was told even in millimetres stays what it is, so that keeping the form again changes nothing.
        assert!(inches.contains("value=\"10 mm\""), "{inches}");
        let said = visible(&inches);
        assert!(!said.contains(" mm ") && !said.contains(" mm.") && !said.contains(" mm,"), "{said}");
        let chart = client.page(&format!("{job}/time.svg")).await.text();
        assert!(chart.contains("psi") && !chart.contains(" bar<"), "{chart}");
        client.reads_in("mm").await;
        assert_eq!(visible(&client.page(&job).await.text()), visible(&metric));
    });
}

#[test]
fn the_switch_shows_what_is_in_force_where_no_job_is_open() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        for place in ["/", "/practice", "/shop"] {
            let text = client.page(place).await.text();
            assert!(text.contains("value=\"mm\" aria-pressed=\"true\""), "{place}: {text}");
            assert!(text.contains("value=\"in\" aria-pressed=\"false\""), "{place}: {text}");
        }
        client.reads_in("in").await;
        for place in ["/", "/practice", "/shop"] {
            let text = client.page(place).await.text();
            assert!(text.contains("value=\"in\" aria-pressed=\"true\""), "{place}: {text}");
        }
    });
}

/// What a page says, without tags, what stands in programs, and names that people gave.
fn visible(page: &str) -> String {
    let mut said = String::new();
    let mut kept: Option<&str> = None;
    for piece in page.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').unwrap_or((piece, ""));
        let name = tag.split(' ').next().unwrap();
        match kept {
            Some(open) if name.trim_start_matches('/') == open => kept = None,
            None if ["pre", "option", "title", "button"].contains(&name)
                || tag.contains("translate=\"no\"") =>
            {
                kept = Some(name);
            }
            _ => {}
        }
        if kept.is_none() {
            said.push_str(text);
        }
    }
    said
}

#[test]
fn a_program_in_inches_is_shown_in_inches_until_one_chooses() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job =
            client.drop("inches.nc", INCHES, &[("thickness", "1/4 in"), ("plate", "48x24 in")]).await.to();
        let text = client.page(&job).await.text();
        assert!(text.contains("value=\"in\" aria-pressed=\"true\""), "{text}");
        assert!(text.contains("value=\"0.25 in\"") && text.contains("value=\"48x24 in\""), "{text}");
        assert!(text.contains("48 in × 24 in"), "{text}");
        client.reads_in("mm").await;
        let text = client.page(&job).await.text();
        assert!(text.contains("1219.2 mm × 609.6 mm") && text.contains("value=\"6.35 mm\""), "{text}");
    });
}

/// Places and lengths of a plan are told in the unit chosen, whichever the program is written in.
#[test]
fn the_plan_for_a_program_in_inches_is_told_in_millimetres_to_whoever_chose_them() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job =
            client.drop("inches.nc", INCHES, &[("thickness", "1/4 in"), ("plate", "48x24 in")]).await.to();
        let answers: [&[(&str, &str)]; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", "1")],
            &[("kerf_to", "3 in"), ("kerf_within", "0.08 in")],
            &[("fault", "")],
            &[("moved", "no")],
        ];
        let (stop, _) = stopped(&mut client, &job, &answers).await;
        for (unit, other) in [("mm", "in"), ("in", "mm"), ("mm", "in")] {
            client.reads_in(unit).await;
            let steps = client.page(&format!("{stop}/steps")).await.text();
            for (place, told) in [("page", visible(&client.page(&stop).await.text())), ("steps", steps)] {
                assert!(has_length_in(&told, unit), "{place}: {told}");
                assert!(!has_length_in(&told, other), "{place}, {other}: {told}");
            }
        }
    });
}

/// Whether a text has a quantity with this unit, or a speed with it. A number and the word *in* is one only with a point in
/// the number, or at the end of what is said: `line 3 in your program`.
fn has_length_in(text: &str, unit: &str) -> bool {
    let words: Vec<&str> = text.split_whitespace().collect();
    words.windows(2).any(|pair| {
        let number = pair[0].trim_start_matches(['(', '-']);
        let is_number = number.starts_with(|c: char| c.is_ascii_digit());
        let said = pair[1].trim_end_matches(['.', ',', ';', ')', ':']);
        let ends = said.len() < pair[1].len();
        is_number
            && said.split('/').next() == Some(unit)
            && (unit != "in" || ends || number.contains('.') || said.contains('/'))
    })
}

#[test]
fn bare_numbers_count_in_the_unit_chosen_and_a_unit_that_is_typed_wins() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        client.reads_in("in").await;
        let list = client.page("/").await.text();
        assert!(
            list.contains("<option value=\"in\" selected>") && list.contains("placeholder=\"3/8 in\""),
            "{list}"
        );
        std::fs::write(page.shop(), demo::SHOP).unwrap();
        let fields = [("thickness", "10 mm"), ("plate", "59x29.5"), ("unit", "in")];
        let job = client.drop("post-bases.nc", demo::PROGRAM, &fields).await.to();
        let text = client.page(&job).await.text();
        assert!(text.contains("59 in × 29.5 in") && text.contains("value=\"10 mm\""), "{text}");
        let note = client.page("/stopped/note").await.text();
        assert!(note.contains("X, in"), "{note}");
        let answers: [&[(&str, &str)]; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", "42")],
            &[("kerf_to", "12"), ("kerf_within", "2 mm")],
            &[("fault", "NO-TRANSFER")],
            &[("moved", "no")],
        ];
        let (stop, answer) = stopped(&mut client, &job, &answers).await;
        let text = answer.text();
        assert!(text.contains("12 in, give or take 0.079 in"), "{text}");
        let kerf = client.page(&format!("{stop}/ask?about=kerf")).await.text();
        assert!(kerf.contains("value=\"12 in\"") && kerf.contains("placeholder=\"0.118 in\""), "{kerf}");
        let near = client.page(&format!("{stop}/begun/near?x=20&y=20&within=500")).await.text();
        assert!(near.contains(" in\"") && !near.contains(" mm\""), "{near}");
        let steps = client.page(&format!("{stop}/steps")).await.text();
        assert!(!steps.contains(" mm"), "{steps}");
    });
}

/// What was seen to be so is seen to be so, whoever reads it in whichever unit.
#[test]
fn ticks_stay_when_the_unit_changes() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let before = client.page(&job).await;
        let item = before.field("item");
        client.fill(&before, &format!("{job}/tick"), &[("item", &item), ("done", "true")]).await.to();
        assert!(client.page(&job).await.text().contains("1 of "));
        client.reads_in("in").await;
        let inches = client.page(&job).await.text();
        assert!(inches.contains("1 of ") && inches.contains("59.055 in"), "{inches}");
    });
}

#[test]
fn a_unit_that_is_none_is_refused() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let form = client.page("/").await.field("form");
        for units in ["", "furlong"] {
            let refused = client.post("/units", &[("form", &form), ("units", units)]).await;
            assert_eq!(refused.status, StatusCode::BAD_REQUEST);
        }
        let foreign = client.post("/units", &[("form", "x"), ("units", "mm")]).await;
        assert_eq!(foreign.status, StatusCode::FORBIDDEN);
        // A cookie that says nothing that is understood is as none.
        client.cookie = client.cookie.map(|cookie| cookie + "; platewright-units=ell");
        client.page("/").await;
    });
}
