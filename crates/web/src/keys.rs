//! Sessions and forms that nobody can forge: a random name for each visitor, and codes made from it with a key that never
//! leaves this computer.

use crate::passphrase::Passphrase;
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;
use std::fmt::Write as _;

/// For how long a session is good: a phone at the table is signed in once a month.
const SESSION_S: i64 = 30 * 24 * 3600;

/// The key that sessions and forms are made with.
#[derive(Clone)]
pub(crate) struct Keys {
    key: [u8; 32],
}

/// A visitor: a name made at random, and since when he has it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Session {
    name: [u8; 16],
    since_s: i64,
}

impl Keys {
    /// The keys that come from a secret of this computer. With another passphrase they are others, so that changing it
    /// signs everybody out.
    pub(crate) fn new(secret: &[u8], passphrase: Option<&Passphrase>) -> Self {
        let hash = passphrase.map(Passphrase::hash).unwrap_or_default();
        Self { key: code(secret, &[b"platewright", hash.as_bytes()]) }
    }

    /// A new visitor.
    pub(crate) fn new_session(&self, now_s: i64) -> Session {
        Session { name: random(), since_s: now_s }
    }

    /// The session as the cookie keeps it.
    pub(crate) fn cookie(&self, session: Session) -> String {
        format!("{}.{}.{}", hex(&session.name), session.since_s, hex(&self.code_of(b"session", session)))
    }

    /// The session of a cookie, if it was made here and is still good.
    pub(crate) fn session(&self, cookie: &str, now_s: i64) -> Option<Session> {
        let mut parts = cookie.split('.');
        let (name, since, code) = (parts.next()?, parts.next()?, parts.next()?);
        let session = Session { name: unhex(name)?, since_s: since.parse().ok()? };
        let good = (0..SESSION_S).contains(&(now_s - session.since_s));
        (parts.next().is_none() && good && same(code, &hex(&self.code_of(b"session", session))))
            .then_some(session)
    }

    /// What a form must bring back to show that it was made for this session.
    pub(crate) fn form_code(&self, session: Session) -> String {
        hex(&self.code_of(b"form", session))
    }

    /// Whether a form brings that back.
    pub(crate) fn is_form_code(&self, session: Session, told: &str) -> bool {
        same(told, &self.form_code(session))
    }

    fn code_of(&self, what: &[u8], session: Session) -> [u8; 32] {
        code(&self.key, &[what, &session.name, &session.since_s.to_be_bytes()])
    }
}

/// A new secret, from which sessions and forms are made.
///
/// # Panics
/// If the system has no random bytes to give.
#[must_use]
pub fn new_secret() -> [u8; 32] {
    random()
}

/// Random bytes from the system.
///
/// # Panics
/// If the system has none to give: nothing can be kept safe then.
pub(crate) fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).expect("the system gives random bytes");
    bytes
}

/// HMAC-SHA-256 (RFC 2104) over parts, each with its length before it.
fn code(key: &[u8], parts: &[&[u8]]) -> [u8; 32] {
    let mut code = Hmac::<Sha256>::new_from_slice(key).expect("a key of any length will do");
    for part in parts {
        code.update(&(part.len() as u64).to_be_bytes());
        code.update(part);
    }
    code.finalize().into_bytes().into()
}

/// Whether two texts are the same, in a time that does not tell where they differ.
fn same(a: &str, b: &str) -> bool {
    a.len() == b.len() && a.bytes().zip(b.bytes()).fold(0, |differ, (a, b)| differ | (a ^ b)) == 0
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(bytes.len() * 2), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

fn unhex(text: &str) -> Option<[u8; 16]> {
    text.parse::<ledger::Id>().ok().map(|id| *id.bytes())
}

#[cfg(test)]
mod tests {
    use super::{Keys, SESSION_S};

    #[test]
    fn a_session_is_good_until_it_is_old() {
        let keys = Keys::new(b"secret", None);
        let session = keys.new_session(1000);
        let cookie = keys.cookie(session);
        assert_eq!(keys.session(&cookie, 1000), Some(session));
        assert_eq!(keys.session(&cookie, 1000 + SESSION_S - 1), Some(session));
        assert_eq!(keys.session(&cookie, 1000 + SESSION_S), None);
        assert_eq!(keys.session(&cookie, 999), None, "from the future");
    }

    #[test]
    fn a_session_of_ones_own_making_is_none() {
        let keys = Keys::new(b"secret", None);
        let cookie = keys.cookie(keys.new_session(1000));
        let other = Keys::new(b"another", None);
        assert_eq!(other.session(&cookie, 1000), None);
        let older = cookie.replacen(".1000.", ".1001.", 1);
        for forged in
            ["", ".", "..", "a.b.c", &older, &format!("{cookie}.x"), &cookie[1..], &cookie.to_uppercase()]
        {
            assert_eq!(keys.session(forged, 1001), None, "{forged}");
        }
    }

    #[test]
    fn a_form_is_good_for_its_own_session_alone() {
        let keys = Keys::new(b"secret", None);
        let (mine, yours) = (keys.new_session(1000), keys.new_session(1000));
        assert!(keys.is_form_code(mine, &keys.form_code(mine)));
        assert!(!keys.is_form_code(yours, &keys.form_code(mine)));
        assert!(!keys.is_form_code(mine, ""));
        assert_ne!(keys.form_code(mine), keys.cookie(mine).rsplit('.').next().unwrap());
    }
}
