//! A second maker of restarts: everything written anew from the motions, whatever the original's manner was.

use super::Plate;
use nc::{ArcCenters, Code, Event, EventKind, MotionKind, TouchOff, TouchOffBy};
use std::fmt::Write as _;

/// Reach of the probing motions written, in millimetres below Z zero; as the hands have it that write absolute.
const PROBE_REACH_MM: f64 = 60.0;

impl Plate {
    /// The restart at cut `k` in millimetres, absolute, arcs by their centres, subprograms and expressions gone.
    pub(crate) fn flat(&self, k: usize) -> String {
        self.flat_in_pieces(k, 1)
    }

    /// The same with every burn in so many pieces.
    pub(crate) fn flat_in_pieces(&self, k: usize, pieces: u32) -> String {
        let cut = &self.list.cuts[k];
        let mut text = String::from("G40\nG17 G21 G90 G94\n");
        let mut line = |line: String| {
            text.push_str(&line);
            text.push('\n');
        };
        if let Some(code) = self.dialect.arc_centers_from_start {
            line(code.to_string());
        }
        line(self.dialect.torch_off[0].to_string());
        if let Some(code) = self.dialect.height_control_off.first() {
            line(code.to_string());
        }
        if self.moves_z() {
            line(format!("G0 Z{:.3}", self.safe_mm));
        }
        let start = cut.restart.motion as usize;
        let at = self.motions.from(start);
        line(format!("G0 X{:.3} Y{:.3}", at.x, at.y));
        let mut event = cut.restart.event as usize;
        let mut process = None;
        for motion in start..=self.motions.motions().len() {
            while let Some(next) =
                self.motions.events().get(event).filter(|next| next.before as usize <= motion)
            {
                let modal = self.motions.modal(next.modal);
                if let (true, Some(letter)) = (modal.process != process, self.dialect.process_letter) {
                    process = modal.process;
                    modal
                        .process
                        .into_iter()
                        .for_each(|number| line(format!("{}{number}", char::from(letter))));
                }
                self.event_lines(next).into_iter().for_each(&mut line);
                event += 1;
            }
            if motion < self.motions.motions().len() {
                let burns = self.motions.modal(self.motions.motions()[motion].modal).torch;
                let pieces = if burns && self.motions.curve(motion).length_mm() > 2.0 { pieces } else { 1 };
                (1..=pieces).for_each(|piece| line(self.motion_line(motion, piece, pieces)));
            }
        }
        text
    }

    fn event_lines(&self, event: &Event) -> Option<String> {
        let dialect = &self.dialect;
        let first = |codes: &[Code]| codes.first().map(ToString::to_string);
        match event.kind {
            EventKind::TorchOn => first(&dialect.torch_on),
            EventKind::TorchOff => first(&dialect.torch_off),
            EventKind::HeightControl(true) => first(&dialect.height_control_on),
            EventKind::HeightControl(false) => first(&dialect.height_control_off),
            EventKind::Dwell(seconds) => {
                let number = seconds / dialect.dwell.seconds_per_unit;
                Some(format!("{} {}{number:.3}", dialect.dwell.code, char::from(dialect.dwell.letter)))
            }
            EventKind::TouchOff(TouchOff::Probed) => Some("G92 Z0".into()),
            EventKind::TouchOff(_) => match dialect.touch_off.first()? {
                TouchOffBy::Code(code) => Some(code.to_string()),
                TouchOffBy::Subprogram(number) => {
                    Some(format!("{} {}{number}", dialect.call, char::from(dialect.call_target)))
                }
                TouchOffBy::TorchOn => None,
            },
            EventKind::Stop => Some("M0".into()),
            EventKind::End => Some("M30".into()),
            EventKind::Process(_) | EventKind::DatumSet(_) | EventKind::Call(_) => None,
        }
    }

    fn motion_line(&self, k: usize, piece: u32, pieces: u32) -> String {
        let motion = &self.motions.motions()[k];
        let curve = self.motions.curve(k);
        let at = |piece: u32| match piece {
            0 => self.motions.from(k),
            _ if piece == pieces => motion.to,
            _ => curve.point_at(curve.length_mm() * f64::from(piece) / f64::from(pieces)),
        };
        let (from, to, center) = (at(piece - 1), at(piece), motion.center);
        let mut line = match motion.kind {
            MotionKind::Rapid => "G0".to_owned(),
            MotionKind::Feed => "G1".to_owned(),
            MotionKind::ArcCw => "G2".to_owned(),
            MotionKind::ArcCcw => "G3".to_owned(),
            MotionKind::Probe => self.dialect.probe[0].to_string(),
            MotionKind::Home => "G28".to_owned(),
        };
        let arc = matches!(motion.kind, MotionKind::ArcCw | MotionKind::ArcCcw);
        if motion.kind == MotionKind::Probe {
            let _ = write!(line, " Z-{PROBE_REACH_MM:.3}");
        } else {
            if arc || from.distance(to) > 1e-9 {
                let _ = write!(line, " X{:.3} Y{:.3}", to.x, to.y);
            }
            if arc {
                let from_start = self.dialect.arc_centers_from_start.is_some()
                    || self.dialect.arc_centers == ArcCenters::FromStart;
                // A reader begins the arc where the line before has ended, rounded.
                let rounded = |mm: f64| (mm * 1000.0).round() / 1000.0;
                let base = if from_start { [rounded(from.x), rounded(from.y)] } else { [0.0, 0.0] };
                let _ = write!(line, " I{:.3} J{:.3}", center.x - base[0], center.y - base[1]);
            }
            if self.moves_z() && self.motions.z_from(k) != motion.z {
                let _ = write!(line, " Z{:.3}", motion.z.mm);
            }
        }
        let modal = self.motions.modal(motion.modal);
        if motion.kind != MotionKind::Rapid {
            modal.feed_mm_per_min.into_iter().for_each(|feed| {
                let _ = write!(line, " F{feed:.3}");
            });
        }
        line
    }
}
