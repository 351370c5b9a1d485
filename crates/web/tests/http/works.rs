//! What takes longer than a blink: a page that says how far it is, a stream of events, and calling it off.

use crate::client::{Answer, Client, Page, run};
use crate::main_job::told;
use axum::body::Body;
use axum::http::{StatusCode, header};
use std::time::Duration;

/// Enough contours for reading and planning to be under way still when they are asked for again at once.
const CONTOURS: u32 = 10_000;

/// A job that takes long to read.
async fn long_job(client: &mut Client) -> String {
    let (text, _) = nests::program_of(CONTOURS, 7);
    client.drop("nest.nc", text.as_bytes(), &[("thickness", "10 mm")]).await.to()
}

/// One that takes so long that it is surely not through before it is called off.
async fn endless_job(client: &mut Client) -> String {
    client.drop("million.nc", nests::million_blocks(7).as_bytes(), &[("thickness", "10 mm")]).await.to()
}

/// What stands after `mark` up to the next quote.
fn quoted(text: &str, mark: &str) -> String {
    let rest = text.split_once(mark).unwrap_or_else(|| panic!("no {mark} in {text}")).1;
    rest.split('"').next().unwrap().to_owned()
}

/// The work that a page waits for: the address of its events and where it leads.
fn waits(answer: &Answer) -> (String, String) {
    assert_eq!(answer.status, StatusCode::ACCEPTED, "{}", answer.text());
    let text = answer.text();
    (quoted(&text, "data-work=\""), quoted(&text, "data-then=\""))
}

/// Events as a browser takes them from a stream: WHATWG HTML, "server-sent events", 9.2.6 "Interpreting an event stream":
/// lines end with CR LF, LF or CR; `field: value` with one blank after the colon taken off; a line that begins with a
/// colon is a comment; an empty line sends the event, unless it has no data.
fn events(stream: &str) -> Vec<(String, String)> {
    let (mut all, mut name, mut data) = (Vec::new(), String::new(), None::<String>);
    for line in stream.replace("\r\n", "\n").replace('\r', "\n").split('\n') {
        if line.is_empty() {
            if let Some(data) = data.take() {
                all.push((std::mem::take(&mut name), data));
            }
            name.clear();
            continue;
        }
        let (field, value) = line.split_once(':').unwrap_or((line, ""));
        let value = value.strip_prefix(' ').unwrap_or(value);
        match field {
            "event" => value.clone_into(&mut name),
            "data" => data = Some(data.map_or_else(|| value.to_owned(), |data| format!("{data}\n{value}"))),
            "" | "id" | "retry" => {}
            other => panic!("no such field: {other}"),
        }
    }
    assert!(data.is_none(), "the stream breaks off within an event");
    all
}

