//! What is done, looked at and listened to, and what comes of it.

use super::{Answer, Session};
use crate::act::Clearing;
use crate::look;
use crate::slip::Slip;
use cell::Source;
use shop::{Cure, Look};

impl Session<'_> {
    pub(super) fn stop(&mut self, answer: &mut Answer) {
        self.table.attend(&[cell::Act::TakeStartAway]);
        self.since.stopped = true;
        answer.did.push("You stopped the program, and took your time to see that it stands.".to_owned());
    }

    pub(super) fn look(&mut self, what: Look, answer: &mut Answer) {
        match what {
            Look::Light => {
                self.since.light = true;
                let lit = self.table.cell_start_command();
                answer.see.push(look::light(lit).to_owned());
            }
            Look::Plate => {
                self.since.plate_seen = true;
                let (see, words) = self.halt.as_ref().map_or_else(Default::default, |halt| {
                    look::plate(self.setting, self.plate(), halt, self.knocked())
                });
                answer.see.extend(see);
                self.saw(&words);
            }
            Look::Lead => self.sees(look::lead(self.table.cell.ails()), answer),
            Look::Air => self.sees(look::air(self.table.cell.ails()), answer),
            Look::Torch => self.sees(look::torch(self.table.cell.ails()), answer),
            Look::Fire => {
                self.since.fire = true;
                answer.see.push(look::FIRE.to_owned());
            }
        }
        let signs = self.setting.scenario.signs.iter().filter(|(look, _)| *look == what);
        answer.see.extend(signs.map(|(_, text)| text.clone()));
    }

    fn sees(&mut self, (text, words): (&str, &[&str]), answer: &mut Answer) {
        answer.see.push(text.to_owned());
        self.saw(words);
    }

    fn saw(&mut self, words: &[&str]) {
        for word in words {
            if !self.since.seen.iter().any(|other| other == word) {
                self.since.seen.push((*word).to_owned());
            }
        }
    }

    pub(super) fn listen(&mut self, answer: &mut Answer) {
        let (text, words) = match &self.halt {
            Some(halt) => look::listened(halt, self.table.gas_flows(), self.table.cell_start_command()),
            None => (look::QUIET.to_owned(), Vec::new()),
        };
        answer.hear.push(text);
        self.saw(&words);
    }

    pub(super) fn read(&mut self, answer: &mut Answer) {
        let source = self.table.source;
        let (text, word) = match source {
            Source::Off => ("The source is dark.".to_owned(), "source-dark"),
            Source::Faulted(code) => {
                let shown = look::code(self.setting, code);
                self.since.code.clone_from(&shown.as_ref().map(|(code, _)| code.clone()));
                let text = match shown {
                    Some((code, cause)) => format!("The source shows {code}: {cause}."),
                    None => "The source shows a fault that the shop file does not name.".to_owned(),
                };
                (text, "source-fault")
            }
            _ => ("The source stands ready and shows no fault.".to_owned(), "source-ready"),
        };
        answer.see.push(text);
        self.saw(&[word]);
    }

    pub(super) fn note(&mut self, answer: &mut Answer) {
        match &self.halt {
            Some(_) if !self.since.control_on => {
                answer.did.push("The control is dark: it shows no position to write down.".to_owned());
                // Nothing is left to be lost.
                self.since.noted = true;
            }
            Some(halt) => {
                (self.since.noted, self.since.noted_at) = (true, Some(halt.at));
                let line = halt.line.map_or_else(String::new, |line| format!("line {line}, "));
                answer.did.push(format!("You wrote down: {line}X {:.1} Y {:.1} mm.", halt.at.x, halt.at.y));
            }
            None => answer.did.push("There is nothing to write down.".to_owned()),
        }
    }

    /// Why the control moves nothing, if so.
    pub(super) fn stands_still(&self) -> Option<&'static str> {
        if self.since.isolated_s.is_some() {
            Some("Motion is disabled: put the power back first.")
        } else if !self.since.control_on {
            Some("The control is dark: put the power back first.")
        } else if !self.since.stopped {
            Some("The control waits in the program and takes no other order: stop it first.")
        } else {
            None
        }
    }

    pub(super) fn raise(&mut self, answer: &mut Answer) {
        if !self.since.control_on && self.since.isolated_s.is_none() {
            self.since.raised = true;
            return answer.did.push("You cranked the torch up by hand, from beside the gantry.".to_owned());
        }
        match self.stands_still() {
            Some(why) => answer.did.push(why.to_owned()),
            None => {
                self.since.raised = true;
                answer.did.push("The torch stands clear of the plate.".to_owned());
            }
        }
    }

    pub(super) fn isolate(&mut self, answer: &mut Answer) {
        self.table.attend(&[cell::Act::SwitchOff]);
        self.since.isolated_s = Some(self.table.cell.now_s());
        let wait = self.setting.isolation_wait_s() / 60.0;
        answer.did.push(format!(
            "The source is isolated and kept off, motion is disabled. Its manual here asks for {wait:.0} min of waiting."
        ));
    }

    pub(super) fn fix(&mut self, cure: Cure, answer: &mut Answer) {
        let ailed = self.table.cell.ails().iter().any(|ail| look::mends(cure, ail));
        let faults = self.setting.scenario.faults.iter();
        let was_cause =
            ailed || faults.clone().any(|fault| self.has_struck(fault) && fault.cure == Some(cure));
        let mends: Vec<cell::Act> = look::mended_by(cure).into_iter().map(cell::Act::Mend).collect();
        self.table.attend(&mends);
        if self.since.isolated_s.is_some() {
            self.table.attend(&[cell::Act::SwitchOff]);
        }
        self.cured.insert(cure);
        match cure {
            Cure::Slag => self.since.slag = true,
            Cure::Piece => self.table.take_out(),
            _ => {}
        }
        answer.did.push(look::fixed(cure, was_cause).to_owned());
    }

    pub(super) fn has_struck(&self, fault: &shop::ScenarioFault) -> bool {
        fault.restart <= self.restarts
    }

    pub(super) fn clear(&mut self, how: Clearing, answer: &mut Answer) {
        let Source::Faulted(code) = self.table.source else {
            let text = if self.table.source == Source::Off {
                "The source is off: there is nothing to clear."
            } else {
                "No fault latches: there is nothing to clear."
            };
            return answer.did.push(text.to_owned());
        };
        let own = self.table.clears_by(code);
        let right = match how {
            Clearing::OffAndOn => own == shop::ClearsBy::OffAndOn && !self.table.cell_start_command(),
            Clearing::NewStart => matches!(own, shop::ClearsBy::NewStart | shop::ClearsBy::Itself),
            Clearing::LeaveOn => matches!(own, shop::ClearsBy::LeaveOnToCool | shop::ClearsBy::Itself),
        };
        if !right {
            self.slip(Slip::ClearedWrongly);
        }
        if how == Clearing::OffAndOn {
            let fired = self.table.attend(&[cell::Act::OffAndOn]);
            self.fires(fired, answer);
        }
        let text = match (how, self.table.source) {
            (Clearing::OffAndOn, Source::Faulted(_)) => {
                "You switched the source off and on; it shows a fault again."
            }
            (Clearing::OffAndOn, _) => "You switched the source off and on; it shows no fault now.",
            (Clearing::NewStart, _) => "You left it to the next start command.",
            (Clearing::LeaveOn, _) => "You left the source on.",
        };
        answer.did.push(text.to_owned());
    }

    fn fires(&mut self, fired: bool, answer: &mut Answer) {
        if !fired {
            return;
        }
        self.slip(Slip::Fired);
        if let Some(halt) = &self.halt {
            self.table.burns_hole(halt.at);
        }
        answer.see.push("The torch fired by itself.".to_owned());
    }

    pub(super) fn power(&mut self, answer: &mut Answer) {
        if self.table.cell_start_command() {
            self.slip(Slip::PowerUnderStart);
        }
        self.since.isolated_s = None;
        self.since.control_on = true;
        self.since.marked = false;
        let fired = self.table.attend(&[cell::Act::SwitchOn]);
        self.fires(fired, answer);
        let text = match self.table.source {
            Source::Off => "The control is on. The source stays dark.",
            Source::Faulted(_) => "The control is on. The source came up with a fault.",
            _ => "The control is on, then the source; it stands ready.",
        };
        answer.did.push(text.to_owned());
    }
}
