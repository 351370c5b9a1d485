//! Measuring a plate that moved: what is sighted, tapped on the picture; then what the control shows there.

use super::ask::unit_choice;
use super::frame::{own_entry, screen};
use super::plate_view::{PlateView, Tap};
use crate::address::{Asked, AtStop, OfStop};
use crate::app::new_id;
use crate::facts::with_unit;
use crate::fields::Fields;
use crate::planned::Planned;
use crate::problem::Problem;
use crate::report;
use axum::response::{Html, IntoResponse, Redirect, Response};
use geometry::Point;
use ledger::{Entry, Measured, StopReported};
use maud::{Markup, html};
use rescue::refind::{Named, shown};
use serde::Deserialize;
use shop::{Feature, Lip, PlateSide, Pointer, PointerMark, SightedBy, StopReport, Worded};
use units::Length;

/// Features proposed for measuring.
const NEXT: usize = 2;
/// Places of one feature that a form takes at most.
const PLACES_MOST: usize = 5;

/// What is asked for.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Sight {
    /// A tapped place, and how far a finger may be off it.
    x: Option<f64>,
    y: Option<f64>,
    within: Option<f64>,
    /// The feature, as a measurement names it.
    #[serde(default)]
    feature: String,
    cut: Option<u32>,
    #[serde(default)]
    side: String,
    /// Where the program has it, in millimetres: X,Y.
    #[serde(default)]
    plan: String,
    #[serde(default)]
    how: String,
}

/// A screen on which something is measured.
struct Measuring<'a> {
    of: OfStop<'a>,
    planned: &'a Planned,
    unit: &'static str,
}

/// What is sighted, or what the control shows there.
pub(crate) async fn ask(at: AtStop, Asked(sight): Asked<Sight>) -> Result<Response, Problem> {
    at.planned_page(move |of, planned| {
        let measuring = Measuring { of, planned, unit: planned.opened().unit() };
        if !sight.feature.is_empty() {
            return measuring.read_off(&sight);
        }
        if sight.how == "type" {
            return Ok(measuring.typed());
        }
        match (sight.x, sight.y, sight.within) {
            (Some(x), Some(y), Some(within)) => measuring.near(Point::new(x, y), within),
            _ => measuring.pick(),
        }
    })
    .await
}