#[test]
fn a_page_that_takes_long_says_how_far_it_is_and_comes_by_itself() {
    run(async {
        let page = Page::at_once(None);
        let mut client = page.client();
        let job = long_job(&mut client).await;
        let answer = client.look(&job).await;
        let (stream, then) = waits(&answer);
        let text = answer.text();
        assert!(text.contains("<progress") && text.contains("Call it off"), "{text}");
        // Without scripts it looks again by itself, and there is a link; the way to what to do after a stop is there, too.
        let refresh = format!("<noscript><meta http-equiv=\"refresh\" content=\"2;url={then}\"></noscript>");
        assert!(text.contains(&refresh) && text.contains(&format!("href=\"{then}\"")), "{text}");
        assert!(text.contains(&job.replace("/jobs/", "href=\"/stopped?job=")), "{text}");
        // A second tab and a reload meet the same work; so does a picture, which waits.
        let mut other = client.clone();
        assert_eq!(waits(&other.look(&job).await).0, stream);
        assert_eq!(waits(&client.look(&job).await).0, stream);
        let strokes = format!("{job}/strokes");
        let (told, strokes) = tokio::join!(client.look(&stream), other.look(&strokes));
        assert_eq!(told.headers[header::CONTENT_TYPE], "text/event-stream");
        let told = events(&told.text());
        let (last, before) = told.split_last().unwrap();
        assert_eq!((last.0.as_str(), last.1.as_str()), ("ended", "now"), "{told:?}");
        assert!(!before.is_empty() && before.iter().all(|(name, _)| name == "reached"), "{told:?}");
        for (_, row) in before {
            let row: serde_json::Value = serde_json::from_str(row).unwrap();
            assert!(row["says"].as_str().is_some_and(|says| !says.is_empty()), "{row}");
            assert!(row["done"].as_u64() <= row["of"].as_u64(), "{row}");
        }
        assert!(strokes.text().contains("\"stage\":\"to-cut\""));
        // The work's page leads on, and now the page is there at once; so it is asked of a work that nobody knows.
        assert_eq!(client.look(&then.replace("&amp;", "&")).await.to(), job);
        assert_eq!(client.look(&job).await.status, StatusCode::OK);
        let unknown = format!("/works/{}?to={job}", "0".repeat(32));
        assert_eq!(client.look(&unknown).await.to(), job);
        assert_eq!(client.look("/works/x?to=//example.com").await.to(), "/");
        let gone = client.look(&format!("/works/{}/events", "0".repeat(32))).await;
        assert_eq!(events(&gone.text()), [("ended".to_owned(), "now".to_owned())]);
    });
}

#[test]
fn what_is_called_off_changes_nothing_and_is_worked_out_anew_when_asked_for() {
    run(async {
        let page = Page::at_once(None);
        let mut client = page.client();
        let job = endless_job(&mut client).await;
        let list = client.look("/").await.text();
        let waiting = client.look(&job).await;
        let (stream, then) = waits(&waiting);
        let cancel = stream.replace("/events", "/cancel");
        // Only a form that was made here for this visitor calls it off.
        let stranger = page.client().look("/").await.field("form");
        for code in ["", stranger.as_str()] {
            let refused = client.post(&cancel, &[("form", code), ("to", &job)]).await;
            assert_eq!(refused.status, StatusCode::FORBIDDEN);
        }
        let elsewhere = client
            .request("POST", &cancel)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header(header::ORIGIN, "http://example.com")
            .body(Body::from(format!("form={}", waiting.field("form"))))
            .unwrap();
        assert_eq!(client.send(elsewhere).await.status, StatusCode::FORBIDDEN);
        assert_eq!(client.look(&cancel).await.status, StatusCode::METHOD_NOT_ALLOWED);
        assert_eq!(waits(&client.look(&job).await).0, stream, "it still goes on");

        let (mut other, mut third) = (client.clone(), client.clone());
        let form = waiting.field("form");
        let strokes = format!("{job}/strokes");
        let fields = [("form", form.as_str()), ("to", job.as_str())];
        let call_off = async {
            // A picture that is asked for later would begin the work anew.
            tokio::time::sleep(Duration::from_secs(1)).await;
            client.post(&cancel, &fields).await
        };
        let (picture, told, called) = tokio::join!(other.look(&strokes), third.look(&stream), call_off);
        assert_eq!(called.to(), then.replace("&amp;", "&"));
        assert_eq!(picture.status, StatusCode::CONFLICT);
        assert_eq!(events(&told.text()).last().unwrap().0, "ended");
        let off = client.look(&called.to()).await;
        assert_eq!(off.status, StatusCode::OK);
        assert!(off.text().contains("Called off") && off.text().contains(&format!("href=\"{job}\"")));
        assert_eq!(fields_apart(&client.look("/").await.text()), fields_apart(&list), "nothing was changed");
        // Another tab that waited is told the same, and nothing begins by itself; only who asks for it begins it.
        assert!(third.look(&called.to()).await.text().contains("Called off"));
        let again = client.look(&job).await;
        let (anew, _) = waits(&again);
        assert_ne!(anew, stream);
        let form = again.field("form");
        let fields = [("form", form.as_str()), ("to", job.as_str())];
        client.post(&anew.replace("/events", "/cancel"), &fields).await.to();
    });
}

