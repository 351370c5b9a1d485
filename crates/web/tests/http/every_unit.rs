//! Every page that can be reached says its quantities in the unit chosen, and in no other.
//!
//! Left as they are, and not looked at: programs, shop files and what else is typed by people (fields, `pre`, `code`,
//! `translate="no"`), the names that a list offers, strokes for a screen that paints them (numbers without a unit), files
//! that another program reads, and the scale bar of a picture, which has both.

use crate::client::{Answer, Client, Page, demo, run};
use crate::loose_lead::RIGHT;
use crate::main_job::{begun, dropped, stopped};
use crate::refinding::measure;
use axum::http::{StatusCode, header};
use std::collections::BTreeSet;

type Told<'a> = &'a [(&'a str, &'a str)];

/// A program written in inches: a square of 6 in with a hole of 2 in, and a square beside it.
const INCHES: &[u8] =
    b"(INVENTED)\nG20 G90\nG0 X4 Y4\nM3\nG4 P0.5\nG1 X5 F60\nG3 X5 Y4 I-1 J0\nM5\nG0 X0.5 Y1\nM3\nG4 P0.5\n\
    G1 X1\nY7\nX7\nY1\nX1\nM5\nG0 X8.5 Y1\nM3\nG4 P0.5\nG1 X9\nY5\nX13\nY1\nX9\nM5\nM30\n";

/// Addresses without words of ours: what a screen paints, what another program reads, what a person wrote, and streams.
const WORDLESS: [&str; 14] = [
    "/jobs/{job}/program",
    "/jobs/{job}/strokes",
    "/jobs/{job}/run",
    "/jobs/{job}/dimples/{name}",
    "/jobs/{job}/stops/{stop}/begun/strokes",
    "/jobs/{job}/stops/{stop}/strokes",
    "/jobs/{job}/stops/{stop}/ways/{name}/program",
    "/jobs/{job}/stops/{stop}/ways/{name}/trace",
    "/jobs/{job}/stops/{stop}/ways/{name}/changes",
    "/jobs/{job}/stops/{stop}/ways/{name}/plate",
    "/practice/{session}/strokes",
    "/practice/{session}/result.json",
    "/works/{name}/events",
    "/assets/{name}",
];

/// Where nobody is led by a link, each with why.
const UNLED: [&str; 3] = [
    // Only where a passphrase is asked for.
    "/sign-in",
    // Only while something is being worked out.
    "/works/{name}",
    "/works/{name}/events",
];

/// All that GET leads to, as the routes have it.
fn routes() -> Vec<&'static str> {
    let sources =
        [include_str!("../../src/routes.rs"), include_str!("../../src/pages/practice/mod.rs")].into_iter();
    let all = sources.flat_map(|source| source.split(".route(").skip(1));
    all.filter(|route| route.split(".route(").next().is_some_and(|route| route.contains("get(")))
        .map(|route| route.split('"').nth(1).unwrap())
        .collect()
}

/// The route that an address takes.
fn route_of<'a>(routes: &[&'a str], address: &str) -> Option<&'a str> {
    let path = address.split('?').next().unwrap();
    let fits = |route: &&&str| {
        let (wanted, given) = (route.split('/'), path.split('/'));
        wanted.clone().count() == given.clone().count()
            && wanted.zip(given).all(|(wanted, given)| wanted.starts_with('{') || wanted == given)
    };
    // One that names the place goes before one that takes any.
    let found: Vec<&&str> = routes.iter().filter(fits).collect();
    found.iter().min_by_key(|route| route.matches('{').count()).map(|route| **route)
}

/// Addresses of this page that stand on it: links, pictures, and what its scripts ask for.
fn leads_to(text: &str) -> BTreeSet<String> {
    let marks = ["href=\"", "src=\"", "srcset=\"", "data-strokes=\"", "data-run=\""];
    let places = marks.iter().flat_map(|mark| text.split(mark).skip(1));
    let places = places.map(|rest| rest.split('"').next().unwrap().replace("&amp;", "&"));
    // A place on the picture stands for what is tapped.
    let near = text.split("data-near=\"").skip(1).map(|rest| {
        let to = rest.split('"').next().unwrap();
        format!("{to}{}x=1000&y=300&within=200", if to.contains('?') { "&amp;" } else { "?" })
            .replace("&amp;", "&")
    });
    places
        .chain(near)
        .filter(|to| to.starts_with('/') && !to.starts_with("//"))
        .map(|to| to.split('#').next().unwrap().to_owned())
        .collect()
}

