//! The passphrase that phones on the shop's network need: only its hash is kept.

use argon2::Argon2;
use argon2::password_hash::phc::PasswordHash;
use argon2::password_hash::{PasswordHasher, PasswordVerifier};
use std::fmt;

/// Fewest letters of a passphrase. With the limit on wrong ones (a few a minute) eight at random take centuries.
const LETTERS_LEAST: usize = 8;

/// A passphrase, as its Argon2id hash in PHC form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Passphrase(String);

/// A passphrase is too short.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TooShort;

impl fmt::Display for TooShort {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a passphrase has at least {LETTERS_LEAST} letters; three words will do")
    }
}

impl std::error::Error for TooShort {}

impl Passphrase {
    /// The hash of a new passphrase, with a salt of its own.
    ///
    /// # Errors
    /// If it is too short.
    ///
    /// # Panics
    /// If the system has no random bytes to give.
    pub fn new(text: &str) -> Result<Self, TooShort> {
        if text.chars().count() < LETTERS_LEAST {
            return Err(TooShort);
        }
        let hash = Argon2::default().hash_password(text.as_bytes()).expect("any text can be hashed");
        Ok(Self(hash.to_string()))
    }

    /// The passphrase with this hash; none if it is no hash of one.
    #[must_use]
    pub fn of_hash(hash: &str) -> Option<Self> {
        PasswordHash::new(hash.trim()).is_ok().then(|| Self(hash.trim().to_owned()))
    }

    /// Its hash.
    #[must_use]
    pub fn hash(&self) -> &str {
        &self.0
    }

    /// Whether `text` is it. Takes tens of milliseconds by intention.
    #[must_use]
    pub fn is(&self, text: &str) -> bool {
        PasswordHash::new(&self.0)
            .is_ok_and(|hash| Argon2::default().verify_password(text.as_bytes(), &hash).is_ok())
    }
}

#[cfg(test)]
mod tests {
    use super::{Passphrase, TooShort};

    #[test]
    fn only_the_passphrase_itself_is_taken() {
        let passphrase = Passphrase::new("grinder lunch slag").unwrap();
        assert!(passphrase.hash().starts_with("$argon2id$"));
        assert!(passphrase.is("grinder lunch slag"));
        assert!(!passphrase.is("grinder lunch slag ") && !passphrase.is(""));
        assert_eq!(Passphrase::of_hash(&format!("{}\n", passphrase.hash())), Some(passphrase));
        assert_eq!(Passphrase::of_hash("grinder lunch slag"), None);
        assert_eq!(Passphrase::new("1234567"), Err(TooShort));
    }
}
