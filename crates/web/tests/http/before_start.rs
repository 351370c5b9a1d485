//! Before a start: what is to be seen is kept, what did not change since the last job steps back, and what was told of the
//! last plate is offered for the next.

use crate::client::{Answer, Client, Page, demo, run};
use axum::http::StatusCode;

const FACTS: [(&str, &str); 3] =
    [("thickness", "10 mm"), ("plate", "1500x750 mm"), ("material", "mild-steel")];

fn unescaped(text: &str) -> String {
    text.replace("&quot;", "\"").replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&")
}

/// Ticks everything on the list.
async fn see_all(client: &mut Client, job: &str) {
    let page = client.page(job).await;
    let text = page.text();
    let items = text.split("name=\"item\" value=\"").skip(1).map(|rest| rest.split('"').next().unwrap());
    let items: Vec<String> = items.map(unescaped).collect();
    assert_eq!(items.len(), 10);
    for item in items {
        // Each form has a name of its own under which what it says is kept.
        let page = client.page(job).await;
        let fields = [("item", item.as_str()), ("done", "true")];
        client.fill(&page, &format!("{job}/tick"), &fields).await.to();
    }
}

/// The words of the list that stand in front, and those of the one that is folded away.
fn in_front_and_behind(page: &Answer) -> (String, String) {
    let text = page.text();
    let list = text.split("id=\"start\"").nth(1).unwrap().split("</section>").next().unwrap().to_owned();
    match list.split_once("<details class=\"on-paper\">") {
        Some((front, behind)) => (front.to_owned(), behind.to_owned()),
        None => (list, String::new()),
    }
}

#[test]
fn what_did_not_change_since_the_last_job_steps_back() {
    run(async {
        let page = Page::new();
        std::fs::write(page.shop(), demo::SHOP).unwrap();
        let mut client = page.client();
        let first = client.drop("first.nc", demo::PROGRAM, &FACTS).await.to();
        let (front, behind) = in_front_and_behind(&client.page(&first).await);
        assert!(front.contains("set 85, for steel 85") && front.contains("shade 8") && behind.is_empty());
        see_all(&mut client, &first).await;
        assert!(client.page(&first).await.text().contains("10 of 10 seen"));
        // A tick can be taken back, and everything outlives a restart of the program.
        let shown = client.page(&first).await;
        let (item, done) = (unescaped(&shown.field("item")), shown.field("done"));
        assert_eq!(done, "false");
        client.fill(&shown, &format!("{first}/tick"), &[("item", &item), ("done", "false")]).await.to();
        assert!(client.page(&first).await.text().contains("9 of 10 seen"));

        page.wait_s(3600);
        let second = client.drop("second.nc", demo::PROGRAM, &FACTS).await.to();
        let (front, behind) = in_front_and_behind(&client.page(&second).await);
        for of_every_plate in ["second.nc is loaded", "work lead", "Program zero", "in the torch", "11 m"] {
            assert!(front.contains(of_every_plate), "{of_every_plate}: {front}");
        }
        for unchanged in ["first.nc", "set 85, for steel 85", "4.6 bar", "85 A", "shade 8", "Extraction"] {
            assert!(behind.contains(unchanged), "{unchanged}: {behind}");
        }
        assert!(client.page(&second).await.text().contains("0 of 10 seen"), "nothing is ticked by itself");

        // Another material: what hangs on it is in front again.
        let stainless = [("thickness", "10 mm"), ("material", "stainless"), ("process", "stainless 85")];
        let third = client.drop("third.nc", demo::PROGRAM, &stainless).await.to();
        let (front, behind) = in_front_and_behind(&client.page(&third).await);
        assert!(front.contains("chromium") && behind.contains("4.6 bar"), "{front}");
    });
}

#[test]
fn what_was_told_of_the_last_plate_is_offered_for_the_next() {
    run(async {
        let page = Page::new();
        std::fs::write(page.shop(), demo::SHOP).unwrap();
        let mut client = page.client();
        assert!(!client.page("/").await.text().contains("as_last"), "there is no last plate");
        let first = client.drop("first.nc", demo::PROGRAM, &FACTS).await.to();
        let list = client.page("/").await;
        assert!(list.text().contains("first.nc: 10 mm, 1500x750 mm, mild-steel"), "{}", list.text());
        let last = first.trim_start_matches("/jobs/");
        let told = [("as_last", last), ("thickness", "6"), ("unit", "mm")];
        let second = client.drop("second.nc", demo::PROGRAM, &told).await.to();
        let shown = client.page(&second).await;
        assert_eq!(shown.field("thickness"), "6 mm", "what is told goes before what is remembered");
        assert_eq!(shown.field("plate"), "1500x750 mm");
        let without = client.drop("third.nc", demo::PROGRAM, &[("thickness", "6 mm")]).await.to();
        assert_eq!(client.page(&without).await.field("plate"), "", "nothing is taken over unasked");
        let nobody =
            client.drop("a.nc", demo::PROGRAM, &[("as_last", "00000000000000000000000000000000")]).await;
        assert_eq!(nobody.status, StatusCode::NOT_FOUND);
    });
}

#[test]
fn dimples_are_handed_out_as_proven() {
    run(async {
        let page = Page::new();
        std::fs::write(page.shop(), demo::SHOP).unwrap();
        let mut client = page.client();
        let job = client.drop("first.nc", demo::PROGRAM, &FACTS).await.to();
        let shown = client.page(&format!("{job}/dimples")).await.text();
        assert!(shown.contains("Must be so before the start"), "{shown}");
        let mut inputs = desk::Inputs::bundled("first.nc", demo::PROGRAM, demo::SHOP, "");
        inputs.job =
            shop::Job::parse("thickness = \"10 mm\"\nplate = \"1500x750 mm\"\nmaterial = \"mild-steel\"").0;
        let reading = desk::Reading::of(&mut inputs);
        let witness = desk::dimples(&inputs, &reading).unwrap();
        let visits = client.page(&format!("{job}/dimples/witness.nc")).await;
        assert_eq!(visits.bytes, witness.program.text.as_bytes());
        let by_arc = witness.by_arc.unwrap();
        assert_eq!(client.page(&format!("{job}/dimples/dimples.nc")).await.bytes, by_arc.text);
        let trace = client.page(&format!("{job}/dimples/dimples-trace.nc")).await;
        assert_eq!(trace.bytes, by_arc.trace.unwrap().text.as_bytes());
        assert!(shown.contains("/dimples/dimples-trace.nc\"") && shown.contains("run it first"), "{shown}");
        assert_eq!(client.get(&format!("{job}/dimples/other.nc")).await.status, StatusCode::NOT_FOUND);
        let bare = client.drop("bare.nc", demo::PROGRAM, &[]).await.to();
        client.page(&format!("{bare}/dimples")).await;
    });
}
