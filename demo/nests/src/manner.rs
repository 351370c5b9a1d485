//! In what manner a program is written: the habits of whoever or whatever wrote it.

use crate::{Nest, Random};
use nc::{ArcCenters, Code, CommentForm, Dialect, Distance, TorchOffActs, TouchOffBy, Units};
use units::Length;

/// How the plate's surface is found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TouchOffHabit {
    /// Each cut probes in its own text and sets Z there.
    Probe,
    /// Each cut calls this subprogram, which stands in the program and probes.
    ProbeInSubprogram(u32),
    /// As the first entry of the dialect's `touch_off` has it.
    AsDialect,
}

/// How arcs are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ArcWords {
    /// By I and J.
    Centre,
    /// By R, in pieces of a third of a turn at most, since larger ones are inexact.
    Radius,
}

/// How numbers are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Numbers {
    /// As digits.
    Plain,
    /// By parameters and expressions.
    Parameters,
}

/// How copies of a part are written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Copies {
    /// Each in full.
    InFull,
    /// Once, as a subprogram in increments, called with repeats where the pitch allows.
    Subprogram,
}

/// What makes no difference to what the program does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[expect(clippy::struct_excessive_bools, reason = "a set of habits, each there or not")]
pub struct Dress {
    /// Blocks begin with N and a number.
    pub line_numbers: bool,
    /// Letters are small.
    pub lower_case: bool,
    /// Words stand without blanks between them.
    pub no_blanks: bool,
    /// Blanks stand anywhere, even inside numbers.
    pub odd_blanks: bool,
    /// Words of a block stand in any order.
    pub any_order: bool,
    /// Numbers have signs, points and zeros they do not need.
    pub odd_numbers: bool,
    /// Cuts are named in comments.
    pub comments: bool,
    /// Words that change nothing are left out.
    pub terse: bool,
    /// The program stands between two `%` lines.
    pub percent: bool,
    /// Every other cut is written in the other unit.
    pub mixed_units: bool,
    /// Every other cut means I and J the other way, where the dialect has words for it.
    pub mixed_centers: bool,
}

/// All habits together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Manner {
    /// Unit of length.
    pub units: Units,
    /// Distance mode.
    pub distance: Distance,
    /// How I and J are meant.
    pub centers: ArcCenters,
    /// How arcs are written.
    pub arcs: ArcWords,
    /// How the surface is found.
    pub touch_off: TouchOffHabit,
    /// Whether the program moves Z itself; else the control does.
    pub moves_z: bool,
    /// How numbers are written.
    pub numbers: Numbers,
    /// How copies are written.
    pub copies: Copies,
    /// The datum is moved between cuts now and then, by G92 or by another coordinate system.
    pub moves_datum: bool,
    /// Cuts that allow it are written along the part's own line, under cutter compensation.
    pub compensated: bool,
    /// Everything that makes no difference.
    pub dress: Dress,
    /// Seed of all that is random in the dress.
    pub seed: u64,
}

/// A manner of writing with the words of the control it is meant for.
#[derive(Clone, Debug)]
pub struct Hand {
    /// Its name.
    pub name: &'static str,
    /// Its habits.
    pub manner: Manner,
    /// Its words.
    pub dialect: Dialect,
}

impl Manner {
    /// Millimetres, absolute, probing in the text, everything written out.
    #[must_use]
    pub fn plain() -> Self {
        Self {
            units: Units::Millimetres,
            distance: Distance::Absolute,
            centers: ArcCenters::FromStart,
            arcs: ArcWords::Centre,
            touch_off: TouchOffHabit::Probe,
            moves_z: true,
            numbers: Numbers::Plain,
            copies: Copies::InFull,
            moves_datum: false,
            compensated: false,
            dress: Dress::default(),
            seed: 1,
        }
    }
}

impl Hand {
    /// All named hands but [`Hand::datums`]. Their words are invented and mixed so that no control has them all.
    #[must_use]
    pub fn all() -> Vec<Self> {
        vec![
            Self::metric_probing(),
            Self::inch(),
            Self::control_touch_off(),
            Self::increments(),
            Self::radius_arcs(),
            Self::parameters(),
            Self::copies(),
            Self::compensated(),
            Self::strict(),
            Self::untidy(),
        ]
    }

    /// Millimetres, absolute, with probing in the text.
    #[must_use]
    pub fn metric_probing() -> Self {
        let dress = Dress { comments: true, ..Dress::default() };
        Self {
            name: "metric-probing",
            manner: Manner { dress, ..Manner::plain() },
            dialect: Dialect { torch_on: vec![Code::new(b'M', 3)], ..Dialect::common() },
        }
    }

