//! What is no program is refused with what to do, nothing is kept of it, and the page goes on.

use crate::client::{HOST, Page, demo, run};
use axum::body::Body;
use axum::http::{StatusCode, header};

#[test]
fn what_is_no_program_is_refused_and_not_kept() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        for (name, bytes, told) in [
            ("empty.nc", &b""[..], "the file is empty"),
            ("a.exe", b"\x7FELF\x02\x01\x01\0\0\0\0\0\0\0\0", "a binary file"),
            ("a.nc", b"\xFF\xFEG\x002\x001\x00", "UTF-16"),
            ("Job.TOML", b"thickness = \"10 mm\"\n", "no cutting program: files with this ending"),
        ] {
            let answer = client.drop(name, bytes, &[]).await;
            assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
            let text = answer.text();
            assert!(text.contains(told) && text.contains("What to do:"), "{name}: {text}");
        }
        assert!(client.page("/").await.text().contains("No job yet"));
    });
}

#[test]
fn two_hundred_megabytes_are_refused_before_they_are_taken_in() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let list = client.page("/").await;
        let head = format!(
            "--edge\r\nContent-Disposition: form-data; name=\"form\"\r\n\r\n{}\r\n\
             --edge\r\nContent-Disposition: form-data; name=\"program\"; filename=\"a.nc\"\r\n\r\n",
            list.field("form")
        );
        // A body that tells how much of it was asked for.
        let sent = std::sync::Arc::new(std::sync::atomic::AtomicUsize::new(0));
        let counted = std::sync::Arc::clone(&sent);
        let chunk = axum::body::Bytes::from("G1 X1 Y1\n".repeat(7_000));
        let chunks = std::iter::once(axum::body::Bytes::from(head))
            .chain(std::iter::repeat_n(chunk, 3_400))
            .map(move |chunk| {
                counted.fetch_add(chunk.len(), std::sync::atomic::Ordering::SeqCst);
                Ok::<_, std::io::Error>(chunk)
            });
        let request = client
            .request("POST", "/plates")
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=edge")
            .header(header::ORIGIN, format!("http://{HOST}"))
            .body(Body::from_stream(Chunks(chunks)))
            .unwrap();
        let answer = client.send(request).await;
        assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
        assert!(answer.text().contains("at most 32 MB"));
        let taken = sent.load(std::sync::atomic::Ordering::SeqCst);
        assert!(taken < 40 << 20, "{taken} bytes were taken in");
        assert!(client.page("/").await.text().contains("No job yet"));
    });
}

/// An iterator as a stream.
struct Chunks<I>(I);

impl<I: Iterator + Unpin> futures_core::Stream for Chunks<I> {
    type Item = I::Item;

    fn poll_next(
        mut self: std::pin::Pin<&mut Self>,
        _: &mut std::task::Context<'_>,
    ) -> std::task::Poll<Option<I::Item>> {
        std::task::Poll::Ready(self.0.next())
    }
}

#[test]
fn wrong_types_and_broken_bodies_are_refused() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        client.page("/").await;
        for (kind, body) in [
            ("text/plain", "G21"),
            ("application/json", "{}"),
            ("multipart/form-data", "no boundary"),
            (
                "multipart/form-data; boundary=edge",
                "--edge\r\nContent-Disposition: form-data; name=\"form\"\r\n\r\nhalf",
            ),
            ("multipart/form-data; boundary=edge", ""),
            ("multipart/form-data; boundary=edge", "--edge\r\n\r\n\r\n--edge--"),
        ] {
            let request = client
                .request("POST", "/plates")
                .header(header::CONTENT_TYPE, kind)
                .header(header::ORIGIN, format!("http://{HOST}"))
                .body(Body::from(body))
                .unwrap();
            let answer = client.send(request).await;
            assert!(answer.status.is_client_error(), "{kind} {body:?}: {}", answer.status);
            assert!(answer.text().contains("What to do:"), "{kind}: an error is a page");
        }
        let many: Vec<(String, String)> = (0..60).map(|k| (format!("f{k}"), "x".to_owned())).collect();
        let form = client.page("/").await.field("form");
        let mut fields = vec![("form", form.as_str())];
        fields.extend(many.iter().map(|(name, value)| (name.as_str(), value.as_str())));
        assert_eq!(client.upload(&fields, None).await.status, StatusCode::BAD_REQUEST, "too many fields");
        let long = "x".repeat(5_000);
        let answer = client.upload(&[("form", &form), ("thickness", &long)], None).await;
        assert_eq!(answer.status, StatusCode::PAYLOAD_TOO_LARGE);
        let answer = client.upload(&[("form", &form)], None).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(answer.text().contains("No program was sent"));
    });
}

