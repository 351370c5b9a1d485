//! Scenes made by hand, for looking at and for snapshots.

use crate::scene::{Band, Found, Part, Piece, Pierce, Rest, Scene, Stage};
use finding::Level;
use geometry::{Arc, Contour, Curve, Path, Point, Program};
use std::borrow::Cow;

type P = Point<Program>;

fn p(x: f64, y: f64) -> P {
    P::new(x, y)
}

pub(crate) fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Contour<Program> {
    Contour::polygon(&[p(x, y), p(x + w, y), p(x + w, y + h), p(x, y + h)]).unwrap()
}

/// A bracket: rounded rectangle with two round holes and a slot.
pub(crate) struct Shapes {
    pub outline: Contour<Program>,
    pub holes: Vec<Contour<Program>>,
}

pub(crate) fn bracket(x: f64, y: f64, w: f64, h: f64) -> Shapes {
    let r = 0.15 * h;
    let c = |ax: f64, ay: f64| p(x + ax, y + ay);
    let arc = |from: P, to: P, center: P| Curve::Arc(Arc::about(from, to, center, false));
    let outline = vec![
        Curve::line(c(r, h), c(w - r, h)),
        arc(c(w - r, h), c(w, h - r), c(w - r, h - r)),
        Curve::line(c(w, h - r), c(w, r)),
        arc(c(w, r), c(w - r, 0.0), c(w - r, r)),
        Curve::line(c(w - r, 0.0), c(r, 0.0)),
        arc(c(r, 0.0), c(0.0, r), c(r, r)),
        Curve::line(c(0.0, r), c(0.0, h - r)),
        arc(c(0.0, h - r), c(r, h), c(r, h - r)),
    ];
    let circle = |cx: f64, cy: f64, r: f64| {
        let from = c(cx + r, cy);
        Contour::close(Path::new(vec![Curve::Arc(Arc::about(from, from, c(cx, cy), true))])).unwrap()
    };
    Shapes {
        outline: Contour::close(Path::new(outline)).unwrap(),
        holes: vec![circle(0.2 * w, 0.5 * h, 0.12 * h), circle(0.8 * w, 0.5 * h, 0.12 * h)],
    }
}

pub(crate) struct Nest {
    pub plate: Contour<Program>,
    pub shapes: Vec<Shapes>,
}

pub(crate) fn nest(width: f64, height: f64, columns: u32, rows: u32) -> Nest {
    let (dx, dy) = ((width - 20.0) / f64::from(columns), (height - 20.0) / f64::from(rows));
    let mut shapes = vec![];
    for row in 0..rows {
        for column in 0..columns {
            let x = 10.0 + dx * f64::from(column) + 0.07 * dx;
            let y = 10.0 + dy * f64::from(row) + 0.1 * dy;
            shapes.push(bracket(x, y, dx * 0.86, dy * 0.8));
        }
    }
    Nest { plate: rectangle(0.0, 0.0, width, height), shapes }
}

/// A path with its lead-in from `lead` away, tangential enough for a picture.
fn with_lead(contour: &Contour<Program>, inward: bool) -> Path<Program> {
    let from = contour.path().from().unwrap();
    let dir = contour.path().tangent_at(0.0).unwrap().left() * if inward { 6.0 } else { 8.0 };
    let mut curves = vec![Curve::line(from + dir, from)];
    curves.extend_from_slice(contour.path().curves());
    Path::new(curves)
}