    /// Inches, terse, numbered, with a process word, a dwell in milliseconds and a torch-off in the block of the last
    /// motion that acts after it.
    #[must_use]
    pub fn inch() -> Self {
        let dialect = Dialect {
            torch_off_acts: TorchOffActs::AfterMotion,
            dwell: nc::Dwell { seconds_per_unit: 0.001, ..Dialect::common().dwell },
            comments: vec![CommentForm::ToEndOfLine(b';')],
            ..Dialect::common()
        };
        let dress = Dress { terse: true, line_numbers: true, comments: true, ..Dress::default() };
        Self { name: "inch", manner: Manner { units: Units::Inches, dress, ..Manner::plain() }, dialect }
    }

    /// Touch-off and heights by the control, torch words of its own, absolute centres, small letters without
    /// blanks.
    #[must_use]
    pub fn control_touch_off() -> Self {
        let dialect = Dialect {
            torch_on: vec![Code::new(b'M', 33)],
            torch_off: vec![Code::new(b'M', 34)],
            probe: Vec::new(),
            touch_off: vec![TouchOffBy::Code(Code::new(b'M', 36))],
            height_control_on: vec![Code::new(b'M', 43)],
            height_control_off: vec![Code::new(b'M', 44)],
            process_letter: Some(b'H'),
            arc_centers: ArcCenters::Absolute,
            ..Dialect::common()
        };
        let dress = Dress { lower_case: true, no_blanks: true, ..Dress::default() };
        let manner = Manner {
            centers: ArcCenters::Absolute,
            touch_off: TouchOffHabit::AsDialect,
            moves_z: false,
            dress,
            ..Manner::plain()
        };
        Self { name: "control-touch-off", manner, dialect }
    }

    /// Increments, with a subprogram that touches off, called by words of its own.
    #[must_use]
    pub fn increments() -> Self {
        let dialect = Dialect {
            call: Code::new(b'M', 75),
            call_target: b'Q',
            call_repeats: b'K',
            call_return: Code::new(b'M', 76),
            ..Dialect::common()
        };
        let dress = Dress { terse: true, comments: true, ..Dress::default() };
        let manner = Manner {
            distance: Distance::Incremental,
            touch_off: TouchOffHabit::ProbeInSubprogram(40),
            dress,
            ..Manner::plain()
        };
        Self { name: "increments", manner, dialect }
    }

    /// Arcs by radius; the torch-on itself touches off.
    #[must_use]
    pub fn radius_arcs() -> Self {
        let dialect = Dialect { touch_off: vec![TouchOffBy::TorchOn], ..Dialect::common() };
        let manner = Manner {
            arcs: ArcWords::Radius,
            touch_off: TouchOffHabit::AsDialect,
            moves_z: false,
            ..Manner::plain()
        };
        Self { name: "radius-arcs", manner, dialect }
    }

    /// Parameters and expressions for coordinates, feeds and waits.
    #[must_use]
    pub fn parameters() -> Self {
        let manner = Manner { numbers: Numbers::Parameters, ..Manner::plain() };
        Self { name: "parameters", manner, ..Self::metric_probing() }
    }

    /// Copies of parts as subprograms with repeats.
    #[must_use]
    pub fn copies() -> Self {
        let dress = Dress { percent: true, comments: true, ..Dress::default() };
        let manner = Manner { copies: Copies::Subprogram, dress, ..Manner::plain() };
        Self { name: "copies", manner, ..Self::metric_probing() }
    }

    /// The part's own line under cutter compensation.
    #[must_use]
    pub fn compensated() -> Self {
        let manner = Manner { compensated: true, ..Manner::plain() };
        Self { name: "compensated", manner, ..Self::metric_probing() }
    }

    /// The datum moved between cuts: readable, but no program to be cut from or begun with in the middle; for tests of
    /// reading.
    #[must_use]
    pub fn datums() -> Self {
        Self {
            name: "datums",
            manner: Manner { moves_datum: true, ..Manner::plain() },
            ..Self::metric_probing()
        }
    }

    /// Nothing that NISTIR 6556 does not have.
    #[must_use]
    pub fn strict() -> Self {
        let dress = Dress { percent: true, line_numbers: true, ..Dress::default() };
        Self { name: "strict", manner: Manner { dress, ..Manner::plain() }, dialect: Dialect::strict() }
    }

    /// Everything that is allowed and nobody should do.
    #[must_use]
    pub fn untidy() -> Self {
        let dress = Dress {
            line_numbers: true,
            lower_case: true,
            no_blanks: false,
            odd_blanks: true,
            any_order: true,
            odd_numbers: true,
            comments: true,
            terse: true,
            percent: false,
            mixed_units: true,
            mixed_centers: true,
        };
        let manner = Manner { numbers: Numbers::Parameters, dress, ..Manner::plain() };
        Self { name: "untidy", manner, ..Self::metric_probing() }
    }

