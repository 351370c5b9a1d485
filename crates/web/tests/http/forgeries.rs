//! Requests that do not come from a page of ours change nothing.

use crate::client::{Client, HOST, Page, demo, run};
use axum::body::Body;
use axum::http::{Request, StatusCode, header};

async fn job(client: &mut Client) -> String {
    client.drop("a.nc", demo::PROGRAM, &[("thickness", "10 mm")]).await.to()
}

#[test]
fn a_form_made_elsewhere_is_refused() {
    run(async {
        let page = Page::new();
        let (mut mine, mut yours) = (page.client(), page.client());
        let job = job(&mut mine).await;
        let form = mine.page(&job).await;
        let stranger = yours.page("/").await.field("form");
        let entry = form.field("entry");
        for code in ["", "0", &stranger, &form.field("form").to_uppercase()] {
            let path = format!("{job}/facts");
            let answer = mine.post(&path, &[("form", code), ("entry", &entry), ("thickness", "20 mm")]).await;
            assert_eq!(answer.status, StatusCode::FORBIDDEN, "{code:?}");
            assert!(answer.text().contains("Nothing was changed"));
        }
        let code = form.field("form");
        let answer = mine.upload(&[("entry", &entry), ("job", &entry)], Some(("b.nc", demo::PROGRAM))).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "no code");
        let answer = mine.upload(&[("entry", &entry), ("form", &code)], Some(("b.nc", demo::PROGRAM))).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN, "the code comes first");
        assert!(mine.page(&job).await.text().contains("value=\"10 mm\""), "nothing was changed");
    });
}

#[test]
fn a_post_from_another_site_is_refused_whatever_it_brings() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = job(&mut client).await;
        let form = client.page(&job).await;
        let body = format!("form={}&entry={}&thickness=20+mm", form.field("form"), form.field("entry"));
        let origin = format!("http://{HOST}");
        for (name, value) in [
            ("origin", "http://example.com"),
            ("origin", "null"),
            ("origin", "http://127.0.0.1:8078"),
            ("origin", "file://"),
            ("sec-fetch-site", "cross-site"),
            ("sec-fetch-site", "same-site"),
        ] {
            let request = client
                .request("POST", &format!("{job}/facts"))
                .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
                .header(name, value)
                .body(Body::from(body.clone()))
                .unwrap();
            assert_eq!(client.send(request).await.status, StatusCode::FORBIDDEN, "{name}: {value}");
        }
        for kind in ["text/plain", "application/json", ""] {
            let request = client
                .request("POST", &format!("{job}/facts"))
                .header(header::CONTENT_TYPE, kind)
                .header(header::ORIGIN, &origin)
                .body(Body::from(body.clone()))
                .unwrap();
            assert_eq!(client.send(request).await.status, StatusCode::UNSUPPORTED_MEDIA_TYPE, "{kind}");
        }
        assert!(client.page(&job).await.text().contains("value=\"10 mm\""), "nothing was changed");
    });
}

#[test]
fn without_a_session_nothing_changes() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = job(&mut client).await;
        let form = client.page(&job).await;
        client.cookie = None;
        let fields = [("form", form.field("form")), ("entry", form.field("entry"))];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        let answer = client.post(&format!("{job}/facts"), &fields).await;
        assert_eq!(answer.status, StatusCode::FORBIDDEN);
    });
}

/// Another site's name that is made to lead to this computer opens nothing.
#[test]
fn only_this_computers_own_names_lead_here() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        for (host, status) in [
            ("127.0.0.1:8077", StatusCode::OK),
            ("localhost:8077", StatusCode::OK),
            ("LOCALHOST", StatusCode::OK),
            ("[::1]:8077", StatusCode::OK),
            ("example.com:8077", StatusCode::MISDIRECTED_REQUEST),
            ("127.0.0.1.example.com", StatusCode::MISDIRECTED_REQUEST),
            ("192.0.2.7:8077", StatusCode::MISDIRECTED_REQUEST),
            ("", StatusCode::MISDIRECTED_REQUEST),
        ] {
            let request = Request::builder().uri("/").header(header::HOST, host).body(Body::empty()).unwrap();
            assert_eq!(client.send(request).await.status, status, "{host}");
        }
        for method in ["PUT", "DELETE", "PATCH", "OPTIONS", "TRACE"] {
            let request = client.request(method, "/").body(Body::empty()).unwrap();
            assert_eq!(client.send(request).await.status, StatusCode::METHOD_NOT_ALLOWED, "{method}");
        }
    });
}

#[test]
fn no_page_asks_another_host_for_anything() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = job(&mut client).await;
        for path in ["/", "/shop", "/stopped", "/rules/pierce-on-void", &job] {
            let answer = client.page(path).await;
            let text = answer.text();
            for mark in [
                "src=\"http",
                "href=\"http",
                "src=\"//",
                "href=\"//",
                " style=\"",
                "<style",
                "onclick",
                "javascript:",
            ] {
                assert!(!text.contains(mark), "{path} holds {mark}");
            }
            // Every script stands in a file of ours.
            assert_eq!(
                text.matches("<script").count(),
                text.matches("<script type=\"module\" src=\"/assets/").count(),
                "{path}"
            );
            for asset in text.split("\"/assets/").skip(1).map(|rest| rest.split('"').next().unwrap()) {
                let asset = client.page(&format!("/assets/{asset}")).await;
                assert!(
                    !asset.bytes.is_empty()
                        && asset.headers[header::CACHE_CONTROL].to_str().unwrap().contains("immutable")
                );
            }
        }
    });
}
