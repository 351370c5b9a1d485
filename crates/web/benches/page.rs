//! Pages of a job of 10,000 contours, as the server makes them once the job is read; and how long the reading takes.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use criterion::{Criterion, criterion_group, criterion_main};
use ledger::{Entry, Event, Id, JobOpened, Ledger, Moment, Text};
use std::sync::Arc;
use std::time::Duration;
use tempfile::TempDir;
use tokio::runtime::Runtime;
use tower::ServiceExt as _;
use web::{App, Options};

const CONTOURS: u32 = 10_000;

struct Site {
    _folder: TempDir,
    router: Router,
}

fn site() -> Site {
    let folder = tempfile::tempdir().expect("a folder");
    let mut ledger = Ledger::open(&folder.path().join("ledger.db")).expect("a ledger");
    let (text, _) = nests::program_of(CONTOURS, 7);
    let program = Text::new(text.into_bytes());
    let facts = "thickness = \"10 mm\"\n".to_owned();
    let opened = JobOpened { name: "nest.nc".into(), program: program.id(), facts };
    let opened = Event { id: job(), of: job(), at: Moment(0), entry: Entry::JobOpened(opened) };
    ledger.append(&[opened], &[program]).expect("kept");
    let shop = folder.path().join("shop.toml");
    let options =
        Options { ledger, shop, secret: b"of a bench".to_vec(), passphrase: None, blink: web::BLINK };
    Site { _folder: folder, router: web::app(App::new(options, Arc::new(|| 0))) }
}

fn job() -> Id {
    Id::new([9; 16])
}

/// The length of a page, once what it says is worked out.
async fn get(router: &Router, path: &str) -> usize {
    loop {
        let (status, length) = look(router, path).await;
        if status != StatusCode::ACCEPTED {
            assert_eq!(status, StatusCode::OK, "{path}");
            return length;
        }
        tokio::time::sleep(Duration::from_millis(20)).await;
    }
}

async fn look(router: &Router, path: &str) -> (StatusCode, usize) {
    let request = Request::builder().uri(path).header(header::HOST, "127.0.0.1:1").body(Body::empty());
    let answer = router.clone().oneshot(request.expect("a request")).await.expect("an answer");
    let status = answer.status();
    (status, to_bytes(answer.into_body(), usize::MAX).await.expect("a body").len())
}

fn pages(c: &mut Criterion) {
    let runtime = Runtime::new().expect("threads");
    let site = site();
    let mut group = c.benchmark_group("page of 10,000 contours");
    group.sample_size(10).measurement_time(Duration::from_secs(2)).warm_up_time(Duration::from_millis(500));
    let job = format!("/jobs/{}", job());
    for (name, path) in
        [("plates", "/"), ("job", ""), ("strokes", "/strokes"), ("run", "/run"), ("time.svg", "/time.svg")]
    {
        let path = if name == "plates" { path.to_owned() } else { format!("{job}{path}") };
        group.bench_function(name, |b| {
            b.iter(|| runtime.block_on(get(&site.router, &path)));
        });
    }
    group.finish();
}

criterion_group!(benches, pages);
criterion_main!(benches);
