//! A plate that moved: what is tapped is named, what is measured is kept and fitted, and can be taken back.

use crate::client::{Answer, Client, Page, run};
use crate::main_job::{dropped, stopped};
use axum::http::StatusCode;

type Told<'a> = &'a [(&'a str, &'a str)];

/// A stop before cut 43 on a plate that moved, as in `demo/stops/plate-moved`.
async fn moved(client: &mut Client) -> String {
    let job = dropped(client).await;
    let answers: [Told<'_>; 4] =
        [&[("kind", "plate-moved")], &[("cut", "43")], &[("none", "yes")], &[("moved", "yes")]];
    let (stop, answer) = stopped(client, &job, &answers).await;
    let text = answer.text();
    assert!(text.contains("Measure a place") && text.contains("No restart program can be proven."), "{text}");
    stop
}

/// Fills in the form at an address below `measure`.
pub(crate) async fn measure(client: &mut Client, stop: &str, query: &str, fields: Told<'_>) -> Answer {
    let form = client.page(&format!("{stop}/measure?{query}")).await;
    let mut own: Vec<(String, String)> = vec![("measurement".into(), form.field("measurement"))];
    for hidden in ["feature", "cut", "side", "plan"] {
        if form.text().contains(&format!("type=\"hidden\" name=\"{hidden}\"")) {
            own.push((hidden.into(), form.field(hidden)));
        }
    }
    let own: Vec<(&str, &str)> = own.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let to = client.fill(&form, &format!("{stop}/measure"), &[&own[..], fields].concat()).await.to();
    assert_eq!(to, format!("{stop}/where"));
    client.page(&to).await
}

#[test]
fn a_plate_that_moved_is_found_again() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let stop = moved(&mut client).await;
        let first = client.page(&format!("{stop}/where")).await.text();
        assert!(first.contains("Measure next, what tells most first"), "{first}");
        let bottom: Told<'_> = &[
            ("x1", "86.5"),
            ("y1", "-3.3"),
            ("x2", "806.4"),
            ("y2", "2.7"),
            ("x3", "1406.4"),
            ("y3", "7.3"),
            ("by", "pointer"),
        ];
        measure(&mut client, &stop, "feature=edge&side=bottom", bottom).await;
        let left: Told<'_> =
            &[("x1", "6.0"), ("y1", "56.1"), ("x2", "0.7"), ("y2", "696.0"), ("by", "pointer")];
        let fitted = measure(&mut client, &stop, "feature=edge&side=left", left).await.text();
        assert!(
            fitted.contains("Off the fit") && fitted.contains("m1 the plate's bottom edge, place 1"),
            "{fitted}"
        );
        measure(
            &mut client,
            &stop,
            "feature=crater&cut=6",
            &[("x1", "112.1"), ("y1", "29.6"), ("by", "pointer")],
        )
        .await;
        let crater: Told<'_> = &[("x1", "962.0"), ("y1", "36.5"), ("by", "pointer")];
        let found = measure(&mut client, &stop, "feature=crater&cut=36", crater).await.text();
        assert!(found.contains("crater of 36 at 962.0,36.5 mm by pointer"), "{found}");
        assert!(
            found.contains("Safe</strong>: part") || found.contains("Safe if you also measure"),
            "{found}"
        );
        assert!(client.page(&format!("{stop}/picture.svg")).await.text().contains("class=\"landing\""));
        assert!(client.page(&stop).await.text().contains("Price: "), "the rest can be cut where it lies");

        // A slip of a digit is named, and taken back.
        let slip: Told<'_> = &[("x1", "791.8"), ("y1", "54.9"), ("by", "pointer")];
        let odd = measure(&mut client, &stop, "feature=crater&cut=30", slip).await;
        assert!(odd.text().contains("does not fit: left out"), "{}", odd.text());
        let last = odd
            .text()
            .rsplit("name=\"measurement\" value=\"")
            .next()
            .unwrap()
            .split('"')
            .next()
            .unwrap()
            .to_owned();
        let fields = [("measurement", last.as_str()), ("back", "yes")];
        client.fill(&odd, &format!("{stop}/measure"), &fields).await.to();
        let back = client.page(&format!("{stop}/where")).await.text();
        assert!(!back.contains("crater of 30") && !back.contains("does not fit"), "{back}");
    });
}

