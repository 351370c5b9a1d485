//! What a stop file can tell, told on the page; and what the answer makes of it.

use crate::client::{Answer, Client, Page, demo, run};
use crate::main_job::{begun, dropped, inputs, stopped};
use axum::http::StatusCode;
use cuts::Shape;
use desk::{Reading, Rescued};
use shop::StopReport;

type Told<'a> = &'a [(&'a str, &'a str)];

/// Answers one question by its form.
async fn tell(client: &mut Client, stop: &str, question: &str, fields: Told<'_>) -> String {
    let page = client.page(&format!("{stop}/ask?{question}")).await;
    let about = page.field("about");
    client.fill(&page, &format!("{stop}/tell"), &[&[("about", about.as_str())], fields].concat()).await.to()
}

/// What the page shows of a section.
fn section(page: &Answer, id: &str) -> String {
    let text = page.text();
    let rest = text.split(&format!("id=\"{id}\"")).nth(1).unwrap_or_else(|| panic!("no {id} in {text}"));
    rest.split("<section").next().unwrap().to_owned()
}

#[test]
fn cuts_and_pieces_are_told_one_by_one_and_the_plan_is_that_of_a_stop_file() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let answers: [Told<'_>; 4] =
            [&[("kind", "struck")], &[("cut", "48")], &[("kerf_to", "260")], &[("moved", "no")]];
        let (stop, _) = stopped(&mut client, &job, &answers).await;
        let list = client.page(&format!("{stop}/ask?about=cuts")).await.text();
        for wanted in ["Cut 47", "Cut 48", "to 260 mm", "Cut 49", "not cut"] {
            assert!(list.contains(wanted), "{wanted}: {list}");
        }
        let back = tell(&mut client, &stop, "about=cut&of=47", &[("of", "47"), ("is", "dry")]).await;
        assert_eq!(back, format!("{stop}/ask?about=cuts"));
        let of_46 = [("of", "46"), ("is", "groove"), ("from", "20"), ("kerf_to", "60"), ("within", "2")];
        tell(&mut client, &stop, "about=cut&of=46&is=groove", &of_46).await;
        let list = client.page(&back).await.text();
        assert!(list.contains("a groove, as told") && list.contains("not cut, as told"), "{list}");
        let pieces = client.page(&format!("{stop}/ask?about=pieces")).await.text();
        assert!(pieces.contains("Part 7") && pieces.contains("taken to lie flat"), "{pieces}");
        let back = tell(&mut client, &stop, "about=piece&of=42", &[("of", "42"), ("is", "standing")]).await;
        assert_eq!(back, format!("{stop}/ask?about=pieces"));
        assert!(client.page(&back).await.text().contains("stands up"));
        let answer = client.page(&stop).await.text();
        assert!(answer.contains("of cut 42: it stands up out of the plate"), "{answer}");

        let told = "kind = \"struck\"\ncut = 48\nkerf_to = \"260 mm\"\nmoved = false\n\
            [[state]]\ncut = 46\nis = \"groove\"\nfrom = \"20 mm\"\nkerf_to = \"60 mm\"\nwithin = \"2 mm\"\n\
            [[state]]\ncut = 47\nis = \"dry\"\n[[piece]]\ncut = 42\nis = \"standing\"\n";
        let (report, findings) = StopReport::parse(told);
        assert_eq!(findings, []);
        let mut inputs = inputs(None);
        let reading = Reading::of(&mut inputs);
        let plan = Rescued::plan(&inputs, &reading, &report, None).unwrap().plan;
        for choice in &plan.choices {
            let way = desk::kind_word(choice.kind);
            let file = client.page(&format!("{stop}/ways/{way}/program")).await;
            assert_eq!(file.bytes, choice.text, "{way}");
            client.page(&format!("{stop}/picture.svg?way={way}")).await;
        }
        // What was told can be taken back.
        tell(&mut client, &stop, "about=cut&of=47", &[("of", "47"), ("is", "forget")]).await;
        assert!(!client.page(&stop).await.text().contains("cut 47: nothing was cut"));
        for wrong in ["about=cut&of=0", "about=piece&of=65", "about=cut&of=x", "about=cut"] {
            let refused = client.get(&format!("{stop}/ask?{wrong}")).await;
            assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong}");
        }
    });
}

