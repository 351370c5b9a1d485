//! A visitor: sends requests to the service, keeps his cookie, and reads forms off pages.

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{HeaderMap, Request, StatusCode, header};
use ledger::Ledger;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::time::Duration;
use tempfile::TempDir;
use tower::ServiceExt as _;
use web::{App, Options, Passphrase};

/// Host that requests name.
pub(crate) const HOST: &str = "127.0.0.1:8077";

/// A page with a folder of its own, and a clock that stands still unless told.
pub(crate) struct Page {
    pub(crate) folder: TempDir,
    pub(crate) now_ms: Arc<AtomicI64>,
    passphrase: Option<Passphrase>,
    blink: Duration,
    router: Router,
}

impl Page {
    pub(crate) fn new() -> Self {
        Self::with(None)
    }

    pub(crate) fn with(passphrase: Option<&str>) -> Self {
        Self::started(passphrase, web::BLINK)
    }

    /// One that holds no page back: every work that is not through yet is told of, however fast the machine is.
    pub(crate) fn at_once(passphrase: Option<&str>) -> Self {
        Self::started(passphrase, Duration::ZERO)
    }

    fn started(passphrase: Option<&str>, blink: Duration) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let passphrase = passphrase.map(|text| Passphrase::new(text).unwrap());
        let now_ms = Arc::new(AtomicI64::new(1_700_000_000_000));
        let router = start(folder.path(), passphrase.clone(), blink, &now_ms);
        Self { folder, now_ms, passphrase, blink, router }
    }

    /// The same after the program was ended and started again.
    pub(crate) fn restart(&mut self) {
        self.router = start(self.folder.path(), self.passphrase.clone(), self.blink, &self.now_ms);
    }

    pub(crate) fn shop(&self) -> std::path::PathBuf {
        self.folder.path().join("shop.toml")
    }

    pub(crate) fn client(&self) -> Client {
        Client { router: self.router.clone(), cookie: None }
    }

    pub(crate) fn wait_s(&self, seconds: i64) {
        self.now_ms.fetch_add(seconds * 1000, Ordering::SeqCst);
    }
}

fn start(folder: &Path, passphrase: Option<Passphrase>, blink: Duration, now_ms: &Arc<AtomicI64>) -> Router {
    let ledger = Ledger::open(&folder.join("ledger.db")).unwrap();
    let options =
        Options { ledger, shop: folder.join("shop.toml"), secret: b"of a test".to_vec(), passphrase, blink };
    let now_ms = Arc::clone(now_ms);
    web::app(App::new(options, Arc::new(move || now_ms.load(Ordering::SeqCst))))
}

/// A visitor.
#[derive(Clone)]
pub(crate) struct Client {
    pub(crate) router: Router,
    pub(crate) cookie: Option<String>,
}

/// What was answered.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) bytes: Vec<u8>,
}

impl Answer {
    pub(crate) fn text(&self) -> String {
        String::from_utf8(self.bytes.clone()).unwrap()
    }

    pub(crate) fn to(&self) -> String {
        assert_eq!(self.status, StatusCode::SEE_OTHER, "{}", self.text());
        self.headers[header::LOCATION].to_str().unwrap().to_owned()
    }

    /// The value of the first field of this name.
    pub(crate) fn field(&self, name: &str) -> String {
        let text = self.text();
        let mark = format!("name=\"{name}\" value=\"");
        let rest = text.split_once(&mark).unwrap_or_else(|| panic!("no field {name} in {text}")).1;
        rest.split('"').next().unwrap().to_owned()
    }
}

impl Client {
    pub(crate) async fn send(&mut self, request: Request<Body>) -> Answer {
        let answer = self.router.clone().oneshot(request).await.unwrap();
        let (head, body) = answer.into_parts();
        for cookie in head.headers.get_all(header::SET_COOKIE) {
            let cookie = cookie.to_str().unwrap();
            for wanted in ["HttpOnly", "SameSite=Strict", "Path=/"] {
                assert!(cookie.contains(wanted), "{cookie}");
            }
            self.keep(cookie.split(';').next().unwrap());
        }
        for (name, wanted) in [
            ("x-content-type-options", "nosniff"),
            ("x-frame-options", "DENY"),
            ("referrer-policy", "same-origin"),
            ("content-security-policy", "default-src 'none'"),
        ] {
            let found = head.headers.get(name).map(|value| value.to_str().unwrap().to_owned());
            assert!(found.is_some_and(|found| found.contains(wanted)), "every answer has {name}");
        }
        let bytes = to_bytes(body, 64 << 20).await.unwrap().to_vec();
        Answer { status: head.status, headers: head.headers, bytes }
    }

