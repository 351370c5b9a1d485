//! The built program, run as a user would.

mod bad_input;
mod folder;
mod help;
