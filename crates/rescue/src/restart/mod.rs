//! The restart program: first with untouched blocks word for word; where the text is not straight, written anew from
//! the blocks as they ran.

mod anew;
mod block;
mod header;
mod parameters;
mod runs;
mod straight;

#[cfg(test)]
mod tests;

pub(crate) use anew::anew;
pub(crate) use header::{Retract, go_up, header_only, retracts};
pub(crate) use straight::straight;