#[test]
fn each_kind_of_stop_asks_what_it_leaves_open() {
    run(async {
        let page = Page::new();
        std::fs::write(page.shop(), demo::SHOP).unwrap();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let kinds: [(&str, &[Told<'_>]); 6] = [
            ("no-motion", &[&[("blown", "14")], &[("moved", "no")]]),
            (
                "ran-dry",
                &[&[("from_cut", "47")], &[("kerf_to", "25")], &[("skip", "yes")], &[("moved", "no")]],
            ),
            (
                "not-through",
                &[
                    &[("from_cut", "48")],
                    &[("kerf_to", "210")],
                    &[("stopped_along", "300")],
                    &[("moved", "no")],
                ],
            ),
            (
                "bad-cut",
                &[
                    &[("from_cut", "47")],
                    &[("bad_from", "20")],
                    &[("stopped_along", "60")],
                    &[("skip", "yes")],
                    &[("moved", "no")],
                ],
            ),
            ("arc-stays-on", &[&[("blown", "6")], &[("skip", "yes")], &[("moved", "no")]]),
            (
                "control-froze",
                &[&[("kerf_x", "1366.8"), ("kerf_y", "190.7"), ("kerf_within", "2")], &[("moved", "no")]],
            ),
        ];
        for (kind, rest) in kinds {
            let first: [Told<'_>; 2] = [&[("kind", kind)], &[("cut", "48")]];
            let (_, answer) = stopped(&mut client, &job, &[&first, rest].concat()).await;
            let ways = section(&answer, "ways");
            assert!(ways.contains("Price: "), "{kind}: {ways}");
            assert!(!answer.text().contains(" %)"), "{kind}: no percentages");
            for key in ["`kerf_to`", "`kerf_at`", "`state`", "`blown`", "--after", "--part", "--plate"] {
                assert!(!answer.text().contains(key), "{kind}: {key} is for files");
            }
        }
    });
}

#[test]
fn going_back_loses_nothing_and_odds_are_settled() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let answers: [Told<'_>; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", "42")],
            &[("kerf_to", "300"), ("kerf_within", "1.5")],
            &[("fault", "")],
            &[("moved", "no")],
        ];
        let (stop, _) = stopped(&mut client, &job, &answers).await;
        // Each screen shows what was told, and leads back to the one before.
        let kerf = client.page(&format!("{stop}/ask?about=kerf")).await.text();
        assert!(kerf.contains("value=\"300 mm\"") && kerf.contains("value=\"1.5 mm\""), "{kerf}");
        assert!(kerf.contains("ask?about=where\">‹ Back"), "{kerf}");
        assert!(client.page(&format!("{stop}/ask?about=where")).await.text().contains("value=\"42\""));
        assert!(client.page(&format!("{stop}/ask?about=kind")).await.text().contains("as told"));
        assert!(client.page(&format!("{stop}/ask?about=fault")).await.text().contains("about=kerf\">‹ Back"));
        // The arc did not come after all: the kerf told is not thrown away behind anybody's back.
        let to = tell(&mut client, &stop, "about=kind", &[("kind", "no-transfer")]).await;
        assert_eq!(to, format!("{stop}/ask?about=odds"));
        let odds = client.page(&to).await;
        assert!(odds.text().contains("What is so?"), "{}", odds.text());
        assert!(client.page(&stop).await.text().contains("Say what is so"));
        let fields = [("about", "odds"), ("so", "cut")];
        client.fill(&odds, &format!("{stop}/tell"), &fields).await.to();
        let answer = client.page(&stop).await.text();
        assert!(
            answer.contains("300 mm, give or take 1.5 mm") && answer.contains("the arc went out on the way")
        );
        assert!(client.page(&format!("{stop}/ask?about=odds")).await.text().contains("It does now."));
    });
}