impl Measuring<'_> {
    fn path(&self) -> String {
        format!("{}/measure", self.of.path())
    }

    /// What is sighted?
    fn pick(&self) -> Result<Html<String>, Problem> {
        let read = self.planned.read();
        let rescued = self.planned.rescued()?;
        let next = rescued.measure_next(&read.inputs, &read.reading);
        let picture = PlateView {
            strokes: format!("{}/strokes", self.of.path()),
            picture: format!("{}/picture.svg", self.of.path()),
            label: "The plate where it was begun: tap what you sight".to_owned(),
            tap: Tap::There,
            near: Some(&self.path()),
        };
        Ok(screen(
            "What do you sight?",
            Some(&format!("{}/where", self.of.path())),
            &html! {
                h1 { "What do you sight?" }
                p.faint { "Tap it on the picture, or take what tells most." }
                div.low { (picture.markup()) }
                div.choices {
                    @for (next, named) in next.iter().take(NEXT) { a.button.main href=(address(&self.path(), named)) { (report::sentence(&next.name)) } }
                }
                div.choices.two {
                    a.button href={ (self.path()) "?how=type" } { "Another mark" }
                    a.button href={ (self.of.path()) "/pointer" } { "Pointer or tip" }
                }
            },
        ))
    }

    /// What lies near a tapped place.
    fn near(&self, at: Point<geometry::Program>, within_mm: f64) -> Result<Html<String>, Problem> {
        if !(at.x.is_finite() && at.y.is_finite() && within_mm.is_finite() && within_mm >= 0.0) {
            return Err(Problem::malformed());
        }
        let read = self.planned.read();
        let named = self.planned.rescued()?.measurable(&read.inputs, &read.reading, at, within_mm);
        if let [only] = &named[..] {
            return Ok(self.form(only));
        }
        Ok(screen(
            "What do you sight?",
            Some(&self.path()),
            &html! {
                h1 { @if named.is_empty() { "There is nothing to measure there." } @else { "Which of these do you sight?" } }
                @if named.is_empty() {
                    p { "Corners, edges, holes and craters that are cut, and that the skeleton still holds, tell where the plate lies. \
                         What lies loose need not have moved with it." }
                }
                div.choices {
                    @for named in &named { a.button.main href=(address(&self.path(), named)) { (report::sentence(&named.name)) } }
                    a.button href=(self.path()) { "Tap again" }
                }
            },
        ))
    }

    /// What does the control show there?
    fn read_off(&self, sight: &Sight) -> Result<Html<String>, Problem> {
        let feature: Feature = shop::from_word(&sight.feature).ok_or_else(Problem::malformed)?;
        let plan = match sight.plan.split_once(',') {
            None => None,
            Some((x, y)) => {
                let mm = |text: &str| text.parse().ok().filter(|mm: &f64| mm.is_finite());
                Some([mm(x), mm(y)].map(|mm| mm.map(Length::from_mm)))
            }
        };
        let plan = match plan {
            Some([Some(x), Some(y)]) => Some([x, y]),
            None => None,
            _ => return Err(Problem::malformed()),
        };
        let row = shop::Measured {
            feature,
            cut: sight.cut,
            side: shop::from_word::<PlateSide>(&sight.side),
            plan,
            to: None,
            found: Vec::new(),
            lip: None,
            by: None,
            sigma: None,
        };
        let read = self.planned.read();
        let named = self.planned.rescued()?.named(&read.inputs, &read.reading, &row);
        let named = named.ok_or_else(|| {
            Problem::unfit(
                "That cannot be measured on the plate as it stands.",
                "Go back and take something that is cut, and that the skeleton still holds.",
            )
        })?;
        Ok(self.form(&named))
    }

    fn form(&self, named: &Named) -> Html<String> {
        let places = match named.places {
            1 => 1,
            places => (places + 1).min(PLACES_MOST),
        };
        let what = match named.feature {
            Feature::Edge => "Two places of it or more, far apart:",
            Feature::Hole => "Three places round its edge or more:",
            _ => "The control shows:",
        };
        screen(
            "What does the control show?",
            Some(&self.path()),
            &html! {
                h1 { (report::sentence(&named.name)) }
                form method="post" action=(self.path()) {
                    (own_entry(self.of.app, self.of.visit))
                    input type="hidden" name="measurement" value=(new_id());
                    input type="hidden" name="feature" value=(report::word(named.feature));
                    @if let Some(cut) = named.cut { input type="hidden" name="cut" value=(cut); }
                    @if let Some(side) = named.side { input type="hidden" name="side" value=(report::word(side)); }
                    @if let Some(plan) = named.plan {
                        input type="hidden" name="plan" value={ (format!("{:.3},{:.3}", plan.x, plan.y)) };
                    }
                    p { (what) }
                    @for k in 1..=places {
                        div.row.tight {
                            @for axis in ["X", "Y"] {
                                input name={ (axis.to_lowercase()) (k) } inputmode="decimal" autocomplete="off" placeholder=(axis)
                                    aria-label={ (axis) @if places > 1 { " of place " (k) } } required[k <= named.places];
                            }
                        }
                    }
                    @if let [lip] = named.lips[..] {
                        input type="hidden" name="lip" value=(report::word(lip));
                        p.faint { "On " (report::meaning(lip)) "." }
                    } @else if !named.lips.is_empty() {
                        (radios("lip", &named.lips, named.lips[0], lip_label))
                    }
                    (radios("by", &[SightedBy::Pointer, SightedBy::Tip], self.by(), by_label))
                    div.row { (self.sigma()) (unit_choice(self.unit)) button.main { "Keep this" } }
                }
            },
        )
    }

    /// How the last place was sighted; else by the pointer if there is one.
    fn by(&self) -> SightedBy {
        let last = self.planned.stop.measured.iter().rev().find_map(|row| row.by);
        let default = if self.planned.stop.pointer.is_some() { SightedBy::Pointer } else { SightedBy::Tip };
        last.unwrap_or(default)
    }

    /// How sure a reading is; left empty, as sure as such readings are.
    fn sigma(&self) -> Markup {
        let usual = self.by().sigma().show(self.planned.system());
        html! {
            label.narrow {
                span { "Give or take" }
                input name="sigma" inputmode="decimal" autocomplete="off" placeholder=(usual)
                    title="How far off such a reading may well be: two out of three are nearer (one standard deviation)";
            }
        }
    }

    /// A mark that the picture does not have: by where the program has it.
    fn typed(&self) -> Html<String> {
        screen(
            "Another mark",
            Some(&self.path()),
            &html! {
                h1 { "A mark that is not on the picture" }
                form method="post" action=(self.path()) {
                    (own_entry(self.of.app, self.of.visit))
                    input type="hidden" name="measurement" value=(new_id());
                    (radios("feature", &[Feature::Dimple, Feature::Point], Feature::Dimple, report::meaning))
                    p { "The program has it at:" }
                    div.row.tight {
                        input name="plan_x" inputmode="decimal" autocomplete="off" placeholder="X" aria-label="X in the program" required;
                        input name="plan_y" inputmode="decimal" autocomplete="off" placeholder="Y" aria-label="Y in the program" required;
                    }
                    p { "The control shows:" }
                    div.row.tight {
                        input name="x1" inputmode="decimal" autocomplete="off" placeholder="X" aria-label="X" required;
                        input name="y1" inputmode="decimal" autocomplete="off" placeholder="Y" aria-label="Y" required;
                    }
                    (radios("by", &[SightedBy::Pointer, SightedBy::Tip], self.by(), by_label))
                    div.row { (self.sigma()) (unit_choice(self.unit)) button.main { "Keep this" } }
                }
            },
        )
    }
}

