//! Leads and touch-offs on generated nests, each held against a plain look at every curve of the plate.

mod beaten;
mod examples;
mod plain;
mod plate;
mod sound;
