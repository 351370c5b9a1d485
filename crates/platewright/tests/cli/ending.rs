//! `serve` told to end: what is under way is answered, whoever is being told something is let go, and the ledger is whole.

use crate::folder::Folder;
use ledger::Ledger;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Longer than this nobody waits for a program to end.
const A_FEW_SECONDS: Duration = Duration::from_secs(8);
/// However busy the machine is, an answer comes within this.
const ANSWERS_IN: Duration = Duration::from_secs(120);

const SMALL: &str = "G21 G90\nG0 X10 Y10\nM3\nG1 X60 F2000\nY60\nX10\nY10\nM5\nM30\n";

/// The page in a process of its own.
struct Served {
    child: Child,
    said: BufReader<std::process::ChildStdout>,
    host: String,
}

impl Served {
    fn start(folder: &Folder) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_platewright"))
            .args(["serve", "--port", "0"])
            .current_dir(folder.path())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program can be started");
        let mut said = BufReader::new(child.stdout.take().expect("it has an output"));
        let mut line = String::new();
        said.read_line(&mut line).expect("it says where the page is");
        let host = line.trim().strip_prefix("The page is at http://").expect("it says where the page is");
        let host = host.trim_end_matches('/').to_owned();
        Self { child, said, host }
    }

    /// Sends a signal to it, and to nothing else.
    fn signal(&self, name: &str) {
        let sent = Command::new("kill").args([name, &self.child.id().to_string()]).status();
        assert!(sent.expect("there is a program `kill`").success(), "{name}");
    }

    /// Its status and what it said last, once it has ended.
    fn ended(mut self) -> (Option<i32>, String) {
        let begun = Instant::now();
        let status = loop {
            if let Some(status) = self.child.try_wait().expect("it can be waited for") {
                break status;
            }
            if begun.elapsed() > A_FEW_SECONDS {
                self.child.kill().expect("it can be killed");
                panic!("it has not ended within {A_FEW_SECONDS:?}");
            }
            std::thread::sleep(Duration::from_millis(20));
        };
        let mut rest = String::new();
        self.said.read_to_string(&mut rest).expect("what it says is text");
        (status.code(), rest)
    }

    fn connect(&self) -> TcpStream {
        let socket = TcpStream::connect(&self.host).expect("it listens");
        socket.set_read_timeout(Some(ANSWERS_IN)).expect("a timeout can be set");
        socket
    }

    /// Sends a request; the connection waits for the answer.
    fn ask(&self, request: &str) -> TcpStream {
        let mut socket = self.connect();
        socket.write_all(request.as_bytes()).expect("it reads");
        socket
    }

    fn get(&self, cookie: &str, path: &str) -> TcpStream {
        let host = &self.host;
        self.ask(&format!(
            "GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nCookie: {cookie}\r\n\r\n"
        ))
    }
}

/// All of an answer, up to the end of its connection.
fn whole(mut socket: TcpStream) -> String {
    let mut answer = Vec::new();
    socket.read_to_end(&mut answer).expect("the connection is closed, not broken");
    String::from_utf8_lossy(&answer).into_owned()
}

/// What stands after `mark` up to the next quote.
fn quoted(text: &str, mark: &str) -> String {
    let rest = text.split_once(mark).unwrap_or_else(|| panic!("no {mark} in {text}")).1;
    rest.split('"').next().expect("there is a first piece").to_owned()
}