    /// Habits and words mixed at random: whatever fits together may come together.
    #[must_use]
    pub fn random(seed: u64) -> Self {
        let mut random = Random::new(seed);
        let dialect = random_words(&mut random);
        let manner = random_habits(&mut random, &dialect);
        Self { name: "random", manner: Manner { seed, ..manner }, dialect }
    }

    /// Its words, with the kerf of each process of `nest` as the width of compensation of the same number.
    #[must_use]
    pub fn dialect_for(&self, nest: &Nest) -> Dialect {
        let widths = nest.cuts.iter().map(|cut| (cut.cutting.process, Length::from_mm(cut.cutting.kerf_mm)));
        let mut comp_widths: Vec<_> = widths.collect();
        comp_widths.sort_by_key(|(number, _)| *number);
        comp_widths.dedup_by_key(|(number, _)| *number);
        Dialect { comp_widths, ..self.dialect.clone() }
    }

    /// The same hand with another seed for what is random in it.
    #[must_use]
    pub fn seeded(self, seed: u64) -> Self {
        Self { manner: Manner { seed, ..self.manner }, ..self }
    }
}

fn random_words(random: &mut Random) -> Dialect {
    let m = |number| Code::new(b'M', number);
    let common = Dialect::common();
    let (on, off) = random.one_of(&[(3, 5), (33, 34), (83, 84)]);
    let (call, back, target, repeats) = random.one_of(&[(98, 99, b'P', b'L'), (75, 76, b'Q', b'K')]);
    let touch_off = random.one_of(&[
        None,
        Some(TouchOffBy::Code(m(36))),
        Some(TouchOffBy::Subprogram(77)),
        Some(TouchOffBy::TorchOn),
    ]);
    let heights = random.chance(0.4);
    let only = |there: bool, code| if there { vec![code] } else { Vec::new() };
    let comments = random.one_of(&[
        &[CommentForm::Parentheses, CommentForm::ToEndOfLine(b';')][..],
        &[CommentForm::Parentheses],
        &[CommentForm::ToEndOfLine(b'\'')],
    ]);
    Dialect {
        torch_on: vec![m(on)],
        torch_off: vec![m(off)],
        torch_off_acts: random.one_of(&[TorchOffActs::BeforeMotion, TorchOffActs::AfterMotion]),
        touch_off: touch_off.into_iter().collect(),
        height_control_on: only(heights, m(43)),
        height_control_off: only(heights, m(44)),
        process_letter: random.one_of(&[Some(b'T'), Some(b'H'), None]),
        call: m(call),
        call_return: m(back),
        call_target: target,
        call_repeats: repeats,
        arc_centers: random.one_of(&[ArcCenters::FromStart, ArcCenters::Absolute]),
        dwell: nc::Dwell { seconds_per_unit: random.one_of(&[1.0, 0.001]), ..common.dwell },
        comments: comments.to_vec(),
        decimals_mm: random.one_of(&[2, 3, 4]),
        decimals_inch: random.one_of(&[4, 5]),
        ..common
    }
}

fn random_habits(random: &mut Random, dialect: &Dialect) -> Manner {
    let touch_off = if dialect.touch_off.is_empty() {
        random.one_of(&[TouchOffHabit::Probe, TouchOffHabit::ProbeInSubprogram(40)])
    } else {
        TouchOffHabit::AsDialect
    };
    let copies = random.one_of(&[Copies::InFull, Copies::Subprogram]);
    // What is written once and run in many places can neither name places nor change what is in force.
    let anywhere = copies == Copies::Subprogram;
    let centers = if anywhere { ArcCenters::FromStart } else { dialect.arc_centers };
    Manner {
        units: random.one_of(&[Units::Millimetres, Units::Inches]),
        distance: random.one_of(&[Distance::Absolute, Distance::Incremental]),
        centers,
        arcs: random.one_of(&[ArcWords::Centre, ArcWords::Centre, ArcWords::Radius]),
        touch_off,
        moves_z: touch_off != TouchOffHabit::AsDialect || random.chance(0.5),
        numbers: random.one_of(&[Numbers::Plain, Numbers::Plain, Numbers::Parameters]),
        copies,
        moves_datum: !anywhere && random.chance(0.15),
        compensated: false,
        dress: Dress {
            line_numbers: random.chance(0.5),
            lower_case: random.chance(0.3),
            no_blanks: random.chance(0.2),
            odd_blanks: random.chance(0.1),
            any_order: random.chance(0.3),
            odd_numbers: random.chance(0.3),
            comments: random.chance(0.5),
            terse: random.chance(0.5),
            percent: random.chance(0.3),
            mixed_units: !anywhere && random.chance(0.2),
            mixed_centers: !anywhere && random.chance(0.2),
        },
        seed: 0,
    }
}