impl Nest {
    /// The scene after `done` cuts, the next one cut to a share of its length.
    pub(crate) fn scene<'a>(&'a self, title: &'a str, done: u32, share: f64, stopped: bool) -> Scene<'a> {
        let mut scene = Scene { title, plate: Some(&self.plate), kerf_mm: 1.5, ..Scene::default() };
        let mut number = 0;
        let mut at = P::ORIGIN;
        for (k, shapes) in self.shapes.iter().enumerate() {
            let holes = shapes.holes.iter().map(|h| (h, true));
            for (contour, hole) in holes.chain([(&shapes.outline, false)]) {
                number += 1;
                let path = with_lead(contour, hole);
                let pierce = path.from().unwrap();
                if number > done {
                    scene.travel.push(Path::new(vec![Curve::line(at, pierce)]));
                }
                at = path.to().unwrap();
                let length = path.length_mm();
                scene.pierces.push(Pierce {
                    at: pierce,
                    number,
                    made: number <= done || (number == done + 1 && share > 0.0),
                    named: stopped && number == done + 1,
                });
                if number <= done {
                    let rest = if hole && k % 3 == 1 {
                        Rest::Gone
                    } else if k % 7 == 6 {
                        Rest::Stands
                    } else {
                        Rest::Lies
                    };
                    scene.pieces.push(Piece { outline: contour, rest });
                    scene.bands.push(Band { path: Cow::Owned(path), stage: Stage::Cut });
                } else if number == done + 1 && share > 0.0 {
                    let stop = length * share;
                    scene
                        .bands
                        .push(Band { path: Cow::Owned(path.piece(0.0, stop * 0.9)), stage: Stage::Cut });
                    scene
                        .bands
                        .push(Band { path: Cow::Owned(path.piece(stop * 0.9, stop)), stage: Stage::Groove });
                    scene
                        .bands
                        .push(Band { path: Cow::Owned(path.piece(stop, length)), stage: Stage::ToCut });
                    scene.stop = path.point_at(stop);
                } else {
                    scene.bands.push(Band { path: Cow::Owned(path), stage: Stage::ToCut });
                }
                if stopped && number == done + 1 {
                    scene.stop = scene.stop.or(Some(pierce));
                    scene.restart = Some(pierce);
                }
            }
            scene.parts.push(Part {
                number: u32::try_from(k).unwrap() + 1,
                outline: &shapes.outline,
                holes: shapes.holes.iter().collect(),
            });
        }
        scene.cuts_whole = done as usize;
        // Whole pieces are listed outermost first.
        scene.pieces.reverse();
        scene
    }
}

pub(crate) fn with_findings<'a>(mut scene: Scene<'a>, cuts: &'a [Vec<u32>]) -> Scene<'a> {
    let levels = [Level::Error, Level::Warning, Level::Note];
    for (k, cuts) in cuts.iter().enumerate() {
        let places = cuts.iter().map(|n| scene.pierces[*n as usize - 1].at).collect();
        scene.findings.push(Found {
            number: k + 1,
            level: levels[k % 3],
            rule: ["torch-left-on", "pierce-on-void", "low-travel"][k % 3],
            cuts,
            places,
        });
        for n in cuts {
            scene.pierces[*n as usize - 1].named = true;
        }
    }
    scene
}

#[test]
fn large() {
    let large = nest(3000.0, 3000.0, 58, 58);
    println!("=== large");
    println!("{}", crate::sheet::draw(&large.scene("ten thousand.nc", 4000, 0.5, true)));
}

#[test]
fn look() {
    let cuts = vec![vec![3], vec![5, 6], vec![9], vec![5]];
    let small = nest(600.0, 300.0, 4, 1);
    println!("=== small");
    println!("{}", crate::sheet::draw(&with_findings(small.scene("small demo.nc", 4, 0.4, true), &cuts)));
    let mid = nest(2500.0, 1250.0, 6, 4);
    println!("=== mid");
    println!("{}", crate::sheet::draw(&mid.scene("sixty-odd.nc, stopped at cut 37", 36, 0.0, true)));
    println!("=== fresh");
    println!("{}", crate::sheet::draw(&mid.scene("sixty-odd.nc", 0, 0.0, false)));
    let many = nest(3000.0, 1500.0, 16, 9);
    println!("=== many");
    println!(
        "{}",
        crate::sheet::draw(&with_findings(
            many.scene("four hundred.nc", 131, 0.5, true),
            &[vec![133, 134, 135], vec![12], vec![300, 301, 302, 303, 304, 305, 306]]
        ))
    );
    let tall = nest(300.0, 700.0, 1, 4);
    println!("=== tall");
    println!("{}", crate::sheet::draw(&tall.scene("tall.nc", 12, 0.0, false)));
    println!("=== none");
    println!("{}", crate::sheet::draw(&Scene { title: "empty <&> program", ..Scene::default() }));
}
