//! The main job: a program dropped, a stop told, a restart program proven and kept; and nothing lost on the way.

use crate::client::{Answer, Client, Page, demo, run};
use axum::http::{StatusCode, header};
use desk::{Inputs, Reading, Rescued};
use shop::{Job, StopKind, StopReport};
use units::Length;

const FACTS: [(&str, &str); 3] = [("thickness", "10 mm"), ("plate", "1500x750"), ("unit", "mm")];

pub(crate) async fn dropped(client: &mut Client) -> String {
    client.drop("post-bases.nc", demo::PROGRAM, &FACTS).await.to()
}

/// A stop of which nothing is told yet.
pub(crate) async fn begun(client: &mut Client, job: &str) -> String {
    begun_at(client, job, ["", ""]).await
}

/// A stop of which only X and Y were written down.
async fn begun_at(client: &mut Client, job: &str, [x, y]: [&str; 2]) -> String {
    let which = client.page(&format!("/stopped/which?job={}", job.trim_start_matches("/jobs/"))).await;
    let stop = which.field("stop");
    let fields = [("stop", stop.as_str()), ("line", ""), ("x", x), ("y", y)];
    client.fill(&which, &format!("{job}/stops"), &fields).await.to();
    format!("{job}/stops/{stop}")
}

/// Goes from the screen after the numbers to the stop's page.
pub(crate) async fn stopped(client: &mut Client, job: &str, answers: &[&[(&str, &str)]]) -> (String, Answer) {
    let stop = told(client, job, answers).await;
    let page = client.page(&stop).await;
    (stop, page)
}

/// The same without looking at that page.
pub(crate) async fn told(client: &mut Client, job: &str, answers: &[&[(&str, &str)]]) -> String {
    let stop = begun(client, job).await;
    let mut to = format!("{stop}/ask?about=kind");
    for answer in answers {
        let page = client.page(&to).await;
        let about = page.field("about");
        let fields = [&[("about", about.as_str())], *answer].concat();
        to = client.fill(&page, &format!("{stop}/tell"), &fields).await.to();
    }
    assert_eq!(to, stop);
    stop
}

pub(crate) fn inputs(shop: Option<&str>) -> Inputs {
    let mut inputs = Inputs::bundled("post-bases.nc", demo::PROGRAM, shop.unwrap_or_default(), "");
    inputs.job = Job::parse("thickness = \"10 mm\"\nplate = \"1500x750 mm\"").0;
    if shop.is_none() {
        inputs.shop = None;
    }
    inputs
}

/// No text of a chart runs out of it on the right; a letter takes 6 px or so.
fn fits_its_width(svg: &str) {
    let number = |rest: &str| rest.split('"').next().unwrap().parse::<f64>().unwrap();
    let width = number(svg.split_once("width=\"").unwrap().1);
    let texts: Vec<(f64, &str)> = svg
        .split("<text class=\"text\" x=\"")
        .skip(1)
        .map(|rest| (number(rest), rest.split_once('>').unwrap().1.split('<').next().unwrap()))
        .collect();
    assert!(texts.iter().any(|(_, text)| text.starts_with("travel")), "{texts:?}");
    for (x, text) in texts {
        let letters = u16::try_from(text.chars().count()).unwrap();
        assert!(x + 6.0 * f64::from(letters) <= width, "{text:?} at {x} of {width}");
    }
}

