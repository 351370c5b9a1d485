//! The page in a real browser, as a person uses it.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail the test")]

mod chromium;
mod every_page;
mod keyboard;
mod main_job;
mod served;
mod tab;