/// The form that drops a program, filled in as on the page of plates: its request.
fn drop_of(host: &str, cookie: &str, list: &str, name: &str, program: &str) -> String {
    let mut body = String::new();
    for field in ["form", "entry", "job"] {
        let value = quoted(list, &format!("name=\"{field}\" value=\""));
        body.push_str(&format!(
            "--edge\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n"
        ));
    }
    body.push_str(&format!(
        "--edge\r\nContent-Disposition: form-data; name=\"thickness\"\r\n\r\n10 mm\r\n\
         --edge\r\nContent-Disposition: form-data; name=\"program\"; filename=\"{name}\"\r\n\
         Content-Type: application/octet-stream\r\n\r\n{program}\r\n--edge--\r\n"
    ));
    format!(
        "POST /plates HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nConnection: close\r\nCookie: {cookie}\r\n\
         Content-Type: multipart/form-data; boundary=edge\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )
}

/// Told to end while a program is half sent, a plate is being worked out, a picture waits for it and a page is told how
/// far it is.
fn ends_in_good_order(signal: &str) {
    let folder = Folder::new();
    let served = Served::start(&folder);
    let host = served.host.clone();
    let list = whole(served.get("", "/"));
    let cookie = list.lines().find_map(|line| line.strip_prefix("set-cookie: ")).expect("a session");
    let cookie = cookie.split(';').next().expect("a cookie").to_owned();

    // A program that takes long to read, a picture that waits for it, and a page that is told how far it is.
    let million = nests::million_blocks(7);
    let dropped = whole(served.ask(&drop_of(&host, &cookie, &list, "million.nc", &million)));
    let job = dropped.lines().find_map(|line| line.strip_prefix("location: ")).expect("a job").to_owned();
    let waiting = whole(served.get(&cookie, &job));
    assert!(waiting.starts_with("HTTP/1.1 202"), "it is through already: {waiting}");
    let stream = served.get(&cookie, &quoted(&waiting, "data-work=\""));
    let mut told = BufReader::new(stream.try_clone().expect("a second hold of it"));
    let mut heard = String::new();
    while !heard.contains("event: reached") {
        assert_ne!(told.read_line(&mut heard).expect("it is told"), 0, "the stream ends: {heard}");
    }
    let picture = served.get(&cookie, &format!("{job}/strokes"));

    // A program of which half is sent.
    let list = whole(served.get(&cookie, "/"));
    let small = drop_of(&host, &cookie, &list, "small.nc", SMALL);
    let (first, rest) = small.split_at(small.len() - 40);
    let mut half = served.ask(first);
    std::thread::sleep(Duration::from_millis(300));

    let begun = Instant::now();
    served.signal(signal);
    told.read_to_string(&mut heard).expect("the stream is ended, not broken");
    assert!(heard.trim_end().ends_with('0'), "the last chunk says that it is the last: {heard:?}");
    half.write_all(rest.as_bytes()).expect("it still reads what was begun");
    let kept = whole(half);
    assert!(kept.starts_with("HTTP/1.1 303"), "{kept}");
    let refused = whole(picture);
    assert!(refused.starts_with("HTTP/1.1 409") && refused.contains("called off"), "{refused}");
    let (status, said) = served.ended();
    assert_eq!(status, Some(0), "{said}");
    assert!(begun.elapsed() < A_FEW_SECONDS, "{:?}", begun.elapsed());
    assert!(said.ends_with("The page is closed. What was entered is kept.\n"), "{said}");
    assert!(TcpStream::connect(&host).is_err(), "nobody listens any more");

    let ledger = Ledger::open(&folder.path().join("platewright-ledger/ledger.db")).expect("a ledger");
    let jobs = ledger.jobs().expect("they are there");
    let mut programs: Vec<_> = jobs.into_iter().map(|job| (job.name, job.program)).collect();
    programs.sort_by(|a, b| a.0.cmp(&b.0));
    let texts = [("million.nc", million.as_str()), ("small.nc", SMALL)];
    assert_eq!(programs.len(), texts.len(), "{programs:?}");
    for ((name, text), (kept, id)) in texts.into_iter().zip(programs) {
        assert_eq!(kept, name);
        assert_eq!(&*ledger.text(id).expect("it is there"), text.as_bytes(), "{name}");
    }
}

#[test]
fn a_request_to_terminate_ends_it_in_good_order() {
    ends_in_good_order("-TERM");
}

#[test]
fn ctrl_c_ends_it_in_good_order() {
    ends_in_good_order("-INT");
}
