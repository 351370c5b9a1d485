//! Programs in, motions out: each test is a text and what it does, written as [`run::trace`] writes it.

#![expect(clippy::float_cmp, reason = "numbers that a program names are kept exactly")]

mod arcs;
mod bad_input;
mod compensation;
mod coordinates;
mod dialects;
mod expressions;
mod heights;
mod language;
mod order;
mod pages;
mod random_texts;
mod run;
mod starts;
mod subprograms;