    /// Keeps a cookie beside others of other names.
    fn keep(&mut self, cookie: &str) {
        let name = cookie.split('=').next();
        let others = self.cookie.iter().flat_map(|all| all.split("; "));
        let others = others.filter(|other| other.split('=').next() != name).map(str::to_owned);
        self.cookie = Some(others.chain([cookie.to_owned()]).collect::<Vec<_>>().join("; "));
    }

    /// Chooses the units in which pages are read and typed.
    pub(crate) async fn reads_in(&mut self, unit: &str) {
        let form = self.page("/").await.field("form");
        let to = self.post("/units", &[("form", &form), ("units", unit)]).await.to();
        assert_eq!(to, "/");
    }

    pub(crate) fn request(&self, method: &str, path: &str) -> axum::http::request::Builder {
        let request = Request::builder().method(method).uri(path).header(header::HOST, HOST);
        match &self.cookie {
            Some(cookie) => request.header(header::COOKIE, cookie),
            None => request,
        }
    }

    /// What is answered at once.
    pub(crate) async fn look(&mut self, path: &str) -> Answer {
        let request = self.request("GET", path).body(Body::empty()).unwrap();
        self.send(request).await
    }

    /// What is answered once nothing is waited for any more.
    pub(crate) async fn get(&mut self, path: &str) -> Answer {
        loop {
            let answer = self.look(path).await;
            if answer.status != StatusCode::ACCEPTED {
                return answer;
            }
            tokio::time::sleep(Duration::from_millis(20)).await;
        }
    }

    /// A page that is there.
    pub(crate) async fn page(&mut self, path: &str) -> Answer {
        let answer = self.get(path).await;
        assert_eq!(answer.status, StatusCode::OK, "{path}: {}", answer.text());
        answer
    }

    pub(crate) async fn post(&mut self, path: &str, fields: &[(&str, &str)]) -> Answer {
        let request = self
            .request("POST", path)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .header(header::ORIGIN, format!("http://{HOST}"))
            .body(Body::from(encoded(fields)))
            .unwrap();
        self.send(request).await
    }

    /// Sends a form that stands on `page`, filled in.
    pub(crate) async fn fill(&mut self, page: &Answer, path: &str, fields: &[(&str, &str)]) -> Answer {
        let (form, entry) = (page.field("form"), page.field("entry"));
        let own = [("form", form.as_str()), ("entry", entry.as_str())];
        self.post(path, &[&own[..], fields].concat()).await
    }

    /// Drops a program.
    pub(crate) async fn drop(&mut self, name: &str, program: &[u8], fields: &[(&str, &str)]) -> Answer {
        let page = self.page("/").await;
        let (form, entry, job) = (page.field("form"), page.field("entry"), page.field("job"));
        let own = [("form", form.as_str()), ("entry", entry.as_str()), ("job", job.as_str())];
        self.upload(&[&own[..], fields].concat(), Some((name, program))).await
    }

    pub(crate) async fn upload(&mut self, fields: &[(&str, &str)], file: Option<(&str, &[u8])>) -> Answer {
        let (kind, body) = multipart(fields, file);
        let request = self
            .request("POST", "/plates")
            .header(header::CONTENT_TYPE, kind)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .body(Body::from(body))
            .unwrap();
        self.send(request).await
    }
}

/// A form as browsers send it with a file.
pub(crate) fn multipart(fields: &[(&str, &str)], file: Option<(&str, &[u8])>) -> (String, Vec<u8>) {
    let mut body = Vec::new();
    for (name, value) in fields {
        body.extend(
            format!("--edge\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n").bytes(),
        );
    }
    if let Some((name, bytes)) = file {
        let head = format!(
            "--edge\r\nContent-Disposition: form-data; name=\"program\"; filename=\"{name}\"\r\n\
             Content-Type: application/octet-stream\r\n\r\n"
        );
        body.extend(head.bytes());
        body.extend(bytes);
        body.extend(b"\r\n");
    }
    body.extend(b"--edge--\r\n");
    ("multipart/form-data; boundary=edge".to_owned(), body)
}

fn encoded(fields: &[(&str, &str)]) -> String {
    let escape = |text: &str| text.bytes().map(|byte| format!("%{byte:02X}")).collect::<String>();
    let pairs: Vec<String> =
        fields.iter().map(|(name, value)| format!("{}={}", escape(name), escape(value))).collect();
    pairs.join("&")
}

/// Runs a test's requests one after the other.
pub(crate) fn run(test: impl Future<Output = ()>) {
    tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(test);
}

/// The demo plate.
pub(crate) mod demo {
    pub(crate) const PROGRAM: &[u8] = include_bytes!("../../../../demo/post-bases/program.nc");
    pub(crate) const SHOP: &str = include_str!("../../../../demo/post-bases/shop.toml");
}