/// What is read, seen and heard on a page: texts between tags, and the attributes that a person is told.
fn said(page: &str) -> Vec<String> {
    let (mut said, mut kept): (Vec<String>, Option<(&str, usize)>) = (Vec::new(), None);
    for piece in page.split('<').skip(1) {
        let (tag, text) = piece.split_once('>').unwrap_or((piece, ""));
        let name = tag.trim_start_matches('/').split([' ', '\n', '/']).next().unwrap();
        let is_end = tag.starts_with('/');
        let left =
            ["pre", "code", "textarea", "option", "title", "style", "script", "button"].contains(&name);
        kept = match kept {
            Some((open, 1)) if open == name && is_end => None,
            Some((open, deep)) if open == name && is_end => Some((open, deep - 1)),
            Some((open, deep)) if open == name => Some((open, deep + 1)),
            None if !is_end && (left && name != "button" || tag.contains("translate=\"no\"")) => {
                Some((name, 1))
            }
            // The switch of units names both.
            None if !is_end && tag.contains("name=\"units\"") => Some((name, 1)),
            other => other,
        };
        if kept.is_none() {
            for heard in ["aria-label=\"", "title=\"", "placeholder=\"", "alt=\""] {
                said.extend(tag.split(heard).skip(1).map(|rest| rest.split('"').next().unwrap().to_owned()));
            }
            said.push(text.to_owned());
        }
    }
    said
}

/// Words with a unit of the other system in a text.
fn foreign(text: &str, unit: &str) -> Vec<String> {
    let metric = ["mm", "mm/min", "mm/s2", "bar", "l", "l/min", "cm", "m/min", "litres", "millimetres"];
    let inch = ["in", "in/min", "in/s2", "psi", "cfm", "gal", "inches", "ipm"];
    let others: &[&str] = if unit == "in" { &metric } else { &inch };
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut found = Vec::new();
    for (k, word) in words.iter().enumerate() {
        let word = word.trim_matches(|c: char| "().,;:?!\u{201c}\u{201d}".contains(c));
        let before = k.checked_sub(1).map_or("", |k| words[k]).trim_start_matches(['(', '-', '\u{b1}', '~']);
        let is_number = |text: &str| {
            text.starts_with(|c: char| c.is_ascii_digit()) && text.ends_with(|c: char| c.is_ascii_digit())
        };
        let stuck =
            others.iter().any(|other| *other != "l" && word.strip_suffix(other).is_some_and(is_number));
        // `in` is a word, too: after a whole number it is one unless the sentence ends there.
        let is_word = word == "in" && !before.contains('.') && words[k] == "in" && k + 1 < words.len();
        // Where both are named it is about the two.
        let around = words[k.saturating_sub(2)..(k + 3).min(words.len())].join(" ");
        let named = word == if unit == "in" { "millimetre" } else { "inch" }
            && !(around.contains("inch") && around.contains("millimetre"));
        if named || stuck || others.contains(&word) && is_number(before) && !is_word {
            found.push(words[k.saturating_sub(6)..(k + 3).min(words.len())].join(" "));
        }
    }
    found
}

/// What a file of ours says in the other unit; a picture without its scale bar, whose two texts come first.
fn foreign_in(answer: &Answer, unit: &str) -> Vec<String> {
    let text = answer.text();
    let kind = answer.headers[header::CONTENT_TYPE].to_str().unwrap().to_owned();
    if kind.starts_with("image/svg") {
        let mut texts = said(&text);
        if let Some(bar) = text.find("class=\"line bar\"") {
            let before = said(&text[..bar]).len();
            texts.drain(before..(before + 4).min(texts.len()));
        }
        return texts.iter().flat_map(|text| foreign(text, unit)).collect();
    }
    if kind.starts_with("text/html") {
        // A sentence may have marked words in it.
        let whole = said(&text).join(" ");
        return foreign(&whole, unit);
    }
    foreign(&text, unit)
}

