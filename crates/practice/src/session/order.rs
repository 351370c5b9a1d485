//! The order of work: every act is held against the safe order.

use super::{Answer, Ended, Session};
use crate::act::{Act, Clearing};
use crate::slip::Slip;
use shop::{Cure, Look};

impl Session<'_> {
    /// Holds an act against the safe order.
    pub(super) fn order(&mut self, act: &Act) {
        let touches = !matches!(
            act,
            Act::Stop
                | Act::Look(Look::Light | Look::Plate | Look::Lead | Look::Air | Look::Fire)
                | Act::Listen
                | Act::Read
                | Act::Wait(_)
                | Act::Ways
                | Act::Choose(_)
                | Act::Done
        );
        // Isolating is safe at any time: it takes the place of the stop for hands, not for the program.
        if touches && !self.since.stopped && !matches!(act, Act::Isolate) {
            self.slip(Slip::NotStopped);
        }
        if touches && !self.since.light && self.since.isolated_s.is_none() && !matches!(act, Act::Note) {
            self.slip(Slip::LightNotSeen);
        }
        let may_lose_place = matches!(
            act,
            Act::Isolate
                | Act::Power
                | Act::Clear(Clearing::OffAndOn)
                | Act::Fix(Cure::Piece)
                | Act::Measure(_)
        );
        let lit = self.table.cell_start_command() && self.since.light;
        if may_lose_place && !self.since.noted && !(lit && matches!(act, Act::Isolate)) {
            self.slip(Slip::NotNoted);
        }
        if act.needs_hands() && !self.since.raised {
            self.slip(Slip::TorchLow);
        }
        let switches_off = matches!(act, Act::Isolate | Act::Clear(Clearing::OffAndOn));
        if switches_off && self.table.gas_flows() {
            self.slip(Slip::GasFlowed);
        }
    }

    /// Puts hands to the torch; says whether that ended the session.
    pub(super) fn hands(&mut self, answer: &mut Answer) -> bool {
        let now_s = self.table.cell.now_s();
        let slip = match self.since.isolated_s {
            None if self.table.hands_in_danger() => Slip::HandsUnderStart,
            None => Slip::HandsNotIsolated,
            Some(since_s) if now_s - since_s < self.setting.isolation_wait_s() => Slip::HandsTooSoon,
            Some(_) => return false,
        };
        self.slip(slip);
        self.ended = Some(Ended::Hands);
        answer.did.extend([slip.why().to_owned(), Ended::Hands.says().to_owned()]);
        true
    }

    /// What should have been done before a start, and has not been.
    pub(super) fn left_undone(&self) -> Vec<Slip> {
        let since = &self.since;
        let steps = [
            (since.light, Slip::LightNotSeen),
            (since.fire, Slip::FireNotLooked),
            (since.slag, Slip::SlagLeft),
            (since.marked || !since.measured.is_empty(), Slip::NoMark),
            (since.traced, Slip::NoTrace),
        ];
        steps.into_iter().filter(|(done, _)| !done).map(|(_, slip)| slip).collect()
    }

    /// The session is ended with the table standing: what nobody has come to earns nothing.
    pub(super) fn gives_up(&mut self) {
        let never_stopped = !self.since.stopped && !self.slips.contains(&Slip::NotStopped);
        if never_stopped {
            self.slip(Slip::NeverStopped);
        }
        self.left_undone().into_iter().for_each(|slip| self.slip(slip));
        self.slip(Slip::GivenUp);
        self.ended = Some(Ended::Given);
    }
}