#[test]
fn from_a_dropped_program_to_the_proven_restart() {
    run(async {
        let mut page = Page::new();
        std::fs::write(page.shop(), demo::SHOP).unwrap();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let shown = client.page(&job).await.text();
        for wanted in ["post-bases.nc", "Before", "Stopped", "After", "64", "/stopped?job="] {
            assert!(shown.contains(wanted), "{wanted}");
        }
        let strokes = client.page(&format!("{job}/strokes")).await.text();
        assert!(strokes.contains("\"stage\":\"to-cut\"") && strokes.contains("\"cut\":64"));
        let picture = client.page(&format!("{job}/picture.svg")).await;
        assert_eq!(picture.headers[header::CONTENT_TYPE], "image/svg+xml");

        let answers: [&[(&str, &str)]; 4] =
            [&[("kind", "no-transfer")], &[("cut", "37")], &[("fault", "NO-TRANSFER")], &[("moved", "no")]];
        let (stop, answer) = stopped(&mut client, &job, &answers).await;
        let text = answer.text();
        for wanted in ["Stopped at cut 37", "First, in this order", "Step 1 of", "How to go on", "Proven"] {
            assert!(text.contains(wanted), "{wanted}");
        }
        let causes = text.split("id=\"why\"").nth(1).unwrap().split("id=\"ways\"").next().unwrap();
        assert!(causes.contains("most likely") && !causes.contains('%'), "words, not percentages: {causes}");
        let run = client.page(&format!("{job}/run")).await.text();
        assert!(run.starts_with("{\"whole\":") && run.contains("\"loose\":[["), "{}", &run[..60]);
        for on in ["", "?on=column", "?on=phone"] {
            fits_its_width(&client.page(&format!("{job}/time.svg{on}")).await.text());
        }

        // The ticks stay.
        let (item, done) = (answer.field("item"), answer.field("done"));
        let item = item.replace("&quot;", "\"").replace("&amp;", "&");
        client.fill(&answer, &format!("{stop}/tick"), &[("item", &item), ("done", &done)]).await.to();
        let answer = client.page(&stop).await;
        assert!(answer.text().contains("Step 2 of"), "the next step is shown");

        // What is handed out is what the planner proves.
        let taken = client.fill(&answer, &format!("{stop}/take"), &[("way", "restart-block")]).await;
        assert!(taken.to().starts_with(&stop));
        let mut inputs = inputs(Some(demo::SHOP));
        let reading = Reading::of(&mut inputs);
        let report = StopReport {
            kind: Some(StopKind::NoTransfer),
            cut: Some(37),
            fault: Some("NO-TRANSFER".into()),
            moved: Some(false),
            ..StopReport::default()
        };
        let rescued = Rescued::plan(&inputs, &reading, &report, None).unwrap();
        let file = client.page(&format!("{stop}/ways/restart-block/program")).await;
        assert_eq!(file.bytes, rescued.plan.choices[0].text);
        assert_eq!(
            file.headers[header::CONTENT_DISPOSITION],
            "attachment; filename=\"post-bases-restart-block.nc\""
        );
        let trace = client.page(&format!("{stop}/ways/restart-block/trace")).await;
        assert_eq!(trace.bytes, rescued.plan.trace().unwrap().text.as_bytes());
        assert_eq!(
            trace.headers[header::CONTENT_DISPOSITION],
            "attachment; filename=\"post-bases-restart-block-trace.nc\""
        );
        for file in
            ["steps", "ways/restart-block/changes", "ways/restart-block/plate", "strokes", "picture.svg"]
        {
            client.page(&format!("{stop}/{file}")).await;
        }

        // A restart of the program, and everything is there, in another tab too.
        page.restart();
        let mut other = page.client();
        assert!(other.page("/").await.text().contains("restart program taken"));
        assert!(other.page(&stop).await.text().contains("Keep the restart program"));
        assert_eq!(other.page(&format!("{stop}/ways/restart-block/program")).await.bytes, file.bytes);
    });
}

#[test]
fn a_second_stop_starts_from_the_first_restart() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let answers: [&[(&str, &str)]; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", "42")],
            &[("kerf_to", "300")],
            &[("skip", "yes")],
            &[("moved", "no")],
        ];
        let (stop, answer) = stopped(&mut client, &job, &answers).await;
        let plan = {
            let mut inputs = inputs(None);
            let reading = Reading::of(&mut inputs);
            let report = StopReport {
                kind: Some(StopKind::ArcLost),
                cut: Some(42),
                kerf_to: Some(Length::from_mm(300.0)),
                moved: Some(false),
                ..StopReport::default()
            };
            Rescued::plan(&inputs, &reading, &report, None).unwrap().plan
        };
        let way = desk::kind_word(plan.choices[0].kind);
        client.fill(&answer, &format!("{stop}/take"), &[("way", way)]).await.to();
        assert_eq!(client.page(&format!("{stop}/ways/{way}/program")).await.bytes, plan.choices[0].text);
        // Cut 50 can have stopped only in the restart program.
        let answers: [&[(&str, &str)]; 4] =
            [&[("kind", "no-transfer")], &[("cut", "50")], &[("skip", "yes")], &[("moved", "no")]];
        let (_, second) = stopped(&mut client, &job, &answers).await;
        assert!(second.text().contains("Stopped at cut 50") && second.text().contains("Stop 2"));
        // Cut 3 was made before: it cannot have been running.
        let answers: [&[(&str, &str)]; 4] =
            [&[("kind", "no-transfer")], &[("cut", "3")], &[("skip", "yes")], &[("moved", "no")]];
        let (_, third) = stopped(&mut client, &job, &answers).await;
        assert!(third.text().contains("At which cut did it stop?"));
    });
}

