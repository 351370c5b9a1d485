//! An address that nobody here made is answered by a page that says what to do, never by a bare line of text.

use crate::client::{Page, demo, run};
use axum::http::{StatusCode, header};

const NOBODY: &str = "00000000000000000000000000000000";

#[test]
fn a_malformed_address_is_answered_by_a_page() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let job = client.drop("a.nc", demo::PROGRAM, &[]).await.to();
        let not_found = StatusCode::NOT_FOUND;
        let bad = StatusCode::BAD_REQUEST;
        for (path, status) in [
            ("/jobs/%FF".to_owned(), not_found),
            ("/jobs/1".to_owned(), not_found),
            (format!("/jobs/{NOBODY}/picture.svg"), not_found),
            ("/jobs/%FF/stops/%FE".to_owned(), not_found),
            (format!("{job}/stops/%FF"), not_found),
            (format!("{job}/stops/1/ask?about=kind"), not_found),
            (format!("{job}/stops/{NOBODY}"), not_found),
            (format!("{job}/stops/{NOBODY}/ways/%FF/program"), not_found),
            ("/rules/%FF".to_owned(), not_found),
            ("/assets/%FF".to_owned(), not_found),
            ("/stopped?line=1&line=2".to_owned(), bad),
            ("/stopped/note?x=1&x=2".to_owned(), bad),
            ("/sign-in?to=/&to=/".to_owned(), bad),
            (format!("{job}/stops/{NOBODY}/begun/near?x=1&y=2&within=a"), bad),
            // There, but only for what a form sends.
            (format!("{job}/facts"), StatusCode::METHOD_NOT_ALLOWED),
            ("/sign-out".to_owned(), StatusCode::METHOD_NOT_ALLOWED),
        ] {
            let answer = client.get(&path).await;
            assert_eq!(answer.status, status, "{path}");
            assert_eq!(answer.headers[header::CONTENT_TYPE], "text/html; charset=utf-8", "{path}");
            assert!(answer.text().contains("What to do:"), "{path}: {}", answer.text());
        }
        let answer = client.post("/rules/pierce-on-void", &[]).await;
        assert_eq!(answer.status, StatusCode::METHOD_NOT_ALLOWED);
        assert!(answer.text().contains("What to do:"));
        let long = "x".repeat(600_000);
        let answer = client.post("/sign-in", &[("passphrase", &long)]).await;
        assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
        assert!(answer.text().contains("What to do:"));
    });
}
