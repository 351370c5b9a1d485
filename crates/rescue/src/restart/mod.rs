//! The restart program: first with untouched blocks word for word; where the text is not straight, written anew from
//! the motions.

mod header;
mod runs;
mod straight;

pub(crate) use straight::straight;