/// The address below `measure` at which this feature is measured.
pub(super) fn address(measure: &str, named: &Named) -> String {
    let mut to = format!("{measure}?feature={}", report::word(named.feature));
    if let Some(cut) = named.cut {
        to += &format!("&cut={cut}");
    }
    if let Some(side) = named.side {
        to += &format!("&side={}", report::word(side));
    }
    if let Some(plan) = named.plan {
        to += &format!("&plan={:.3},{:.3}", plan.x, plan.y);
    }
    to
}

const fn lip_label(lip: Lip) -> &'static str {
    match lip {
        Lip::Part => "The part's edge",
        Lip::Scrap => "The skeleton's edge",
        Lip::Middle => "Midway in the kerf",
    }
}

const fn by_label(by: SightedBy) -> &'static str {
    match by {
        SightedBy::Pointer => "With the pointer",
        SightedBy::Tip => "With the torch's tip",
    }
}

/// One of a few, each as large as a finger.
fn radios<C: Worded + PartialEq>(name: &str, all: &[C], chosen: C, label: fn(C) -> &'static str) -> Markup {
    html! {
        div.radios {
            @for one in all {
                label.tick {
                    input type="radio" name=(name) value=(report::word(*one)) checked[*one == chosen];
                    span { (label(*one)) }
                }
            }
        }
    }
}

/// A measurement as it is written in one line. Bare numbers count in `unit`; where the program has it, if that was tapped,
/// in millimetres.
fn line(fields: &Fields, unit: &str) -> String {
    let unit = fields.get("in").filter(|told| ["mm", "in"].contains(told)).unwrap_or(unit);
    let mut line = fields.get("feature").unwrap_or_default().to_owned();
    if let Some(side) = fields.get("side") {
        line += &format!(" {side}");
    } else if let Some(cut) = fields.get("cut") {
        line += &format!(" of {cut}");
    }
    if let Some(plan) = fields.get("plan") {
        line += &format!(" {plan} mm");
    }
    if let (Some(x), Some(y)) = (fields.get("plan_x"), fields.get("plan_y")) {
        line += &format!(" {} {unit}", place(x, y));
    }
    line += " at";
    for k in 1..=PLACES_MOST {
        let (x, y) = (fields.get(&format!("x{k}")), fields.get(&format!("y{k}")));
        if x.is_some() || y.is_some() {
            line += &format!(" {}", place(x.unwrap_or_default(), y.unwrap_or_default()));
        }
    }
    line += &format!(" {unit}");
    if let Some(sigma) = fields.get("sigma") {
        let told = with_unit(sigma, unit);
        line += &told
            .parse::<Length>()
            .map_or_else(|_| format!(" sigma {told}"), |sigma| format!(" sigma {} mm", sigma.mm()));
    }
    for name in ["lip", "by"] {
        if let Some(word) = fields.get(name) {
            line += &format!(" {name} {word}");
        }
    }
    line
}

