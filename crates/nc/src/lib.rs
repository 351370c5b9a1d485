//! Reading and writing cutting programs: text to blocks, blocks to motions, motions to text.
//!
//! The core language is RS-274/NGC as published in NISTIR 6556 (2000); everything in which controls differ is data
//! in a [`Dialect`]. A bad program is data too: reading never fails and never stops, it returns findings beside its
//! value.
//!
//! ```text
//! bytes ─ parse ▶ Program ─ motions ▶ Motions ─ compensated ▶ Motions
//! ```

mod beside;
mod calls;
mod codes;
mod compensation;
mod compile;
mod datum;
mod dialect;
mod execution;
mod expression;
mod faults;
mod gather;
mod idle;
mod interpreter;
mod lexer;
mod motions;
mod number;
mod parameters;
mod program;
mod report;
mod rules;
mod states;
mod subprograms;
mod trail;
mod travel;
mod value;
mod words;
mod writer;

pub use beside::Beside;
pub use dialect::{ArcCenters, Code, CommentForm, Dialect, Dwell, TorchOffActs, TouchOffBy};
pub use idle::IdleWord;
pub use motions::{
    Call, CallId, Carried, Comp, Distance, Event, EventKind, Height, HeightBase, Known, Modal, ModalId,
    Motion, MotionKind, Motions, Start, TouchOff, Units,
};
pub use program::{Block, Program};
pub use rules::RULES;
pub use trail::{Ran, Trail, WordIs, WordText};
pub use writer::{Style, Writer};
