//! *Practice* on the page: a session passed, one failed, several side by side; nothing lost by a reload or a restart.

use crate::client::{Answer, Client, Page, run};
use crate::loose_lead::RIGHT;
use axum::http::StatusCode;

async fn begun(client: &mut Client, fields: &[(&str, &str)]) -> Answer {
    let list = client.page("/practice").await;
    let session = list.field("session");
    client.fill(&list, "/practice", &[&[("session", session.as_str())], fields].concat()).await
}

async fn does(client: &mut Client, at: &str, act: &str) -> String {
    let page = client.page(at).await;
    let after = page.field("after");
    client.fill(&page, &format!("{at}/act"), &[("act", act), ("after", &after)]).await.to()
}

#[test]
fn a_session_is_passed_and_another_failed_and_both_stand_side_by_side() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let list = client.page("/practice").await.text();
        for wanted in ["nothing here moves a machine", "level 1 of 5", "level 5 of 5", "Who practises"] {
            assert!(list.contains(wanted), "{wanted}");
        }
        let at = begun(&mut client, &[("scenario", "loose-lead"), ("by", "Kim"), ("seed", "1")]).await.to();
        let text = client.page(&at).await.text();
        for wanted in
            ["nothing here moves a machine", "You see", "You hear", "You do", "The torch stands low over"]
        {
            assert!(text.contains(wanted), "{wanted}");
        }
        assert!(client.page(&format!("{at}/strokes")).await.text().contains("\"stage\":\"to-cut\""));
        client.page(&format!("{at}/picture.svg")).await;
        for act in RIGHT {
            assert_eq!(does(&mut client, &at, act).await, at, "{act}");
        }
        let text = client.page(&at).await.text();
        assert!(text.contains("100 of 100 points: passed") && !text.contains("name=\"act\""), "{text}");
        let file = client.page(&format!("{at}/result.json")).await.text();
        assert_eq!(
            practice::Result::parse(&file).map(|result| (result.by, result.passed)),
            Ok(("Kim".into(), true))
        );

        let at = begun(&mut client, &[("scenario", "no-air"), ("by", "<b>Lee</b>")]).await.to();
        does(&mut client, &at, "fix slag").await;
        let text = client.page(&at).await.text();
        assert!(text.contains("not passed") && text.contains("not isolated"), "{text}");
        let table = client.page("/practice/results").await.text();
        assert!(table.contains("Kim") && table.contains("&lt;b&gt;Lee"), "{table}");
    });
}

#[test]
fn a_reload_a_restart_and_a_form_sent_twice_lose_and_add_nothing() {
    run(async {
        let mut page = Page::new();
        let mut client = page.client();
        let at = begun(&mut client, &[("scenario", "loose-lead"), ("by", "Kim")]).await.to();
        does(&mut client, &at, "stop").await;
        let shown = client.page(&at).await;
        let (form, after) = (shown.field("entry"), shown.field("after"));
        let twice = [("act", "look light"), ("after", after.as_str()), ("entry", form.as_str())];
        client.fill(&shown, &format!("{at}/act"), &twice).await.to();
        client.fill(&shown, &format!("{at}/act"), &twice).await.to();
        // A second tab that still shows the session as it was does nothing to it.
        client.fill(&shown, &format!("{at}/act"), &[("act", "done"), ("after", after.as_str())]).await.to();
        page.restart();
        let mut client = Client { router: page.client().router, cookie: client.cookie };
        let text = client.page(&at).await.text();
        assert!(text.contains("So far: 2 acts") && text.contains("The start light is out"), "{text}");
        assert_eq!(does(&mut client, &at, "note").await, at);
        assert!(client.page(&at).await.text().contains("So far: 3 acts"));
    });
}

#[test]
fn a_scenario_of_ones_own_is_taken_or_its_mistakes_told() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let good =
            "name = \"ours\"\ntitle = \"Ours\"\nstory = \"Monday.\"\n[[fault]]\nwhat = \"no-air\"\ncut = 3\n";
        let at = begun(&mut client, &[("text", good), ("by", "Kim")]).await.to();
        assert!(client.page(&at).await.text().contains("Monday."));
        for (bad, wanted) in [
            (good.replace("no-air", "no-ai"), "Line 5: "),
            (good.replace("cut = 3", "cut = 99"), "cuts 1 to 64"),
            (format!("job = \"../../etc/passwd\"\n{good}"), "leave `job` out"),
            ("\u{0}".into(), "mistakes"),
        ] {
            let answer = begun(&mut client, &[("text", &bad)]).await;
            assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{bad}");
            assert!(answer.text().contains(wanted), "{wanted}: {}", answer.text());
        }
    });
}

#[test]
fn what_no_page_of_ours_sends_is_refused() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let at = begun(&mut client, &[("scenario", "loose-lead")]).await.to();
        let shown = client.page(&at).await;
        for fields in [
            [("act", "weld"), ("after", "0")],
            [("act", "stop"), ("after", "x")],
            [("act", "stop"), ("aft", "0")],
        ] {
            let answer = client.fill(&shown, &format!("{at}/act"), &fields).await;
            assert_eq!(answer.status, StatusCode::BAD_REQUEST, "{fields:?}");
        }
        let foreign = [("act", "stop"), ("after", "0"), ("form", "x"), ("entry", &"0".repeat(32))];
        let foreign = client.post(&format!("{at}/act"), &foreign).await;
        assert_eq!(foreign.status, StatusCode::FORBIDDEN);
        assert_eq!(begun(&mut client, &[("scenario", "nonsense")]).await.status, StatusCode::BAD_REQUEST);
        let seed = begun(&mut client, &[("scenario", "no-air"), ("seed", "-1")]).await;
        assert_eq!(seed.status, StatusCode::UNPROCESSABLE_ENTITY);
        for address in ["/practice/0", "/practice/00000000000000000000000000000000", "/practice/../shop"] {
            assert_eq!(client.get(address).await.status, StatusCode::NOT_FOUND, "{address}");
        }
        assert!(client.page(&at).await.text().contains("What do you do?"));
    });
}
