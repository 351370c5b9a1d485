//! A way on is started: what strikes, what it does, how the table stands afterwards.

use super::{Answer, Ended, Session, Since};
use crate::act::Act;
use crate::look;
use crate::setting::Setting;
use crate::slip::Slip;
use crate::table::Ran;
use crate::ways;
use cell::{StoppedBy, Trouble, Why};
use cuts::CutId;
use rescue::Earlier;
use shop::{Cure, Strikes};

impl Session<'_> {
    pub(super) fn start(&mut self, answer: &mut Answer) {
        if let Some(why) = self.stands_still() {
            self.table.waits(Act::Start.takes_s());
            return answer.did.push(why.to_owned());
        }
        let (Some(halt), Some(way)) = (self.halt.clone(), self.since.chosen.clone()) else {
            self.table.waits(Act::Start.takes_s());
            return answer.did.push("There is no way on to start: choose one first.".to_owned());
        };
        let Some(of) = self.load(&way, halt.cut) else {
            self.table.waits(Act::Start.takes_s());
            return answer.did.push(
                "This program cannot be begun there by hand: its cut stands in a subprogram.".to_owned(),
            );
        };
        self.left_undone().into_iter().for_each(|slip| self.slip(slip));
        let left = self.causes_left();
        self.restarts += 1;
        self.table.waits(Act::Start.takes_s());
        self.strikes(&of);
        let off_mm = self.off_mm();
        let began_s = self.table.cell.now_s();
        let ran = self.table.run();
        self.run_s += self.table.cell.now_s() - began_s;
        self.came_of(&ran, &left, off_mm);
        let was = std::mem::take(&mut self.since);
        self.planned = None;
        self.stands(&ran);
        let opening = self.opening();
        answer.see.extend(opening.see);
        answer.hear.extend(opening.hear);
        answer.did.push(format!("You started the way {way}."));
        if ran.halt.is_none() {
            self.since = was;
            self.ended = Some(Ended::Ran);
            answer.did.push(Ended::Ran.says().to_owned());
        }
    }

    /// Loads the program of a way; gives the plate's own cut for each of its cuts.
    fn load(&mut self, way: &str, cut: CutId) -> Option<Vec<CutId>> {
        let next = CutId(cut.0 + 1);
        let (loaded, earlier) = match way {
            ways::OWN_PIERCE => (ways::from_cut(self.setting, cut)?, None),
            ways::NEXT_CUT => (ways::from_cut(self.setting, next)?, None),
            way => {
                let plan = &self.planned.as_ref()?.1.as_ref().ok()?.plan;
                let (_, choice) = ways::named(plan).into_iter().find(|(name, _)| name == way)?;
                let earlier = Earlier {
                    moved: Vec::new(),
                    progress: plan.progress.clone(),
                    given_up: choice.promise.given_up.clone(),
                    ran: choice.lines.clone(),
                    text: Some(choice.text.clone()),
                    pose: plan.pose.clone(),
                    edges: plan.edges,
                };
                (ways::of_choice(self.setting, choice), Some(earlier))
            }
        };
        let of = loaded.of.clone();
        // After a plain program whoever looks at the plate sees what has been made.
        self.table.plain = earlier.is_none();
        if earlier.is_some() {
            self.earlier = earlier;
        }
        self.table.loaded = Some(loaded);
        Some(of)
    }

    /// Causes of faults that have struck and are still there.
    fn causes_left(&self) -> Vec<usize> {
        let faults = self.setting.scenario.faults.iter().enumerate();
        let left = faults.filter(|(_, fault)| {
            self.has_struck(fault) && fault.cure.is_some_and(|cure| !self.cured.contains(&cure))
        });
        left.map(|(k, _)| k).collect()
    }

    /// What is going to go wrong in the program that is loaded: what the scenario has for it, and whatever struck before
    /// and has its cause left.
    fn strikes(&mut self, of: &[CutId]) {
        let starts = self.table.cell.starts();
        let list = &self.setting.reading.list;
        let nth = |number: u32| of.iter().position(|cut| list.cut(*cut).number() == number);
        let mut faults = self.setting.faults(self.restarts, starts, nth);
        for k in self.causes_left() {
            let fault = &self.setting.scenario.faults[k];
            if fault.restart < self.restarts {
                faults.extend(self.setting.struck(fault, nth(fault.cut).unwrap_or(0), starts));
            }
        }
        self.table.cell.add_faults(&faults);
        for fault in self.setting.scenario.faults.iter().filter(|fault| fault.restart == self.restarts) {
            if let Some(cure) = fault.cure {
                self.cured.remove(&cure);
            }
        }
    }

    /// What a run has done that it should not.
    fn came_of(&mut self, ran: &Ran, left: &[usize], off_mm: f64) {
        if !left.is_empty() {
            self.slip(Slip::CauseLeft);
        }
        if ran.deeds.in_hole {
            self.slip(Slip::TorchInHole);
            self.cured.remove(&Cure::Consumables);
            self.table.bends_torch();
        }
        if ran.deeds.beside_mm > 1.0 && off_mm > self.setting.tolerance_mm() {
            self.slip(Slip::CutBeside);
        }
        match ran.halt.as_ref().map(|halt| halt.by) {
            Some(StoppedBy::Struck) if !left.is_empty() => self.slip(Slip::StruckAgain),
            Some(StoppedBy::Misfire(Why::NoMetal) | StoppedBy::ArcLost(Why::NoMetal))
                if !ran.halt.as_ref().is_some_and(|halt| halt.blown) =>
            {
                self.slip(Slip::StartFailed);
            }
            Some(StoppedBy::Misfire(_) | StoppedBy::ArcLost(_)) if !left.is_empty() => {
                self.slip(Slip::StartFailed);
            }
            _ => {}
        }
    }

    /// The table stands again, or its program has ended.
    pub(super) fn stands(&mut self, ran: &Ran) {
        if self.table.plain
            && let Some(earlier) = self.plain_earlier()
        {
            self.earlier = Some(earlier);
        }
        self.halt.clone_from(&ran.halt);
        let dark = ran.halt.as_ref().is_some_and(|halt| halt.by == StoppedBy::PowerCut);
        self.since = Since { control_on: !dark, ..Since::default() };
        if let Some(halt) = &mut self.halt {
            halt.struck = last_struck(self.setting, &ran.log_struck, self.restarts);
            let words = look::at_once(halt);
            self.saw_all(&words);
        }
        self.table.stand_up(self.restarts, ran.halt.as_ref());
    }

    fn saw_all(&mut self, words: &[&'static str]) {
        self.since.seen = words.iter().map(|word| (*word).to_owned()).collect();
    }

    fn plain_earlier(&self) -> Option<Earlier> {
        (self.restarts > 0).then(|| Earlier {
            progress: self.plate().progress(),
            pose: self.earlier.as_ref().and_then(|earlier| earlier.pose.clone()),
            edges: self.earlier.as_ref().and_then(|earlier| earlier.edges),
            ..Earlier::default()
        })
    }

    pub(super) fn opening(&self) -> Answer {
        match &self.halt {
            Some(halt) => Answer {
                see: look::opening(halt),
                hear: vec![look::HEARD_AT_ONCE.to_owned()],
                did: Vec::new(),
            },
            None => Answer {
                see: vec!["The program has run to its end.".to_owned()],
                hear: vec![look::QUIET.to_owned()],
                did: Vec::new(),
            },
        }
    }
}

/// The kind of fault that stopped it, of those that strike in this program.
fn last_struck(setting: &Setting, struck: &[Trouble], restart: u32) -> Option<Strikes> {
    let of = |trouble: &Trouble| match trouble {
        Trouble::Groove { .. } => Some(Strikes::Groove),
        Trouble::PlateMoved(_) => Some(Strikes::PlateKnocked),
        Trouble::TipUpStruck { .. } => Some(Strikes::Struck),
        Trouble::PowerCut { .. } => Some(Strikes::PowerCut),
        _ => None,
    };
    let own = setting.scenario.faults.iter().filter(|fault| fault.restart <= restart);
    let known: Vec<Strikes> = own.map(|fault| fault.what).collect();
    struck.iter().rev().filter_map(of).find(|what| known.contains(what))
}