#[test]
fn a_form_sent_twice_counts_once() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let list = client.page("/").await;
        let fields =
            [("form", list.field("form")), ("entry", list.field("entry")), ("job", list.field("job"))];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        let first = client.upload(&fields, Some(("a.nc", demo::PROGRAM))).await.to();
        let again = client.upload(&fields, Some(("a.nc", demo::PROGRAM))).await.to();
        assert_eq!(first, again);
        assert_eq!(client.page("/").await.text().matches("class=\"job\"").count(), 1);
        // The same name with something else in it is told, and changes nothing.
        let other = client.upload(&fields, Some(("b.nc", b"G21\nM3\nG1 X5\nM5\nM30\n"))).await;
        assert_eq!(other.status, StatusCode::CONFLICT);
    });
}

#[test]
fn what_cannot_be_understood_is_asked_again_and_the_program_is_not_lost() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let answer =
            client.drop("a.nc", demo::PROGRAM, &[("thickness", "thick"), ("plate", "1500x750")]).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        let text = answer.text();
        assert!(text.contains("value=\"thick\"") && text.contains("thickness-mistake"), "{text}");
        let list = client.page("/").await.text();
        assert!(list.contains("a.nc"), "the program is open");
    });
}

#[test]
fn without_a_thickness_the_stop_asks_for_it() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = client.drop("a.nc", demo::PROGRAM, &[]).await.to();
        let answers: [&[(&str, &str)]; 5] = [
            &[("kind", "no-transfer")],
            &[("cut", "37")],
            &[("skip", "yes")],
            &[("thickness", "3/8 in")],
            &[("moved", "no")],
        ];
        let (_, answer) = stopped(&mut client, &job, &answers).await;
        assert!(answer.text().contains("Stopped at cut 37"));
    });
}

#[test]
fn the_first_screens_need_nothing() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let first = client.page("/stopped").await.text();
        assert!(first.contains("Stop the machine.") && first.contains("Hands off: it may still fire."));
        assert!(first.contains("Is the start light out?"));
        assert!(client.page("/stopped/lit").await.text().contains("Isolate the power source now."));
        let note = client.page("/stopped/note?line=412&x=1.5").await.text();
        assert!(note.contains("no zeroing or homing") && note.contains("value=\"412\""));
        assert!(client.page("/stopped/which?line=412").await.text().contains("drop its program first"));
    });
}

#[test]
fn a_tapped_place_tells_the_cut() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let stop = begun(&mut client, &job).await;
        let near = client.page(&format!("{stop}/begun/near?x=1053.4&y=61.1&within=5")).await.text();
        assert!(near.contains("\"cut\":37"), "{near}");
        assert_eq!(client.page(&format!("{stop}/begun/near?x=-900&y=1&within=5")).await.text(), "[]");
        for query in [
            "",
            "?x=1&y=2",
            "?x=NaN&y=1&within=1",
            "?x=1&y=1&within=-1",
            "?x=inf&y=1&within=1",
            "?x=a&y=1&within=1",
        ] {
            assert_eq!(
                client.get(&format!("{stop}/begun/near{query}")).await.status,
                StatusCode::BAD_REQUEST,
                "{query}"
            );
        }
    });
}

#[test]
fn a_stop_that_nobody_placed_is_asked_for_its_cut_or_what_the_control_showed() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let answers: [&[(&str, &str)]; 4] =
            [&[("kind", "no-transfer")], &[("skip", "yes")], &[("skip", "yes")], &[("moved", "no")]];
        let (stop, answer) = stopped(&mut client, &job, &answers).await;
        let text = answer.text();
        assert!(text.contains("At which cut did it stop?"), "{text}");
        for about in ["where", "noted"] {
            assert!(text.contains(&format!("href=\"{stop}/ask?about={about}\"")), "{about}: {text}");
        }
    });
}

