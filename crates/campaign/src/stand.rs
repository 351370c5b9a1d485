//! A table with its plate, as it stands between programs: the cell and, under its torch, the judge's plate.

use crate::adapt::leaves_on;
use crate::bed::{Bed, is_same};
use crate::beside::Beside;
use crate::judge::{Deeds, Lie, Rig, Start, Unsafe};
use cell::{Act, Cell, Happening, Log, Onlooker, Stopped, StoppedBy, Work};
use cuts::CutList;
use geometry::{Placement, Point, Program as Frame};
use nc::Motions;

/// A table with its plate.
#[derive(Clone, Debug)]
pub(crate) struct Stand<'b> {
    pub(crate) cell: Cell,
    pub(crate) rig: Rig<'b>,
    /// How far off the datum was set when the plate was begun.
    pub(crate) datum_mm: [f64; 2],
    /// What has been cut beside the cuts, in order.
    pub(crate) beside: Vec<Beside>,
}

/// A program as it is run.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Program<'p> {
    pub(crate) motions: &'p Motions,
    pub(crate) list: &'p CutList,
    pub(crate) starts: &'p [Start],
}

/// What a run came to.
#[derive(Clone, Debug)]
pub(crate) struct Ran {
    /// How it stopped; none if it ran to its end.
    pub(crate) stopped: Option<Halt>,
    /// What it did to the plate.
    pub(crate) deeds: Deeds,
    /// Events and times.
    pub(crate) log: Log,
}

/// How a program stopped.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Halt {
    pub(crate) by: StoppedBy,
    /// The cut of the program that ran, by index.
    pub(crate) cut: usize,
    /// Where the control shows the torch.
    pub(crate) at: [f64; 2],
    /// Radius of the hole that was blown there, in millimetres.
    pub(crate) hole_mm: Option<f64>,
    /// How the report of it is wrong: millimetres of kerf, number of cuts.
    pub(crate) misreports: Option<(f64, i32)>,
}

impl<'b> Stand<'b> {
    /// Runs a program until it ends or is stopped.
    pub(crate) fn run(&mut self, program: &Program<'_>) -> Ran {
        let mut onlooker = Onlooker::default();
        self.rig.begins_run();
        let (cell, mut bed) = self.laid(program);
        let log = cell.run(&Work::new(program.motions, program.list), &mut bed, &mut onlooker);
        if onlooker.saw().is_none() && leaves_on(program.motions) {
            self.rig.notes(Unsafe::LeftOn);
        }
        let deeds = self.rig.ends_run();
        self.cell.forget_faults();
        let stopped = onlooker.saw().map(|stopped| halt(stopped, &log, program));
        Ran { stopped, deeds, log }
    }

    /// Does things at the table as it stands. Gives the unsafe moments.
    pub(crate) fn attend(&mut self, program: &Program<'_>, acts: &[Act]) -> Vec<Unsafe> {
        let (cell, mut bed) = self.laid(program);
        let log = cell.attend(&Work::new(program.motions, program.list), &mut bed, acts);
        let stands = |what: Happening| matches!(what, Happening::HandsInDanger | Happening::FiresUnasked);
        log.events.iter().filter(|event| stands(event.what)).map(|_| Unsafe::StartStands).collect()
    }

    /// The cell, and the plate under its torch as a program takes it.
    fn laid<'s>(&'s mut self, program: &Program<'s>) -> (&'s mut Cell, Bed<'s, 'b>) {
        let taken = self.taken();
        let bed = Bed {
            rig: &mut self.rig,
            list: program.list,
            starts: program.starts,
            datum_mm: self.datum_mm,
            taken,
            beside: &mut self.beside,
        };
        (&mut self.cell, bed)
    }

    /// Where the plate lies as whoever wrote the program takes it: as it was laid, or where it was found since.
    fn taken(&self) -> Placement<Frame, Frame> {
        let lies = *self.cell.lies();
        let [x, y] = self.datum_mm;
        if is_same(&lies, &Placement::IDENTITY) { Placement::new(0.0, Point::new(x, y)) } else { lies }
    }

    /// Where the plate lies under the control, in the frame in which it was begun.
    pub(crate) fn lie(&self) -> Lie {
        let lies = self.cell.lies();
        let origin = lies.origin();
        Lie {
            turn_rad: lies.angle_rad(),
            about: [0.0; 2],
            shift: [origin.x - self.datum_mm[0], origin.y - self.datum_mm[1]],
        }
    }
}

fn halt(stopped: &Stopped, log: &Log, program: &Program<'_>) -> Halt {
    let last = program.list.cuts.len().saturating_sub(1);
    let blown = log.events.iter().rev().find_map(|event| match event.what {
        Happening::HoleBlown { diameter_mm, .. } => Some(diameter_mm / 2.0),
        _ => None,
    });
    Halt {
        by: stopped.by,
        cut: stopped.cut.map_or(last, |cut| (cut.0 as usize).min(last)),
        at: [stopped.at.x, stopped.at.y],
        hole_mm: blown,
        misreports: stopped.misreports,
    }
}
