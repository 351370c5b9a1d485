//! The page over HTTP, without a socket: what is answered, what is refused, what is kept.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail the test")]

mod addresses;
mod bad_uploads;
mod before_start;
mod client;
mod every_unit;
mod forgeries;
#[path = "../shared/loose_lead.rs"]
mod loose_lead;
mod main_job;
mod passphrase;
mod practice_page;
mod refinding;
mod shop_page;
mod telling;
mod units;
mod works;