#[test]
fn a_place_on_one_cut_alone_is_not_asked_about_again() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let at = Reading::of(&mut inputs(None)).list.by_number(48).unwrap().path.point_at(121.0).unwrap();
        let noted = [format!("{:.1}", at.x), format!("{:.1}", at.y)];
        let noted = noted.each_ref().map(String::as_str);
        let tell = async |client: &mut Client, stop: &str, asked: &str, answer: (&str, &str)| {
            let page = client.page(asked).await;
            let about = page.field("about");
            client.fill(&page, &format!("{stop}/tell"), &[("about", &about), answer]).await.to()
        };
        // The arc went out there: the cut is shown, and another can be named.
        let stop = begun_at(&mut client, &job, noted).await;
        let kerf = tell(&mut client, &stop, &format!("{stop}/ask?about=kind"), ("kind", "arc-lost")).await;
        assert_eq!(kerf, format!("{stop}/ask?about=kerf"));
        let shown = client.page(&kerf).await;
        assert!(shown.text().contains("How far is cut 48 through?"), "{}", shown.text());
        assert!(shown.text().contains(&format!("href=\"{stop}/ask?about=where\">Another cut<")));
        // Who says how far has told the cut; it is asked about like any told one from then on.
        let cut = shown.field("cut");
        let fields = [("about", "kerf"), ("cut", &cut), ("kerf_to", "119")];
        client.fill(&shown, &format!("{stop}/tell"), &fields).await.to();
        let asked = client.page(&format!("{stop}/ask?about=where")).await.text();
        assert!(asked.contains("At which cut did it stop?") && asked.contains("value=\"48\""), "{asked}");
        let again = client.page(&kerf).await.text();
        assert!(again.contains("value=\"119 mm\"") && !again.contains("Another cut"), "{again}");
        // At a start that failed no later question shows the cut: it is asked about.
        let stop = begun_at(&mut client, &job, noted).await;
        let to = tell(&mut client, &stop, &format!("{stop}/ask?about=kind"), ("kind", "no-transfer")).await;
        assert_eq!(to, format!("{stop}/ask?about=where"));
        // Between two cuts, or where the plate lies elsewhere, X and Y speak for none.
        for (kind, noted) in [("arc-lost", ["-50", "-50"]), ("plate-moved", noted)] {
            let stop = begun_at(&mut client, &job, noted).await;
            let to = tell(&mut client, &stop, &format!("{stop}/ask?about=kind"), ("kind", kind)).await;
            assert_eq!(to, format!("{stop}/ask?about=where"), "{kind}");
        }
    });
}

/// Fifty people at one plate: nobody waits for another's reading of the same program, and all get the same.
#[test]
fn many_at_once_get_the_same_page() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let tasks: Vec<_> = (0..50)
            .map(|_| {
                let (mut client, job) = (client.clone(), job.clone());
                tokio::spawn(async move { client.page(&format!("{job}/strokes")).await.bytes })
            })
            .collect();
        let mut first = None;
        for task in tasks {
            let bytes = task.await.unwrap();
            assert_eq!(*first.get_or_insert_with(|| bytes.clone()), bytes);
        }
    });
}

#[test]
fn what_became_of_it_is_kept_with_the_job() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let shown = client.page(&job).await;
        let fields = [("lost", "7, 3"), ("note", "the lead again"), ("done", "yes")];
        client.fill(&shown, &format!("{job}/outcome"), &fields).await.to();
        let text = client.page(&job).await.text();
        assert!(text.contains("value=\"3, 7\"") && text.contains("the lead again"), "{text}");
        assert!(text.contains("12 of 14 parts") && text.contains("part 3, 7"), "{text}");
        assert!(client.page("/").await.text().contains("done, 2 lost"));
        for lost in ["0", "99", "x"] {
            let shown = client.page(&job).await;
            let refused = client.fill(&shown, &format!("{job}/outcome"), &[("lost", lost)]).await;
            assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{lost}");
        }
    });
}
