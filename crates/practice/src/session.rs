//! A session: a person's acts on a stopped table, and what comes of each.

use crate::act::{Act, Clearing, Measuring};
use crate::bed::Plate;
use crate::look;
use crate::score::{Area, Score};
use crate::setting::Setting;
use crate::slip::Slip;
use crate::table::{Halt, Ran, Table};
use crate::ways::{self, Way};
use cell::{Happening, Source, StoppedBy, Trouble, Why};
use cuts::{CutId, Depth};
use desk::{NotPlanned, Rescued};
use geometry::{Point, Program};
use rescue::Earlier;
use shop::{Cure, CutIs, CutState, Look, Measured, Pointer, StopKind, StopReport, Strikes};
use std::collections::BTreeSet;
use units::Length;

/// What came of an act.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Answer {
    /// What is seen.
    pub see: Vec<String>,
    /// What is heard.
    pub hear: Vec<String>,
    /// What was done, or why it could not be.
    pub did: Vec<String>,
}

/// How a session ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    /// Hands were in danger.
    Hands,
    /// The last program ran to its end.
    Ran,
    /// Whoever practised ended it.
    Given,
}

impl Ended {
    /// It in a plain sentence.
    #[must_use]
    pub const fn says(self) -> &'static str {
        match self {
            Self::Hands => "The session ended at once: hands were in danger.",
            Self::Ran => "The program ran to its end.",
            Self::Given => "The session was ended before the plate was done.",
        }
    }

    /// Its name, as it is kept.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Hands => "hands",
            Self::Ran => "ran",
            Self::Given => "given",
        }
    }
}

/// What has been found out and done since the last stop.
#[derive(Clone, Debug, Default)]
struct Since {
    stopped: bool,
    light: bool,
    noted: bool,
    /// What the control showed when it was written down.
    noted_at: Option<Point<Program>>,
    raised: bool,
    /// Whether the control has power.
    control_on: bool,
    /// When the source was isolated, in seconds, if it is.
    isolated_s: Option<f64>,
    fire: bool,
    slag: bool,
    code: Option<String>,
    plate_seen: bool,
    kerf: Option<KerfRead>,
    measured: Vec<Measured>,
    marked: bool,
    traced: bool,
    chosen: Option<String>,
    /// Observations by their names in the stop report.
    seen: Vec<String>,
}

/// What was read of the stopped cut's kerf.
#[derive(Clone, Copy, Debug, PartialEq)]
struct KerfRead {
    through_mm: f64,
    groove_mm: Option<f64>,
}

/// How far off a reading of a kerf's end may be at most, in millimetres (common practice, looked at from both sides).
const KERF_WITHIN_MM: f64 = 1.0;

/// Uncertainty of a place sighted by pointer, in millimetres, and how far off it is at most here (common practice: 0.5 mm;
/// better where one takes the time that it takes here).
const SIGHT_SIGMA_MM: f64 = 0.3;

/// A torch that stands farther than this from where it should, in millimetres, is seen to be off.
const SEEN_OFF_MM: f64 = 1.5;

/// Most features that are sighted on a plate.
const SIGHTED: usize = 8;

/// Time at the table that costs nothing, in seconds, for each stop that a scenario has: the whole safe order with the
/// longest fix, some looks, and room to think.
const ALLOWED_S: f64 = 1200.0;

/// Each further stretch of so many seconds costs a point.
const POINT_EVERY_S: f64 = 120.0;

/// Points that each lost part costs.
const PART_POINTS: u32 = 8;

/// Most acts that a session takes: past it nobody practises any more.
const ACTS_MOST: usize = 200;

/// A session.
#[derive(Debug)]
pub struct Session<'s> {
    setting: &'s Setting,
    seed: u64,
    acts: Vec<Act>,
    answers: Vec<Answer>,
    table: Table<'s>,
    halt: Option<Halt>,
    since: Since,
    cured: BTreeSet<Cure>,
    earlier: Option<Earlier>,
    planned: Option<(StopReport, Result<Rescued, NotPlanned>)>,
    slips: Vec<Slip>,
    ended: Option<Ended>,
    /// Seconds in which programs ran.
    run_s: f64,
    /// When the first stop was.
    from_s: f64,
    restarts: u32,
}

