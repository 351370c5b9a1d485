//! Carrying out a block in the order of NISTIR 6556, table 8: what comes before its motion and what after.

use crate::codes::{Act, group};
use crate::interpreter::{Flow, Run, scale};
use crate::parameters::whole;
use crate::value::Value;
use crate::words::bit;
use crate::{ArcCenters, Comp, Distance, EventKind, MotionKind, TorchOffActs, TouchOff, TouchOffBy, Units};

impl Run<'_> {
    /// All that table 8 puts before the motion.
    pub(crate) fn before_motion(&mut self) {
        if let Some(act) = self.words.act(group::FEED_MODE) {
            self.feed_mode(act);
        }
        // The standard reads F in the old units where the block changes them; other controls know only one unit a
        // block.
        if self.dialect.strict {
            self.feed();
        } else {
            self.units();
            self.feed();
        }
        self.process();
        if self.words.act(group::TOUCH_OFF).is_some() {
            self.touch_off(TouchOff::ByControl);
        }
        self.torch();
        if let Some(Act::HeightControl(on)) = self.words.act(group::HEIGHT_CONTROL) {
            self.change(|modal| modal.height_control = on);
            self.event(EventKind::HeightControl(on));
        }
        if self.words.act(group::DWELL).is_some() {
            self.dwell();
        }
        if let Some(Act::Plane(plane)) = self.words.act(group::PLANE) {
            self.set_plane(plane);
        }
        if self.dialect.strict {
            self.units();
        }
        self.comp();
        if self.words.act(group::LENGTH) == Some(Act::ToolLength) {
            self.report.warning(
                "tool-length-unused",
                self.block_span(),
                || "a tool length offset has no use in cutting; it was read over".into(),
                "take the word away: the torch finds its height by touching off",
            );
        }
        if let Some(Act::System(system)) = self.words.act(group::SYSTEM) {
            self.select_system(system);
        }
        self.distance();
        if let Some(act) = self.words.act(group::NON_MODAL) {
            self.non_modal(act);
        }
    }

    /// All that comes after the motion.
    pub(crate) fn after_motion(&mut self) -> Flow {
        if self.words.act(group::TORCH) == Some(Act::TorchOff)
            && self.dialect.torch_off_acts == TorchOffActs::AfterMotion
        {
            self.torch_off();
        }
        match self.words.act(group::STOP) {
            Some(Act::Stop) => self.event(EventKind::Stop),
            Some(Act::End) => {
                self.end();
                return Flow::End;
            }
            _ => {}
        }
        match self.words.act(group::CALL) {
            Some(Act::Call) => self.call(),
            Some(Act::Return) => self.call_return(),
            _ => Flow::Next,
        }
    }

    fn feed_mode(&mut self, act: Act) {
        self.inverse_time = act == Act::InverseTime;
        if self.inverse_time {
            self.report.warning(
                "feed-mode-unused",
                self.block_span(),
                || "G93 gives feeds as the inverse of time, which has no use in cutting".into(),
                "write feeds as speeds, with G94",
            );
        }
        self.change(|modal| {
            modal.known.feed_mode = true;
            modal.feed_mm_per_min = None;
        });
    }

    fn feed(&mut self) {
        let Some(feed) = self.words.get(b'F') else { return };
        if feed < 0.0 {
            self.report_range(b'F', "a feed is not negative");
            return;
        }
        if !self.inverse_time {
            let scale = self.scale;
            self.change(|modal| {
                modal.feed_mm_per_min = Some(feed * scale);
                modal.known.feed = true;
            });
        }
    }

    fn units(&mut self) {
        let Some(act) = self.words.act(group::UNITS) else { return };
        let units = if act == Act::Inches { Units::Inches } else { Units::Millimetres };
        if units != self.modal.units {
            if self.modal.comp != Comp::Off {
                self.report_misplaced(
                    "units are changed while cutter compensation is on (NISTIR 6556, 3.5.7)",
                );
            }
            if self.words.has(bit(b'F')) {
                self.report.warning(
                    "feed-before-units",
                    self.block_span(),
                    || "the block changes units and sets a feed: controls differ in which unit F has".into(),
                    "set the units in a block of their own, before F",
                );
            }
        }
        self.scale = scale(units);
        self.change(|modal| {
            modal.units = units;
            modal.known.units = true;
        });
    }

    fn process(&mut self) {
        let Some(letter) = self.dialect.process_letter else { return };
        let Some(number) = self.words.get(letter.to_ascii_uppercase()) else { return };
        let Some(process) = whole(number).and_then(|number| u32::try_from(number).ok()) else {
            self.report_range(letter, "the number of a process is whole and not negative");
            return;
        };
        self.change(|modal| modal.process = Some(process));
        self.event(EventKind::Process(process));
    }

    fn torch(&mut self) {
        match self.words.act(group::TORCH) {
            Some(Act::TorchOn) => {
                if self.dialect.touch_off.contains(&TouchOffBy::TorchOn) {
                    self.touch_off(TouchOff::ByControl);
                }
                self.change(|modal| modal.torch = true);
                self.event(EventKind::TorchOn);
            }
            Some(Act::TorchOff) if self.dialect.torch_off_acts == TorchOffActs::BeforeMotion => {
                self.torch_off();
            }
            Some(Act::Spindle) => self.report.warning(
                "spindle-unused",
                self.block_span(),
                || "the block has a spindle word, which does not move this table's torch".into(),
                "use the torch words of this table, or name the word in `[table.words]`",
            ),
            _ => {}
        }
    }

    fn torch_off(&mut self) {
        self.change(|modal| modal.torch = false);
        self.event(EventKind::TorchOff);
    }

    /// The plate's surface has been found by the control or by a subprogram that is not to be seen.
    pub(crate) fn touch_off(&mut self, by: TouchOff) {
        self.z = match self.dialect.touch_off_leaves {
            Some(above) => Value { number: above.mm(), top: 1.0 },
            None => Value::lost(0.0),
        };
        self.datum.z_counts_from_top();
        self.touch_offs += 1;
        self.event(EventKind::TouchOff(by));
    }

    fn dwell(&mut self) {
        let dwell = self.dialect.dwell;
        let letter = dwell.letter.to_ascii_uppercase();
        let Some(number) = self.words.get(letter) else {
            self.report_missing(letter, "the dwell has no time");
            return;
        };
        if matches!(letter, b'X' | b'Y' | b'Z') {
            self.words.present &= !bit(letter);
        }
        if number < 0.0 {
            self.report_range(letter, "a dwell is not negative");
            return;
        }
        self.event(EventKind::Dwell(number * dwell.seconds_per_unit));
    }

    fn set_plane(&mut self, plane: u8) {
        self.plane = plane;
        self.change(|modal| modal.known.plane = true);
        if plane != 17 {
            self.report.warning(
                "plane-unused",
                self.block_span(),
                || format!("G{plane} chooses a plane that has no use in cutting"),
                "use G17: the plate lies in X and Y",
            );
        }
    }

    fn comp(&mut self) {
        let Some(act) = self.words.act(group::COMP) else { return };
        let comp = match act {
            Act::CompLeft => Comp::Left(self.comp_radius_mm()),
            Act::CompRight => Comp::Right(self.comp_radius_mm()),
            _ => Comp::Off,
        };
        if comp != Comp::Off && self.modal.comp != Comp::Off && self.modal.known.comp {
            self.report_misplaced("cutter compensation is turned on while it is on (NISTIR 6556, 3.5.10)");
        }
        if comp != Comp::Off && self.plane != 17 {
            self.report_misplaced("cutter compensation works in the XY plane only (NISTIR 6556, 3.5.10)");
        }
        self.change(|modal| {
            modal.comp = comp;
            modal.known.comp = true;
        });
    }

    /// Half the width of the block's D word, or of the process.
    fn comp_radius_mm(&mut self) -> f64 {
        let number = match self.words.get(b'D') {
            Some(number) => whole(number).and_then(|number| u32::try_from(number).ok()),
            None => self.modal.process,
        };
        if number == Some(0) {
            return 0.0;
        }
        let width = self.dialect.comp_widths.iter().find(|(of, _)| Some(*of) == number);
        if let Some((_, width)) = width {
            return width.mm() / 2.0;
        }
        self.report.warning(
            "comp-width-unknown",
            self.block_span(),
            || match number {
                Some(number) => {
                    format!("the width of compensation number {number} is not known; it counts as 0")
                }
                None => "the block names no width for its compensation; it counts as 0".into(),
            },
            "name the widths under `comp_widths` in `[table.words]`",
        );
        0.0
    }

    fn distance(&mut self) {
        if let Some(act) = self.words.act(group::DISTANCE) {
            self.change(|modal| {
                modal.distance =
                    if act == Act::Incremental { Distance::Incremental } else { Distance::Absolute };
                modal.known.distance = true;
            });
        }
        if let Some(Act::Centers { absolute }) = self.words.act(group::CENTERS) {
            self.change(|modal| {
                modal.arc_centers = if absolute { ArcCenters::Absolute } else { ArcCenters::FromStart };
                modal.known.arc_centers = true;
            });
        }
    }

    /// What M2 and M30 leave behind (NISTIR 6556, 3.6.1).
    fn end(&mut self) {
        self.datum.end(&mut self.modal);
        self.plane = 17;
        self.inverse_time = false;
        self.change(|modal| {
            modal.distance = Distance::Absolute;
            modal.comp = Comp::Off;
            modal.torch = false;
            modal.motion = Some(MotionKind::Feed);
        });
        self.states.touch();
        self.event(EventKind::End);
    }
}