/// Called off within the forecast and within the checks, which on such a plate take most of the time there is.
#[test]
fn what_is_called_off_within_a_stage_leaves_nothing() {
    run(async {
        for stage in ["Motions of the forecast", "ays over loose pieces"] {
            let page = Page::at_once(None);
            std::fs::write(page.shop(), crate::client::demo::SHOP).unwrap();
            let mut client = page.client();
            let job = long_job(&mut client).await;
            let list = client.look("/").await.text();
            let waiting = client.look(&job).await;
            let (stream, then) = waits(&waiting);
            let then = then.replace("&amp;", "&");
            let called = loop {
                let now = client.look(&then).await;
                assert_eq!(now.status, StatusCode::ACCEPTED, "it is through before {stage:?} was seen");
                if now.text().contains(stage) {
                    let form = now.field("form");
                    let fields = [("form", form.as_str()), ("to", job.as_str())];
                    break client.post(&stream.replace("/events", "/cancel"), &fields).await;
                }
                tokio::time::sleep(Duration::from_millis(2)).await;
            };
            assert!(client.look(&called.to()).await.text().contains("Called off"));
            assert_eq!(events(&client.look(&stream).await.text()).last().unwrap().0, "ended");
            assert_eq!(
                fields_apart(&client.look("/").await.text()),
                fields_apart(&list),
                "nothing was changed"
            );
            // What is asked for again is whole.
            let strokes = client.get(&format!("{job}/strokes")).await.text();
            assert_eq!(strokes.matches("\"stage\":\"to-cut\"").count(), CONTOURS as usize);
            assert!(client.page(&job).await.text().contains("nest.nc"));
        }
    });
}

/// A page without what is new in it each time: the values of its hidden fields.
fn fields_apart(text: &str) -> String {
    let parts = text.split("type=\"hidden\"").map(|part| part.split_once('>').map_or(part, |(_, rest)| rest));
    parts.collect()
}

#[test]
fn a_plan_that_takes_long_is_called_off_without_a_trace_in_the_ledger() {
    run(async {
        let page = Page::at_once(None);
        let mut client = page.client();
        let job = long_job(&mut client).await;
        client.page(&job).await;
        let answers: [&[(&str, &str)]; 5] = [
            &[("kind", "arc-lost")],
            &[("cut", "1")],
            &[("kerf_to", "20"), ("kerf_within", "2")],
            &[("fault", "")],
            &[("moved", "no")],
        ];
        let to = told(&mut client, &job, &answers).await;
        let waiting = client.look(&to).await;
        let (stream, _) = waits(&waiting);
        assert!(waiting.text().contains("Working out how to go on"));
        let mut other = client.clone();
        let (form, cancel) = (waiting.field("form"), stream.replace("/events", "/cancel"));
        let fields = [("form", form.as_str()), ("to", to.as_str())];
        let (told, called) = tokio::join!(other.look(&stream), client.post(&cancel, &fields));
        let told = events(&told.text());
        assert_eq!(told.last().unwrap().0, "ended");
        assert!(client.look(&called.to()).await.text().contains("Called off"));
        assert!(client.look("/").await.text().contains("stopped"), "the stop itself is on record");
        let answer = client.page(&to).await;
        assert!(answer.text().contains("Stopped at cut 1") && answer.text().contains("Proven"));
        // The pages beside it have the same plan.
        assert_eq!(client.look(&format!("{to}/where")).await.status, StatusCode::OK);
    });
}

#[test]
fn nobody_calls_anything_off_without_the_passphrase() {
    run(async {
        let page = Page::at_once(Some("a long passphrase"));
        let mut stranger = page.client();
        let path = format!("/works/{}", "0".repeat(32));
        let refused = stranger.post(&format!("{path}/cancel"), &[("form", ""), ("to", "/")]).await;
        assert_eq!(refused.status, StatusCode::FORBIDDEN);
        for path in [format!("{path}/events"), path] {
            assert!(stranger.look(&path).await.to().starts_with("/sign-in?to="), "{path}");
        }
    });
}