impl<'s> Session<'s> {
    /// The table as it stands when the program has stopped. The same setting and seed give the same session.
    #[must_use]
    pub fn begin(setting: &'s Setting, seed: u64) -> Self {
        let mut table = Table::new(setting, seed);
        let faults = setting.faults(0, 0, |number| {
            let cuts = &setting.reading.list.cuts;
            cuts.iter().position(|cut| cut.number() == number)
        });
        table.cell.add_faults(&faults);
        let ran = table.run();
        let mut session = Self {
            setting,
            seed,
            acts: Vec::new(),
            answers: Vec::new(),
            from_s: table.cell.now_s(),
            table,
            halt: None,
            since: Since::default(),
            cured: BTreeSet::new(),
            earlier: None,
            planned: None,
            slips: Vec::new(),
            ended: None,
            run_s: 0.0,
            restarts: 0,
        };
        session.stands(&ran);
        let opening = session.opening();
        session.answers.push(opening);
        session
    }

    /// The session of these acts.
    #[must_use]
    pub fn replay(setting: &'s Setting, seed: u64, acts: &[Act]) -> Self {
        let mut session = Self::begin(setting, seed);
        for act in acts {
            session.act(act);
        }
        session
    }

    /// The setting it stands on.
    #[must_use]
    pub const fn setting(&self) -> &'s Setting {
        self.setting
    }

    /// The seed it was begun with.
    #[must_use]
    pub const fn seed(&self) -> u64 {
        self.seed
    }

    /// What has been done, in order.
    #[must_use]
    pub fn acts(&self) -> &[Act] {
        &self.acts
    }

    /// What came of each act; the first is what there was before any.
    #[must_use]
    pub fn answers(&self) -> &[Answer] {
        &self.answers
    }

    /// How it ended, if it has.
    #[must_use]
    pub const fn ended(&self) -> Option<Ended> {
        self.ended
    }

    /// Seconds since the first stop.
    #[must_use]
    pub const fn time_s(&self) -> f64 {
        self.table.cell.now_s() - self.from_s
    }

    /// What is on the plate now.
    #[must_use]
    pub fn progress(&self) -> cuts::Progress {
        self.plate().progress()
    }

    /// Where the control shows the torch, and the number of the cut at which it stands; none once a program has run to
    /// its end.
    #[must_use]
    pub fn torch(&self) -> Option<(Point<Program>, u32)> {
        self.halt.as_ref().map(|halt| (halt.at, halt.cut.number()))
    }

    /// The ways to go on, once somebody has asked for them.
    #[must_use]
    pub fn ways(&self) -> Vec<Way> {
        let Some((_, planned)) = self.planned.as_ref().filter(|_| self.ended.is_none()) else {
            return Vec::new();
        };
        let Some(halt) = &self.halt else { return Vec::new() };
        ways::ways(self.setting, planned.as_ref().ok(), halt.cut)
    }

    /// The way that is chosen.
    #[must_use]
    pub fn chosen(&self) -> Option<&str> {
        self.since.chosen.as_deref()
    }

    fn plate(&self) -> &Plate {
        &self.table.plate
    }

    /// Does something. After the end nothing happens any more.
    pub fn act(&mut self, act: &Act) -> &Answer {
        if self.ended.is_none() && self.acts.len() < ACTS_MOST {
            self.acts.push(act.clone());
            let mut answer = Answer::default();
            self.does(act, &mut answer);
            self.answers.push(answer);
            if self.acts.len() == ACTS_MOST && self.ended.is_none() {
                self.ended = Some(Ended::Given);
            }
        }
        self.answers.last().expect("there is an answer before any act")
    }

    fn does(&mut self, act: &Act, answer: &mut Answer) {
        self.order(act);
        if act.needs_hands() && self.hands(answer) {
            return;
        }
        if !matches!(act, Act::Start) {
            self.table.waits(act.takes_s());
        }
        match act {
            Act::Stop => self.stop(answer),
            Act::Look(what) => self.look(*what, answer),
            Act::Listen => self.listen(answer),
            Act::Read => self.read(answer),
            Act::Note => self.note(answer),
            Act::Raise => self.raise(answer),
            Act::Wait(_) => answer.did.push("You waited.".to_owned()),
            Act::Isolate => self.isolate(answer),
            Act::Fix(cure) => self.fix(*cure, answer),
            Act::Clear(how) => self.clear(*how, answer),
            Act::Power => self.power(answer),
            Act::Measure(what) => self.measure(*what, answer),
            Act::Ways => self.asks_ways(answer),
            Act::Choose(way) => self.choose(way, answer),
            Act::Trace => self.trace(answer),
            Act::Start => self.start(answer),
            Act::Done => {
                self.ended = Some(Ended::Given);
                answer.did.push(Ended::Given.says().to_owned());
            }
        }
    }

    // The order of work.

    fn slip(&mut self, slip: Slip) {
        let again =
            matches!(slip, Slip::StartFailed | Slip::TorchInHole | Slip::CutBeside | Slip::StruckAgain);
        if again || !self.slips.contains(&slip) {
            self.slips.push(slip);
        }
    }

    /// Holds an act against the safe order.
    fn order(&mut self, act: &Act) {
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
    fn hands(&mut self, answer: &mut Answer) -> bool {
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

    // What is done.

    fn stop(&mut self, answer: &mut Answer) {
        self.table.attend(&[cell::Act::TakeStartAway]);
        self.since.stopped = true;
        answer.did.push("You stopped the program, and took your time to see that it stands.".to_owned());
    }

    fn look(&mut self, what: Look, answer: &mut Answer) {
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

    fn listen(&mut self, answer: &mut Answer) {
        let (text, words) = match &self.halt {
            Some(halt) => look::listened(halt, self.table.gas_flows(), self.table.cell_start_command()),
            None => (look::QUIET.to_owned(), Vec::new()),
        };
        answer.hear.push(text);
        self.saw(&words);
    }

    fn read(&mut self, answer: &mut Answer) {
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

    fn note(&mut self, answer: &mut Answer) {
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
    fn stands_still(&self) -> Option<&'static str> {
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

    fn raise(&mut self, answer: &mut Answer) {
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

    fn isolate(&mut self, answer: &mut Answer) {
        self.table.attend(&[cell::Act::SwitchOff]);
        self.since.isolated_s = Some(self.table.cell.now_s());
        let wait = self.setting.isolation_wait_s() / 60.0;
        answer.did.push(format!(
            "The source is isolated and kept off, motion is disabled. Its manual here asks for {wait:.0} min of waiting."
        ));
    }

    fn fix(&mut self, cure: Cure, answer: &mut Answer) {
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

    fn has_struck(&self, fault: &shop::ScenarioFault) -> bool {
        fault.restart <= self.restarts
    }

    fn clear(&mut self, how: Clearing, answer: &mut Answer) {
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

    fn power(&mut self, answer: &mut Answer) {
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

    // What is measured.

    fn measure(&mut self, what: Measuring, answer: &mut Answer) {
        if let Some(why) = self.stands_still() {
            return answer.did.push(why.to_owned());
        }
        if !self.since.raised {
            return answer.did.push("The torch is down: raise it before it travels.".to_owned());
        }
        match what {
            Measuring::Mark => self.mark(answer),
            Measuring::Kerf => self.kerf(answer),
            Measuring::Plate => self.sight(answer),
        }
    }

    fn mark(&mut self, answer: &mut Answer) {
        let stopped = self.halt.as_ref().map(|halt| halt.cut.number());
        let craters = self.table.craters();
        let others = craters.iter().rev().find(|(number, _)| Some(*number) != stopped);
        let Some((number, at)) = others.copied() else {
            self.since.marked = true;
            return answer.see.push(
                "No crater is left that the skeleton holds; program zero lies where it should.".to_owned(),
            );
        };
        self.since.marked = true;
        // Where the plate has been found again, the torch is sent to where the mark lies now.
        let pose = self.earlier.as_ref().and_then(|earlier| earlier.pose.as_ref());
        let shown = pose.map_or(at, |pose| {
            let there = pose.placement.point(at);
            Point::new(there.x, there.y)
        });
        let stands = self.table.stands_at(shown);
        let (dx, dy) = (stands.x - at.x, stands.y - at.y);
        if stands.distance(at) <= SEEN_OFF_MM {
            answer.see.push(format!("The torch stands over the crater of cut {number}: the position holds."));
        } else {
            answer.see.push(format!(
                "The torch stands {dx:.0} mm in X and {dy:.0} mm in Y off the crater of cut {number}: the position does not hold."
            ));
        }
    }

    fn kerf(&mut self, answer: &mut Answer) {
        let Some(halt) = self.halt.clone() else { return };
        let through = self.plate().state.made_mm(halt.cut, Depth::Through).first().cloned();
        let groove = self.plate().state.made_mm(halt.cut, Depth::Groove).first().cloned();
        let length_mm = self.setting.reading.list.cut(halt.cut).path.length_mm();
        match (through, groove) {
            (None, None) => answer.see.push(format!("Nothing of cut {} is cut.", halt.cut.number())),
            (through, groove) => {
                let off_mm = self.table.noise(KERF_WITHIN_MM * 0.8);
                let read = |end_mm: f64| (end_mm + off_mm).clamp(0.0, length_mm);
                let through_mm = through.map_or(0.0, |through| through.end);
                let groove_mm = groove.map(|groove| groove.end).filter(|end_mm| *end_mm > through_mm + 2.0);
                let reading = KerfRead { through_mm: read(through_mm), groove_mm: groove_mm.map(read) };
                self.since.kerf = Some(reading);
                let groove = reading
                    .groove_mm
                    .map_or_else(String::new, |mm| format!(", and from there to {mm:.0} mm it is a groove"));
                answer.see.push(format!(
                    "Cut {} is through for {:.0} mm from its pierce{groove}.",
                    halt.cut.number(),
                    reading.through_mm
                ));
            }
        }
    }

    fn sight(&mut self, answer: &mut Answer) {
        let rows = self.table.sighted(SIGHTED, SIGHT_SIGMA_MM);
        answer.did.push(format!(
            "You sighted {} corners and craters with the pointer and typed what the control shows.",
            rows.len()
        ));
        // Measured once more, everything is known better.
        self.since.measured.extend(rows);
    }

    // How it goes on.

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

    fn knocked(&self) -> bool {
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

    fn asks_ways(&mut self, answer: &mut Answer) {
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

    fn choose(&mut self, name: &str, answer: &mut Answer) {
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
    fn off_mm(&self) -> f64 {
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

    fn trace(&mut self, answer: &mut Answer) {
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

    fn start(&mut self, answer: &mut Answer) {
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
        self.before_start();
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

    /// What should have been done before a start.
    fn before_start(&mut self) {
        if !self.since.light {
            self.slip(Slip::LightNotSeen);
        }
        if !self.since.fire {
            self.slip(Slip::FireNotLooked);
        }
        if !self.since.slag {
            self.slip(Slip::SlagLeft);
        }
        if !self.since.marked && self.since.measured.is_empty() {
            self.slip(Slip::NoMark);
        }
        if !self.since.traced {
            self.slip(Slip::NoTrace);
        }
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
    fn stands(&mut self, ran: &Ran) {
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
            ..Earlier::default()
        })
    }

    fn opening(&self) -> Answer {
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

    // The score.

    /// The score as it stands.
    #[must_use]
    pub fn score(&self) -> Score {
        let mut score = Score { ran: self.ended == Some(Ended::Ran), ..Score::default() };
        self.slips.iter().for_each(|slip| score.slip(*slip));
        let (spoilt, unfinished) = self.table.lost_parts();
        for (part, why) in spoilt {
            score.lose(Area::Parts, PART_POINTS, format!("Part {part} is lost: {why}."));
        }
        if let Some(first) = unfinished.first() {
            let points = PART_POINTS
                .saturating_mul(u32::try_from(unfinished.len()).unwrap_or(u32::MAX))
                .min(Area::Parts.of());
            let numbers: Vec<String> = unfinished.iter().map(u32::to_string).collect();
            let text = match unfinished.len() {
                1 => format!("Part {first} was not finished."),
                _ => format!("Parts {} were not finished.", numbers.join(", ")),
            };
            score.lose(Area::Parts, points, text);
        }
        let stops = 1 + self.setting.scenario.faults.iter().map(|fault| fault.restart).max().unwrap_or(0);
        let allowed_s = (ALLOWED_S + self.setting.isolation_wait_s()) * f64::from(stops);
        let over_s = self.time_s() - self.run_s - allowed_s;
        if over_s > 0.0 {
            let points = (1..=Area::Time.of())
                .take_while(|points| f64::from(points - 1) * POINT_EVERY_S < over_s)
                .count();
            let text = format!(
                "The table stood for {:.0} min; {:.0} min are enough.",
                (self.time_s() - self.run_s) / 60.0,
                allowed_s / 60.0
            );
            score.lose(Area::Time, u32::try_from(points).unwrap_or(Area::Time.of()), text);
        }
        score.sorted()
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

/// Whether a happening is that of a torch that fires unasked.
pub(crate) const fn is_fired(what: Happening) -> bool {
    matches!(what, Happening::FiresUnasked)
}
