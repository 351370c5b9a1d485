//! A page that is open to the network.

use crate::client::{Client, Page, run};
use axum::http::StatusCode;

const RIGHT: &str = "grinder lunch slag";

async fn say(client: &mut Client, passphrase: &str) -> StatusCode {
    client.post("/sign-in", &[("to", "/shop"), ("passphrase", passphrase)]).await.status
}

#[test]
fn nothing_but_what_to_do_first_is_open() {
    run(async {
        let page = Page::with(Some(RIGHT));
        let mut client = page.client();
        for path in [
            "/",
            "/shop",
            "/jobs/00000000000000000000000000000000",
            "/stopped/which",
            "/rules/pierce-on-void",
        ] {
            let to = client.get(path).await.to();
            assert!(to.starts_with("/sign-in?to=/"), "{path} leads to {to}");
        }
        for path in ["/stopped", "/stopped/lit", "/stopped/note", "/sign-in"] {
            client.page(path).await;
        }
        assert_eq!(client.post("/shop", &[("text", ""), ("form", "")]).await.status, StatusCode::FORBIDDEN);
        assert!(client.cookie.is_none(), "nobody has a session for the asking");
        assert_eq!(say(&mut client, RIGHT).await, StatusCode::SEE_OTHER);
        assert!(client.page("/shop").await.text().contains("Sign out"));
        let form = client.page("/").await.field("form");
        assert_eq!(client.post("/sign-out", &[("form", &form)]).await.status, StatusCode::SEE_OTHER);
        assert!(client.get("/").await.to().starts_with("/sign-in"));
    });
}

#[test]
fn a_hundred_wrong_ones_get_nowhere() {
    run(async {
        let page = Page::with(Some(RIGHT));
        let mut client = page.client();
        let (mut wrong, mut waits) = (0, 0);
        for k in 0..100 {
            match say(&mut client, &format!("grinder lunch {k}")).await {
                StatusCode::FORBIDDEN => wrong += 1,
                StatusCode::TOO_MANY_REQUESTS => waits += 1,
                other => panic!("{other}"),
            }
        }
        assert_eq!((wrong, waits), (5, 95));
        let refused = client.post("/sign-in", &[("passphrase", RIGHT)]).await;
        assert_eq!(refused.status, StatusCode::TOO_MANY_REQUESTS, "the right one waits too");
        let after: i64 = refused.headers["retry-after"].to_str().unwrap().parse().unwrap();
        page.wait_s(after);
        assert_eq!(say(&mut client, RIGHT).await, StatusCode::SEE_OTHER);
    });
}

#[test]
fn a_session_outlives_a_restart_but_not_a_month() {
    run(async {
        let mut page = Page::with(Some(RIGHT));
        let mut client = page.client();
        assert_eq!(say(&mut client, RIGHT).await, StatusCode::SEE_OTHER);
        page.restart();
        let mut again = Client { cookie: client.cookie.clone(), ..page.client() };
        again.page("/").await;
        page.wait_s(31 * 24 * 3600);
        assert!(again.get("/").await.to().starts_with("/sign-in"));
    });
}
