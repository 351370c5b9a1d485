//! The shop file is the truth: it keeps its comments, and what has a mistake is not written.

use crate::client::{Page, run};
use axum::http::StatusCode;

#[test]
fn the_file_is_written_as_it_was_typed() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let starter = client.page("/shop").await;
        assert!(starter.text().contains("There is no shop file yet"));
        assert!(!page.shop().exists(), "nothing is written for the asking");
        let (form, was) = (starter.field("form"), starter.field("was"));
        let text = "# our shop\r\n[table] # the old one\r\nrapid = \"12 m/min\"\r\n";
        let fields = [("form", form.as_str()), ("was", &was), ("text", text)];
        assert_eq!(client.post("/shop", &fields).await.to(), "/shop");
        let kept = std::fs::read_to_string(page.shop()).unwrap();
        assert_eq!(kept, text.replace("\r\n", "\n"), "comments and all");
        assert!(client.page("/shop").await.text().contains("# the old one"));
    });
}

#[test]
fn a_mistake_is_told_by_its_line_and_not_written() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        std::fs::write(page.shop(), "[table]\nrapid = \"12 m/min\"\n").unwrap();
        let shown = client.page("/shop").await;
        let (form, was) = (shown.field("form"), shown.field("was"));
        let text = "[table]\nrapid = \"fast\"\n";
        let checked = client.post("/shop/check", &[("form", &form), ("text", text)]).await.text();
        assert!(checked.contains("1 mistake") && checked.contains("Line 2"), "{checked}");
        let refused = client.post("/shop", &[("form", &form), ("was", &was), ("text", text)]).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(refused.text().contains("&quot;fast&quot;"), "what was typed is not lost");
        assert!(std::fs::read_to_string(page.shop()).unwrap().contains("12 m/min"));
        // A file that was changed meanwhile is not written over.
        std::fs::write(page.shop(), "[table]\nrapid = \"15 m/min\"\n").unwrap();
        let fields = [("form", form.as_str()), ("was", &was), ("text", "[table]\n")];
        let refused = client.post("/shop", &fields).await;
        assert_eq!(refused.status, StatusCode::CONFLICT);
        assert!(std::fs::read_to_string(page.shop()).unwrap().contains("15 m/min"));
        let fields = [("form", form), ("was", refused.field("was")), ("text", "[table]\n".to_owned())];
        let fields: Vec<(&str, &str)> = fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
        assert_eq!(client.post("/shop", &fields).await.to(), "/shop");
    });
}

#[test]
fn nothing_is_worked_out_from_a_shop_file_with_mistakes() {
    run(async {
        let page = Page::new();
        std::fs::write(page.shop(), "[table]\nrapid = \"fast\"\n").unwrap();
        let mut client = page.client();
        let job = client.drop("a.nc", b"G21\nM3\nG1 X5 F1000\nM5\nM30\n", &[]).await.to();
        let answer = client.get(&job).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.text().contains("Go to Shop"));
    });
}
