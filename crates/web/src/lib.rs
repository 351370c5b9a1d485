//! The page beside the table: one local page over HTTP, made on the server, with everything it needs inside the program.
//!
//! ```text
//! request ─ guard (host, origin, session, limits) ▶ handler ─┬─ ledger: what was entered
//!                                                           ├─ opened, planned: what `desk` answers, kept a while
//!                                                           └─ pages ▶ HTML
//! ```
//!
//! Nothing here computes: `desk` and the crates below it answer, and the pages say it. No path from a request reaches the
//! file system: requests name jobs and stops by ids, and texts lie in the ledger.

mod address;
mod anew;
mod app;
mod assets;
mod facts;
mod fields;
mod guard;
mod inches;
mod keys;
mod left;
mod limiter;
mod opened;
mod pages;
mod passphrase;
mod planned;
mod problem;
mod report;
mod routes;
mod serve;
mod shop_file;
mod wire;
mod works;

pub use app::{App, Clock, Options};
pub use keys::new_secret;
pub use passphrase::{Passphrase, TooShort};
pub use routes::app;
pub use serve::{Listening, StartError, serve};
pub use works::BLINK;