#[test]
fn a_name_is_never_a_path() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        for name in
            ["../../ledger.db", "..\\..\\ledger.db", "/etc/passwd", "%2e%2e%2fledger.db", "....//ledger.db"]
        {
            client.drop(name, demo::PROGRAM, &[]).await.to();
        }
        // Files with the shop file's ending are not even taken.
        let refused = client.drop("../../shop.toml", demo::PROGRAM, &[]).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
        let mut files: Vec<String> = std::fs::read_dir(page.folder.path())
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        files.sort();
        assert_eq!(files, ["ledger.db", "ledger.db-shm", "ledger.db-wal"], "nothing else was written");
        for path in [
            "/jobs/../../etc/passwd",
            "/jobs/..%2F..%2Fledger.db",
            "/jobs/%00",
            "/assets/..%2Fpage.css",
            "/assets/page.css",
            "/rules/..%2F..%2Fledger.db",
            "/jobs/00000000000000000000000000000000",
            "/jobs/00000000000000000000000000000000/strokes",
            "/nowhere",
        ] {
            let answer = client.get(path).await;
            assert_eq!(answer.status, StatusCode::NOT_FOUND, "{path}");
            assert!(answer.text().contains("What to do:"), "{path}: an error is a page");
        }
    });
}

/// Whatever stands in a program, its name or a form: it is text.
#[test]
fn a_programs_text_is_never_markup() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        const EVIL: &str = "<script>alert(1)</script>";
        let program = format!("({EVIL})\nG21 G90\nM3 {EVIL}\nG1 X50 F1000 \"onload=x\nM5\nZZ{EVIL}\nM30\n");
        let job = client
            .drop(&format!("{EVIL}.nc"), program.as_bytes(), &[("thickness", EVIL), ("plate", "\"><b>")])
            .await;
        assert_eq!(job.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(!job.text().contains("<script>alert"));
        let list = client.page("/").await.text();
        assert!(!list.contains("<script>alert") && list.contains("script&gt;.nc"), "{list}");
        let job = list.split("href=\"/jobs/").nth(1).unwrap().split('"').next().unwrap();
        let shown = client.page(&format!("/jobs/{job}")).await.text();
        assert!(!shown.contains("<script>alert") && !shown.contains("<b>"));
        let file = client.page(&format!("/jobs/{job}/program")).await;
        assert_eq!(file.bytes, program.as_bytes());
        assert_eq!(file.headers[header::CONTENT_TYPE], "application/octet-stream");
        let note = client.page("/stopped/note?line=%22%3E%3Cscript%3E&job=%3Cscript%3E").await.text();
        assert!(!note.contains("<script>") || !note.contains("\"><script>"));
    });
}

/// A thousand at once: each is taken or told to wait, and the page goes on.
#[test]
fn a_thousand_at_once_do_no_harm() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let list = client.page("/").await;
        let (form, entry) = (list.field("form"), list.field("entry"));
        let tasks: Vec<_> = (0..1000)
            .map(|k| {
                let (mut client, form, entry) = (client.clone(), form.clone(), entry.clone());
                let job = format!("{k:032x}");
                let entry = format!("{k:08x}{}", &entry[8..]);
                tokio::spawn(async move {
                    let fields = [("form", form.as_str()), ("entry", &entry), ("job", &job)];
                    client.upload(&fields, Some(("a.nc", b"G21\nM3\nG1 X5 F1000\nM5\nM30\n"))).await.status
                })
            })
            .collect();
        let mut taken = 0;
        for task in tasks {
            match task.await.unwrap() {
                StatusCode::SEE_OTHER => taken += 1,
                status => assert_eq!(status, StatusCode::SERVICE_UNAVAILABLE),
            }
        }
        assert!(taken > 0);
        assert_eq!(client.page("/").await.text().matches("class=\"job\"").count(), taken);
    });
}
