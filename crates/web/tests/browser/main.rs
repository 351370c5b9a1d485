//! The page in a real browser, as a person uses it.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail the test")]

mod before_start;
mod chromium;
mod every_page;
mod keyboard;
#[path = "../shared/loose_lead.rs"]
mod loose_lead;
mod main_job;
mod pictures;
mod practice;
mod print;
mod refinding;
mod served;
mod stopped;
mod tab;
mod ten_thousand;
mod under_a_minute;
mod units;