#[test]
fn where_little_is_proven_the_one_fact_is_asked_right_there() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let answers: [Told<'_>; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", "30")],
            &[("skip", "yes")],
            &[("skip", "yes")],
            &[("moved", "no")],
        ];
        let (stop, answer) = stopped(&mut client, &job, &answers).await;
        let ways = section(&answer, "ways");
        assert!(
            ways.contains("One fact would make more provable") && ways.contains("name=\"kerf_to\""),
            "{ways}"
        );
        assert!(!ways.contains("value=\"kerf-end\""), "{ways}");
        let fields = [("about", "kerf"), ("then", "answer"), ("kerf_to", "300"), ("kerf_within", "2")];
        assert_eq!(client.fill(&answer, &format!("{stop}/tell"), &fields).await.to(), stop);
        let ways = section(&client.page(&stop).await, "ways");
        assert!(ways.contains("value=\"kerf-end\""), "{ways}");
    });
}

/// Where a slug is loose and nobody has told how far its kerf got, the page asks whether it has left a nib at the seam.
#[test]
fn a_slug_that_is_loose_may_have_left_a_nib_and_that_is_asked() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let mut given = inputs(None);
        let list = Reading::of(&mut given).list;
        let hole = list.contours.iter().find(|contour| contour.shape == Shape::Hole).expect("a hole").cut;
        let cut = hole.number().to_string();
        let answers: [Told<'_>; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", cut.as_str())],
            &[("skip", "yes")],
            &[("skip", "yes")],
            &[("moved", "no")],
        ];
        let (stop, _) = stopped(&mut client, &job, &answers).await;
        let fell = [("of", cut.as_str()), ("is", "fell")];
        tell(&mut client, &stop, &format!("about=piece&of={cut}"), &fell).await;
        let answer = client.page(&stop).await;
        let ways = section(&answer, "ways");
        assert!(ways.contains("Is a nib left on the part at the seam of cut"), "{ways}");
        assert!(ways.contains("No nib is left") && ways.contains("name=\"kerf_to\""), "{ways}");
        let none = [("about", "cut"), ("of", cut.as_str()), ("then", "answer"), ("is", "whole")];
        assert_eq!(client.fill(&answer, &format!("{stop}/tell"), &none).await.to(), stop);
        let ways = section(&client.page(&stop).await, "ways");
        assert!(!ways.contains("Is a nib left"), "{ways}");
    });
}

/// A plate that stops again and again is taken up from each restart's own state.
#[test]
fn a_plate_may_stop_any_number_of_times() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        for (nth, cut) in ["20", "31", "43", "52", "60"].into_iter().enumerate() {
            let answers: [Told<'_>; 4] =
                [&[("kind", "no-transfer")], &[("cut", cut)], &[("skip", "yes")], &[("moved", "no")]];
            let (stop, answer) = stopped(&mut client, &job, &answers).await;
            let text = answer.text();
            assert!(
                text.contains(&format!("Stopped at cut {cut}"))
                    && text.contains(&format!("Stop {}", nth + 1))
            );
            client.fill(&answer, &format!("{stop}/take"), &[("way", "restart-block")]).await.to();
            let plate = client.page(&format!("{stop}/ways/restart-block/plate")).await.text();
            let made = plate.matches("\"depth\": \"through\"").count();
            assert_eq!(made, cut.parse::<usize>().unwrap() - 1, "stop {}", nth + 1);
        }
        // And loses its arc within the last restart.
        let answers: [Told<'_>; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", "61")],
            &[("kerf_to", "9")],
            &[("skip", "yes")],
            &[("moved", "no")],
        ];
        let (_, answer) = stopped(&mut client, &job, &answers).await;
        assert!(answer.text().contains("Stop 6") && section(&answer, "ways").contains("Price: "));
    });
}

