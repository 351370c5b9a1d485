//! What can go wrong with a request: what the person is told, and what the log keeps.

use crate::pages;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};

/// A request that cannot be answered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Problem {
    pub(crate) status: StatusCode,
    /// What is wrong, in a sentence.
    pub(crate) what: String,
    /// What to do, in a sentence.
    pub(crate) remedy: String,
    /// What only the log is told.
    pub(crate) log: Option<String>,
    /// After how many seconds it is worth trying again.
    pub(crate) after_s: Option<i64>,
}

impl Problem {
    pub(crate) fn new(status: StatusCode, what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self { status, what: what.into(), remedy: remedy.into(), log: None, after_s: None }
    }

    /// There is no such page.
    pub(crate) fn no_such_page() -> Self {
        Self::new(
            StatusCode::NOT_FOUND,
            "There is no such page.",
            "Go to the list of plates and look from there.",
        )
    }

    /// The address is there, but not for this kind of request.
    pub(crate) fn no_such_way() -> Self {
        Self::new(
            StatusCode::METHOD_NOT_ALLOWED,
            "Nothing here is done in that way.",
            "Use the pages and their buttons.",
        )
    }

    /// A form did not arrive whole.
    pub(crate) fn not_received(status: StatusCode) -> Self {
        match status {
            StatusCode::PAYLOAD_TOO_LARGE => Self::new(status, "That is too long.", "Enter less of it."),
            _ => Self::malformed(),
        }
    }

    /// There is no such job, or no such stop of it.
    pub(crate) fn no_such_job() -> Self {
        Self::new(
            StatusCode::NOT_FOUND,
            "There is no such job here.",
            "Go to the list of plates; a job that was opened on another computer is there, not here.",
        )
    }

    /// Something sent does not make sense.
    pub(crate) fn unfit(what: impl Into<String>, remedy: impl Into<String>) -> Self {
        Self::new(StatusCode::UNPROCESSABLE_ENTITY, what, remedy)
    }

    /// Something was sent that our own pages never send.
    pub(crate) fn malformed() -> Self {
        Self::new(
            StatusCode::BAD_REQUEST,
            "What was sent cannot be understood.",
            "Go back, load the page again and enter it once more.",
        )
    }

    /// A form that was not made here, or not for this visitor.
    pub(crate) fn foreign_form() -> Self {
        Self::new(
            StatusCode::FORBIDDEN,
            "This was not sent from a page that was made for you here.",
            "Go back, load the page again and enter it once more. Nothing was changed.",
        )
    }

    /// A mistake of ours.
    pub(crate) fn ours(log: &str) -> Self {
        Self {
            log: Some(log.to_owned()),
            ..Self::new(
                StatusCode::INTERNAL_SERVER_ERROR,
                "This is a mistake in platewright, not in your files.",
                "Trust no file made just now. What was entered before is kept; please keep the program and what you did.",
            )
        }
    }
}

impl From<ledger::Error> for Problem {
    fn from(why: ledger::Error) -> Self {
        let status = match why {
            ledger::Error::IdTaken(_) => StatusCode::CONFLICT,
            _ => StatusCode::SERVICE_UNAVAILABLE,
        };
        let log = Some(why.to_string());
        // Where files lie is for the log: a phone on the network need not know.
        let what = match why {
            ledger::Error::Locked(_) => "It could not be kept: another program holds the ledger.",
            ledger::Error::Full(_) => "It could not be kept: the disk is full.",
            ledger::Error::ReadOnly(_) => "It could not be kept: the ledger may not be written.",
            ledger::Error::Damaged { .. } => "The ledger is damaged.",
            ledger::Error::IdTaken(_) => "This was sent before, with something else in it.",
            _ => "The ledger could not be used.",
        };
        let remedy = match why {
            ledger::Error::IdTaken(_) => "Load the page again: it shows what was kept.",
            ledger::Error::Full(_) => {
                "Make room on the disk, then send it again. What was kept before is kept."
            }
            ledger::Error::Locked(_) => "Close the other program that has it open, then send it again.",
            _ => "Look at the window in which platewright was started: it says which file and what to do.",
        };
        Self { log, ..Self::new(status, what, remedy) }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let mut response = (self.status, pages::problem(&self)).into_response();
        if let Some(after) = self.after_s.and_then(|after| HeaderValue::from_str(&after.to_string()).ok()) {
            response.headers_mut().insert(header::RETRY_AFTER, after);
        }
        response.extensions_mut().insert(Logged(self.log));
        response
    }
}

/// What the log is told of a response.
#[derive(Clone, Debug)]
pub(crate) struct Logged(pub(crate) Option<String>);