/// A place as one word: a comma between, none within.
fn place(x: &str, y: &str) -> String {
    let bare = |text: &str| text.split_whitespace().collect::<String>().replace(',', ".");
    format!("{},{}", bare(x), bare(y))
}

/// Something was measured, or a measurement taken back.
pub(crate) async fn measure(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.opened(move |of, opened| {
        let text = if fields.get("back").is_some() {
            None
        } else {
            let line = line(&fields, opened.unit());
            let row = desk::measured(&line).map_err(|why| {
                Problem::unfit(
                    format!("That measurement cannot be understood: {why}."),
                    "Go back and correct it.",
                )
            })?;
            if row.feature == Feature::Edge && row.found.len() < 2 {
                return Err(Problem::unfit(
                    "One place tells an edge's place, but not which way it runs.",
                    "Go back and sight it at two places, far apart.",
                ));
            }
            Some(line)
        };
        let measured = Measured { stop: of.stop.id, measurement: fields.must("measurement")?, text };
        of.keep(fields.entry()?, Entry::Measured(measured), &[])?;
        Ok(Redirect::to(&format!("{}/where", of.path())).into_response())
    })
    .await
}

/// With what is sighted: how far the pointer's spot lies from the torch.
pub(crate) async fn pointer(at: AtStop) -> Result<Response, Problem> {
    at.page(move |of, opened| {
        let (told, _) = StopReport::parse(&of.stop.report);
        let system = opened.system();
        let pointer = told.pointer.unwrap_or_default();
        let pair = |name: &str, label: &str, told: Option<[Length; 2]>| {
            html! {
                p.question { (label) }
                div.row.tight {
                    @for (k, axis) in ["x", "y"].into_iter().enumerate() {
                        input name={ (name) "_" (axis) } inputmode="decimal" autocomplete="off" placeholder=(axis.to_uppercase())
                            aria-label={ (label) " " (axis.to_uppercase()) } value=[told.map(|told| told[k].show(system))];
                    }
                }
            }
        };
        Ok(screen(
            "The pointer",
            Some(&format!("{}/measure", of.path())),
            &html! {
                h1 { "The pointer's offset" }
                p.faint { "A wrong one looks just like a moved plate: check it on a mark that holds still." }
                form method="post" action={ (of.path()) "/pointer" } {
                    (own_entry(of.app, of.visit))
                    (pair("spot", "Spot on the mark: the control shows", pointer.mark.map(|mark| mark.spot)))
                    (pair("tip", "Torch's tip on the same mark", pointer.mark.map(|mark| mark.tip)))
                    (pair("offset", "Or the offset, if it is known", pointer.offset))
                    div.row { (unit_choice(opened.unit())) button.main { "Keep this" } }
                }
                a.button href={ (of.path()) "/measure" } { "I sight with the torch's tip" }
            },
        ))
    })
    .await
}

/// The pointer was told.
pub(crate) async fn tell_pointer(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.opened(move |of, opened| {
        let (mut told, _) = StopReport::parse(&of.stop.report);
        told.pointer = pointer_of(&fields, opened.unit())?;
        let entry = StopReported { stop: of.stop.id, report: report::text(&told) };
        of.keep(fields.entry()?, Entry::StopReported(entry), &[])?;
        Ok(Redirect::to(&format!("{}/measure", of.path())).into_response())
    })
    .await
}

