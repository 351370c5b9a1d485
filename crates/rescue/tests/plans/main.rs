//! Whole plans: what they say, and that what they write makes what was left.

mod again;
mod answers;
mod anywhere;
mod bad_cuts;
mod burns;
mod hairline;
mod joins;
mod kinds;
mod misfires;
mod moved;
mod nibs;
mod pieces;
mod refound;
mod salvage;
mod spoilt;
mod strays;
mod table;
mod watched;