/// Looks at all that can be reached from `/` and by what is `asked` in forms, and says what is told in the other unit.
async fn walked(
    client: &mut Client,
    unit: &str,
    asked: &[String],
    seen: &mut BTreeSet<&'static str>,
) -> Vec<String> {
    client.reads_in(unit).await;
    let routes = routes();
    let mut left = [&["/".to_owned()], asked].concat();
    let mut known: BTreeSet<String> = left.iter().cloned().collect();
    let mut wrong = Vec::new();
    while let Some(address) = left.pop() {
        let route = route_of(&routes, &address).unwrap_or_else(|| panic!("{address} leads nowhere"));
        seen.insert(route);
        if WORDLESS.contains(&route) {
            continue;
        }
        let answer = client.get(&address).await;
        let (status, text) = (answer.status, answer.text());
        assert!(status.is_success() || status == StatusCode::SEE_OTHER, "{address}: {status}: {text}");
        if status == StatusCode::SEE_OTHER {
            continue;
        }
        wrong
            .extend(foreign_in(&answer, unit).into_iter().map(|found| format!("{unit}: {address}: {found}")));
        for to in leads_to(&text) {
            if known.insert(to.clone()) {
                left.push(to);
            }
        }
    }
    wrong
}

async fn taken(client: &mut Client, stop: &str, answer: &Answer) {
    let first = answer.field("way");
    client.fill(answer, &format!("{stop}/take"), &[("way", &first)]).await.to();
}