fn pointer_of(fields: &Fields, unit: &str) -> Result<Option<Pointer>, Problem> {
    let unit = fields.get("in").filter(|told| ["mm", "in"].contains(told)).unwrap_or(unit);
    let length = |name: String| {
        let told = fields.get(&name).map(|told| with_unit(told, unit).parse::<Length>());
        told.transpose().map_err(|why| {
            Problem::unfit(format!("That is no length: {why}."), "Go back and write it as 62.5 or 2 1/2 in.")
        })
    };
    let pair = |name: &str| match (length(format!("{name}_x"))?, length(format!("{name}_y"))?) {
        (Some(x), Some(y)) => Ok(Some([x, y])),
        (None, None) => Ok(None),
        _ => Err(Problem::unfit("Only one of X and Y was told.", "Go back and tell both, or neither.")),
    };
    let (offset, mark) = (pair("offset")?, (pair("spot")?, pair("tip")?));
    let mark = match mark {
        (Some(spot), Some(tip)) => Some(PointerMark { spot, tip }),
        (None, None) => None,
        _ => {
            return Err(Problem::unfit(
                "The mark was sighted with one of both only.",
                "Go back: put the pointer's spot on it, then the torch's tip, and write down what the control shows each time.",
            ));
        }
    };
    Ok((offset.is_some() || mark.is_some()).then_some(Pointer { offset, mark, sigma: None }))
}

/// What to expect at a feature, for a person.
pub(super) fn expected(next: &rescue::refind::Next, system: units::System) -> Option<String> {
    next.expected.map(|at| format!("about {}", shown(at.x, at.y, system)))
}

#[cfg(test)]
mod tests {
    use super::{line, pointer_of};
    use crate::fields::Fields;
    use units::Length;

    #[test]
    fn what_is_filled_in_is_a_measurement() {
        for (fields, told) in [
            ("feature=crater&cut=12&x1=412.3&y1=88.1&by=tip", "crater of 12 at 412.3,88.1 mm by tip"),
            ("feature=corner&side=lower-left&x1=1&y1=2", "corner lower-left at 1,2 mm"),
            ("feature=edge&side=left&x1=1&y1=20&x2=2&y2=400&x3=&y3=", "edge left at 1,20 2,400 mm"),
            (
                "feature=corner&cut=7&plan=100,80.5&x1=4&y1=3&in=in&lip=scrap&by=pointer",
                "corner of 7 100,80.5 mm at 4,3 in lip scrap by pointer",
            ),
            ("feature=point&plan_x=1&plan_y=2&x1=3,5&y1=4+", "point 1,2 mm at 3.5,4 mm"),
            (
                "feature=crater&cut=12&x1=1&y1=2&sigma=0.3&by=tip",
                "crater of 12 at 1,2 mm sigma 0.3 mm by tip",
            ),
            ("feature=crater&cut=12&x1=1&y1=2&sigma=1/4&in=in", "crater of 12 at 1,2 in sigma 6.35 mm"),
        ] {
            let line = line(&Fields::of(fields), "mm");
            assert_eq!(line, told);
            assert!(desk::measured(&line).is_ok(), "{line}");
        }
        let inches = desk::measured("corner of 7 100,80.5 mm at 4,3 in").unwrap();
        assert_eq!(inches.plan.unwrap()[0], Length::from_mm(100.0));
        assert_eq!(inches.found[0][0], Length::from_inch(4.0));
        for fields in [
            "feature=crater&x1=1&y1=2",
            "feature=crater&cut=3&x1=1",
            "feature=&x1=1&y1=1",
            "feature=crater&cut=3&x1=1&y1=1&sigma=so",
            "feature=crater&cut=3&x1=1&y1=1&sigma=0",
        ] {
            assert!(desk::measured(&line(&Fields::of(fields), "mm")).is_err(), "{fields}");
        }
    }

    #[test]
    fn a_pointer_is_told_by_its_offset_or_on_a_mark_or_not_at_all() {
        let of = |fields: &str| pointer_of(&Fields::of(fields), "mm");
        assert_eq!(of("offset_x=&offset_y="), Ok(None));
        let both = of("offset_x=62&offset_y=0&spot_x=1&spot_y=2&tip_x=63&tip_y=2&in=mm").unwrap().unwrap();
        assert_eq!(both.offset.unwrap()[0], Length::from_mm(62.0));
        assert_eq!(both.mark.unwrap().tip[0], Length::from_mm(63.0));
        for wrong in ["offset_x=62", "spot_x=1&spot_y=2", "offset_x=far&offset_y=1"] {
            assert!(of(wrong).is_err(), "{wrong}");
        }
    }
}
