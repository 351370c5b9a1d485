//! How it goes on: the report, the ways, the one chosen, its trace.

use super::measuring::{KERF_WITHIN_MM, SEEN_OFF_MM};
use super::{Answer, Session};
use crate::look;
use crate::setting::Setting;
use crate::table::Halt;
use crate::ways;
use cell::StoppedBy;
use desk::Rescued;
use geometry::Point;
use shop::{CutIs, CutState, Pointer, StopKind, StopReport, Strikes};
use units::Length;

impl Session<'_> {
    /// What whoever practises knows, as a stop report.
    fn report(&self) -> StopReport {
        let Some(halt) = &self.halt else { return StopReport::default() };
        let kind = self.kind(halt);
        let mut report = StopReport {
            kind: Some(kind),
            cut: Some(halt.cut.number()),
            at: self.since.noted_at.map(|at| [at.x, at.y].map(Length::from_mm)),
            fault: self.since.code.clone(),
            seen: self.since.seen.clone(),
            ..StopReport::default()
        };
        let misfire = kind == StopKind::NoTransfer;
        if let Some(kerf) = self.since.kerf {
            let within = Some(Length::from_mm(KERF_WITHIN_MM));
            match kerf.groove_mm {
                Some(groove_mm) => report.state.push(CutState {
                    cut: halt.cut.number(),
                    is: CutIs::Groove,
                    from: (kerf.through_mm > 0.0).then(|| Length::from_mm(kerf.through_mm)),
                    kerf_to: Some(Length::from_mm(groove_mm)),
                    within,
                }),
                None if misfire => report.state.push(CutState {
                    cut: halt.cut.number(),
                    is: CutIs::Partial,
                    from: None,
                    kerf_to: Some(Length::from_mm(kerf.through_mm)),
                    within,
                }),
                None if kind != StopKind::NoMotion => {
                    (report.kerf_to, report.kerf_within) = (Some(Length::from_mm(kerf.through_mm)), within);
                }
                None => {}
            }
        }
        let pierce = self.setting.reading.list.cut(halt.cut).pierce.at;
        if self.since.plate_seen {
            let hole = self.plate().hole_at(pierce).filter(|_| kind == StopKind::NoMotion);
            report.blown = hole.map(Length::from_mm);
            report.pieces = self.table.pieces();
        }
        if !self.since.measured.is_empty() {
            report.moved = Some(true);
            report.measured.clone_from(&self.since.measured);
            report.pointer = Some(Pointer { offset: Some([Length::ZERO; 2]), ..Pointer::default() });
        }
        report
    }

    fn kind(&self, halt: &Halt) -> StopKind {
        match halt.by {
            StoppedBy::Misfire(_) => StopKind::NoTransfer,
            StoppedBy::ArcLost(_) if halt.blown => StopKind::NoMotion,
            StoppedBy::ArcLost(_) => StopKind::ArcLost,
            StoppedBy::Struck => StopKind::Struck,
            StoppedBy::PowerCut => StopKind::ControlFroze,
            StoppedBy::Dry => StopKind::RanDry,
            StoppedBy::ArcStays => StopKind::ArcStaysOn,
            StoppedBy::Hand | StoppedBy::Program => match halt.struck {
                Some(Strikes::Groove) => StopKind::NotThrough,
                Some(Strikes::PlateKnocked) => StopKind::PlateMoved,
                _ => StopKind::ByHand,
            },
        }
    }

    pub(super) fn knocked(&self) -> bool {
        self.halt.as_ref().is_some_and(|halt| halt.struck == Some(Strikes::PlateKnocked))
    }

    fn plan(&mut self) {
        let report = self.report();
        if self.planned.as_ref().is_some_and(|(of, _)| *of == report) {
            return;
        }
        let Setting { inputs, reading, .. } = self.setting;
        let planned = Rescued::plan(inputs, reading, &report, self.earlier.as_ref());
        self.planned = Some((report, planned));
    }

    pub(super) fn asks_ways(&mut self, answer: &mut Answer) {
        if self.halt.is_none() {
            return answer.did.push("Nothing is left to go on with.".to_owned());
        }
        self.plan();
        for way in self.ways() {
            let proven = if way.proven { "proven" } else { "by hand, unproven" };
            answer.did.push(format!("{} ({proven}): {}", way.name, way.title));
        }
        if let Some((_, planned)) = &self.planned {
            answer.did.extend(look::wanting(planned));
        }
    }

    pub(super) fn choose(&mut self, name: &str, answer: &mut Answer) {
        let known: Vec<String> = self.ways().into_iter().map(|way| way.name).collect();
        if known.iter().any(|way| way == name) {
            self.since.chosen = Some(name.to_owned());
            self.since.traced = false;
            answer.did.push(format!("You took the way {name}."));
        } else if known.is_empty() {
            answer.did.push("Ask for the ways first.".to_owned());
        } else {
            answer.did.push(format!("There is no such way here; there are {}.", known.join(", ")));
        }
    }

    /// How far off its place the torch would be at the stopped cut on the chosen way, in millimetres.
    pub(super) fn off_mm(&self) -> f64 {
        let Some(halt) = &self.halt else { return 0.0 };
        let proven =
            self.since.chosen.as_deref().is_some_and(|way| way != ways::OWN_PIERCE && way != ways::NEXT_CUT);
        let pose = self.planned.as_ref().and_then(|(_, planned)| planned.as_ref().ok()?.plan.pose.clone());
        let p = self.setting.reading.list.cut(halt.cut).pierce.at;
        let shown = pose.filter(|_| proven).map_or(p, |pose| {
            let there = pose.placement.point(p);
            Point::new(there.x, there.y)
        });
        self.table.stands_at(shown).distance(p)
    }

    pub(super) fn trace(&mut self, answer: &mut Answer) {
        if let Some(why) = self.stands_still() {
            return answer.did.push(why.to_owned());
        }
        if self.since.chosen.is_none() {
            return answer.did.push("There is no way on to trace: choose one first.".to_owned());
        }
        self.since.traced = true;
        let off_mm = self.off_mm();
        if off_mm > SEEN_OFF_MM {
            answer
                .see
                .push(format!("The torch runs {off_mm:.0} mm beside what it should follow: do not start."));
        } else {
            answer.see.push("The torch runs where it should, from frame to restart.".to_owned());
        }
        if self.table.has_standing() {
            answer.see.push("It passes close over a piece that stands up.".to_owned());
        }
    }
}
