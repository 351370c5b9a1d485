//! The page is killed at random moments while things are being entered, a few hundred times: whatever it had answered for
//! is there, and it starts again each time.
//!
//! The server is this very test program, started anew with a word in its environment.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail the test")]

mod entering;
mod practising;
mod server;