#[test]
fn what_is_tapped_is_named() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let stop = moved(&mut client).await;
        let near = |query: &str| format!("{stop}/measure?{query}");
        let corner = client.page(&near("x=2&y=2&within=30")).await.text();
        for wanted in ["Which of these", "The plate's lower left corner", "The plate's bottom edge"] {
            assert!(corner.contains(wanted), "{wanted}: {corner}");
        }
        let nothing = client.page(&near("x=750&y=700&within=2")).await.text();
        assert!(nothing.contains("There is nothing to measure there."), "{nothing}");
        // An edge is sighted at two places at least, a corner at one; bare numbers count as the form says.
        let edge = client.page(&near("feature=edge&side=left")).await;
        assert_eq!(edge.text().matches("required").count(), 4, "{}", edge.text());
        let corner = client.page(&near("feature=corner&side=lower-left")).await;
        assert_eq!(corner.text().matches("required").count(), 2);
        let inches: Told<'_> = &[("x1", "1"), ("y1", "2"), ("in", "in"), ("by", "tip")];
        let kept = measure(&mut client, &stop, "feature=corner&side=lower-left", inches).await.text();
        assert!(
            kept.contains("corner lower-left at 1,2 in by tip") && kept.contains("X 25.4 Y 50.8 mm"),
            "{kept}"
        );
        for wrong in [
            "feature=crater&cut=64",
            "feature=hole&cut=63",
            "feature=crater&cut=999",
            "feature=edge&cut=6&plan=700,700",
        ] {
            assert_eq!(client.get(&near(wrong)).await.status, StatusCode::UNPROCESSABLE_ENTITY, "{wrong}");
        }
        for wrong in ["feature=moon", "x=NaN&y=1&within=1", "feature=edge&plan=a,b", "x=1&y=1&within=-1"] {
            assert_eq!(client.get(&near(wrong)).await.status, StatusCode::BAD_REQUEST, "{wrong}");
        }
        let form = client.page(&near("feature=edge&side=left")).await;
        let measurement = form.field("measurement");
        let one = [
            ("measurement", measurement.as_str()),
            ("feature", "edge"),
            ("side", "left"),
            ("x1", "1"),
            ("y1", "2"),
        ];
        let refused = client.fill(&form, &format!("{stop}/measure"), &one).await;
        assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "one place of an edge");
    });
}

#[test]
fn the_pointer_is_checked_on_a_known_mark() {
    run(async {
        let page = Page::new();
        let mut client = page.client();
        let stop = moved(&mut client).await;
        let corner: Told<'_> = &[("x1", "10"), ("y1", "20"), ("by", "pointer")];
        let unchecked = measure(&mut client, &stop, "feature=corner&side=lower-left", corner).await.text();
        assert!(
            unchecked.contains("was never checked") && unchecked.contains("offset is not told"),
            "{unchecked}"
        );
        let form = client.page(&format!("{stop}/pointer")).await;
        let mark = [("spot_x", "1"), ("spot_y", "2"), ("tip_x", "63"), ("tip_y", "2")];
        client.fill(&form, &format!("{stop}/pointer"), &mark).await.to();
        let checked = client.page(&format!("{stop}/where")).await.text();
        assert!(
            checked.contains("The pointer was checked on a mark.") && checked.contains("X 72 Y 20 mm"),
            "{checked}"
        );
        let form = client.page(&format!("{stop}/pointer")).await;
        assert!(form.text().contains("value=\"63 mm\""));
        // An offset told that the mark contradicts is said.
        let odd = [mark.as_slice(), &[("offset_x", "70"), ("offset_y", "0")]].concat();
        client.fill(&form, &format!("{stop}/pointer"), &odd).await.to();
        assert!(
            client
                .page(&format!("{stop}/where"))
                .await
                .text()
                .contains("as told and as checked on the mark differ")
        );
    });
}