/// Jobs, stops and sessions of many kinds, so that as much as can be is said somewhere; and what is asked there in forms.
async fn filled(client: &mut Client) -> Vec<String> {
    let mut asked = vec!["/stopped/which".to_owned()];
    // A stop whose lost part is made anew, on the sheet and on a remnant.
    let job = dropped(client).await;
    let lost: [Told<'_>; 5] = [
        &[("kind", "arc-lost")],
        &[("cut", "30")],
        &[("skip", "yes")],
        &[("skip", "yes")],
        &[("moved", "no")],
    ];
    let (stop, answer) = stopped(client, &job, &lost).await;
    taken(client, &stop, &answer).await;
    let done = client.page(&format!("{stop}/salvage?go=yes&parts=5&sheet=same")).await;
    client.fill(&done, &format!("{stop}/salvage"), &[("parts", "5"), ("sheet", "same")]).await.to();
    begun(client, &job).await;
    for made in ["parts=5&sheet=same", "parts=5&sheet=remnant&remnant=400x400&in=mm"] {
        asked.push(format!("{stop}/salvage?go=yes&{made}"));
    }
    // A kerf whose end is told, with a hole blown beside it.
    let job =
        client.drop("kerf.nc", demo::PROGRAM, &[("thickness", "10 mm"), ("plate", "1500x750 mm")]).await.to();
    let kerf: [Told<'_>; 5] = [
        &[("kind", "arc-lost")],
        &[("cut", "42")],
        &[("kerf_to", "120 mm"), ("kerf_within", "2 mm")],
        &[("fault", "NO-TRANSFER")],
        &[("moved", "no")],
    ];
    let (stop, _) = stopped(client, &job, &kerf).await;
    asked.extend(QUESTIONS.map(|question| format!("{stop}/ask?about={question}")));
    // A start that failed, and a way on with a torch-off trace.
    let job = client
        .drop("start.nc", demo::PROGRAM, &[("thickness", "10 mm"), ("plate", "1500x750 mm")])
        .await
        .to();
    let start: [Told<'_>; 4] =
        [&[("kind", "no-transfer")], &[("cut", "37")], &[("fault", "NO-TRANSFER")], &[("moved", "no")]];
    let (stop, answer) = stopped(client, &job, &start).await;
    client.fill(&answer, &format!("{stop}/take"), &[("way", "restart-block")]).await.to();
    // A plate that moved and was measured.
    let job = client
        .drop("moved.nc", demo::PROGRAM, &[("thickness", "10 mm"), ("plate", "1500x750 mm")])
        .await
        .to();
    let moved: [Told<'_>; 4] =
        [&[("kind", "plate-moved")], &[("cut", "43")], &[("none", "yes")], &[("moved", "yes")]];
    let (stop, _) = stopped(client, &job, &moved).await;
    let edge: Told<'_> = &[
        ("x1", "86.5 mm"),
        ("y1", "-3.3 mm"),
        ("x2", "806.4 mm"),
        ("y2", "2.7 mm"),
        ("x3", "1406.4 mm"),
        ("y3", "7.3 mm"),
        ("by", "pointer"),
    ];
    measure(client, &stop, "feature=edge&side=bottom", edge).await;
    let left: Told<'_> =
        &[("x1", "6.0 mm"), ("y1", "56.1 mm"), ("x2", "0.7 mm"), ("y2", "696.0 mm"), ("by", "pointer")];
    measure(client, &stop, "feature=edge&side=left", left).await;
    for (cut, x, y) in [("6", "112.1 mm", "29.6 mm"), ("36", "962.0 mm", "36.5 mm")] {
        let crater = [("x1", x), ("y1", y), ("by", "pointer")];
        measure(client, &stop, &format!("feature=crater&cut={cut}"), &crater).await;
    }
    let places = ["x=2&y=2&within=30", "x=750&y=370&within=200", "feature=edge&side=left", "how=type"];
    asked.extend(places.map(|place| format!("{stop}/measure?{place}")));
    // A program in inches, stopped within a cut.
    let facts = [("thickness", "3/8 in"), ("plate", "48x24 in")];
    let job = client.drop("inches.nc", INCHES, &facts).await.to();
    let inches: [Told<'_>; 5] = [
        &[("kind", "arc-lost")],
        &[("cut", "2")],
        &[("kerf_to", "3 in"), ("kerf_within", "0.08 in")],
        &[("skip", "yes")],
        &[("moved", "no")],
    ];
    let (stop, answer) = stopped(client, &job, &inches).await;
    assert!(answer.text().contains("Proven"), "{}", answer.text());
    taken(client, &stop, &answer).await;
    asked.extend(QUESTIONS.map(|question| format!("{stop}/ask?about={}", question.replace("42", "2"))));
    // Practice, under way and ended.
    for acts in [&RIGHT[..], &RIGHT[..8]] {
        let list = client.page("/practice").await;
        let session = list.field("session");
        let fields =
            [("session", session.as_str()), ("scenario", "loose-lead"), ("by", "Kim"), ("seed", "1")];
        let at = client.fill(&list, "/practice", &fields).await.to();
        for act in acts {
            let page = client.page(&at).await;
            let after = page.field("after");
            client.fill(&page, &format!("{at}/act"), &[("act", act), ("after", &after)]).await.to();
        }
    }
    asked
}

/// Questions, whether they come up at a stop or not.
const QUESTIONS: [&str; 20] = [
    "kind",
    "kind&head=bad",
    "kind&head=halted",
    "kind&head=moved",
    "where",
    "since",
    "good",
    "kerf",
    "kerf&how=place",
    "reached",
    "blown",
    "fault",
    "thickness",
    "moved",
    "pieces",
    "cuts",
    "cut&of=42",
    "cut&of=42&is=groove",
    "strays",
    "noted",
];

#[test]
fn what_is_said_in_the_other_unit_is_seen() {
    for (text, unit, seen) in [
        ("kerf 1.5 mm wide", "in", true),
        ("kerf 1.5 mm wide", "mm", false),
        ("at 0.059 in.", "mm", true),
        ("line 3 in your program", "mm", false),
        ("give or take 2 in", "mm", true),
        ("5.5 bar at the inlet", "in", true),
        ("(60 in/min)", "mm", true),
        ("3mm", "in", true),
        ("program N10mm", "in", false),
        ("a fraction of a millimetre,", "in", true),
    ] {
        assert_eq!(!foreign(text, unit).is_empty(), seen, "{text} for {unit}");
    }
    let page =
        "<p title=\"3 mm\">a <b>4 mm</b></p><pre>5 mm</pre><button name=\"units\" value=\"mm\">mm</button>";
    assert_eq!(said(page).concat(), "3 mma 4 mm");
}

#[test]
fn every_page_is_told_in_the_unit_chosen() {
    run(async {
        let page = Page::new();
        std::fs::write(page.shop(), demo::SHOP).unwrap();
        let mut client = page.client();
        let asked = filled(&mut client).await;
        let (mut wrong, mut seen) = (Vec::new(), BTreeSet::new());
        for unit in ["in", "mm"] {
            wrong.extend(walked(&mut client, unit, &asked, &mut seen).await);
        }
        assert!(wrong.is_empty(), "{} in all: {wrong:#?}", wrong.len());
        let unseen: Vec<&str> =
            routes().into_iter().filter(|route| !seen.contains(route) && !UNLED.contains(route)).collect();
        assert!(unseen.is_empty(), "no link leads there: {unseen:?}");
    });
}
