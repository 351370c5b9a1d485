//! Cutter compensation.
use crate::report::Report;
use crate::{Dialect, Motions, Program};

pub(crate) fn compensated(
    motions: Motions,
    _program: &Program,
    _dialect: &Dialect,
    _report: &mut Report,
) -> Motions {
    motions
}