/// A question is put on the plate as it stood when the program that stopped was started.
#[test]
fn at_a_second_stop_the_plate_is_shown_as_the_first_restart_left_it() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let answers: [Told<'_>; 4] =
            [&[("kind", "no-transfer")], &[("cut", "20")], &[("skip", "yes")], &[("moved", "no")]];
        let (first, answer) = stopped(&mut client, &job, &answers).await;
        client.fill(&answer, &format!("{first}/take"), &[("way", "restart-block")]).await.to();
        let second = begun(&mut client, &job).await;
        for (stop, cut) in [(&first, 0), (&second, 19)] {
            let question = client.page(&format!("{stop}/ask?about=where")).await.text();
            assert!(question.contains(&format!("data-strokes=\"{stop}/begun/strokes\"")), "{question}");
            let strokes = client.page(&format!("{stop}/begun/strokes")).await.text();
            let made = strokes.matches("\"stage\":\"cut\"").count();
            assert_eq!(made, cut, "{stop}");
            client.page(&format!("{stop}/begun/picture.svg")).await;
        }
    });
}

#[test]
fn what_was_given_up_is_made_anew_on_the_sheet_or_on_a_remnant() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = dropped(&mut client).await;
        let answers: [Told<'_>; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", "30")],
            &[("skip", "yes")],
            &[("skip", "yes")],
            &[("moved", "no")],
        ];
        let (stop, answer) = stopped(&mut client, &job, &answers).await;
        let early = client.get(&format!("{stop}/salvage")).await;
        assert_eq!(early.status, StatusCode::UNPROCESSABLE_ENTITY, "nothing was taken yet");
        let first = answer.field("way");
        client.fill(&answer, &format!("{stop}/take"), &[("way", &first)]).await.to();
        assert!(client.page(&stop).await.text().contains("make them anew"));
        let asked = client.page(&format!("{stop}/salvage")).await;
        assert!(asked.text().contains("name=\"parts\" value=\"5\""), "{}", asked.text());

        // On the same sheet: proven, and what runs next.
        let query = "go=yes&parts=5&sheet=same";
        let done = client.page(&format!("{stop}/salvage?{query}")).await;
        let text = done.text();
        assert!(text.contains("Part 5: from ") && text.contains("Proven"), "{text}");
        let program = client.page(&format!("{stop}/salvage/program?{query}")).await;
        assert!(program.headers["content-disposition"].to_str().unwrap().contains("post-bases-salvage.nc"));
        for file in ["trace", "steps", "picture.svg"] {
            client.page(&format!("{stop}/salvage/{file}?{query}")).await;
        }
        let fields = [("parts", "5"), ("sheet", "same")];
        let to = client.fill(&done, &format!("{stop}/salvage"), &fields).await.to();
        assert!(client.page(&to).await.text().contains("A program for this was taken."));
        assert_eq!(client.page(&format!("{stop}/salvage/taken")).await.bytes, program.bytes);
        // It stops in turn, at the part's outline at its new place.
        let answers: [Told<'_>; 4] =
            [&[("kind", "no-transfer")], &[("cut", "30")], &[("skip", "yes")], &[("moved", "no")]];
        let (_, again) = stopped(&mut client, &job, &answers).await;
        assert!(again.text().contains("Stopped at cut 30") && again.text().contains("Price: "));

        // On a remnant: a plate of its own.
        let remnant = "go=yes&parts=5&sheet=remnant&remnant=400x400&in=mm";
        let done = client.page(&format!("{stop}/salvage?{remnant}")).await;
        assert!(done.text().contains("Open it as a plate of its own"), "{}", done.text());
        let name = done.field("job");
        let fields = [
            ("job", name.as_str()),
            ("parts", "5"),
            ("sheet", "remnant"),
            ("remnant", "400x400"),
            ("in", "mm"),
        ];
        let own = client.fill(&done, &format!("{stop}/salvage"), &fields).await.to();
        let text = client.page(&own).await.text();
        assert!(text.contains("post-bases-remnant.nc") && text.contains("400x400"), "{text}");
        // Too small, or no size at all.
        let small = client.page(&format!("{stop}/salvage?go=yes&parts=5&sheet=remnant&remnant=90x90")).await;
        assert!(small.text().contains("No program can be proven."), "{}", small.text());
        assert!(
            done.text().contains("picture.svg?") && !small.text().contains("picture.svg?"),
            "nothing is drawn"
        );
        for wrong in ["sheet=remnant", "sheet=remnant&remnant=wide", "parts=99", "standing=x"] {
            let refused = client.get(&format!("{stop}/salvage?go=yes&{wrong}")).await;
            assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong}");
        }
    });
}
