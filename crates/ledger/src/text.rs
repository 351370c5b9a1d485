//! Texts that events speak of: programs, restart programs, plate files. Kept once each, by their hash.

use crate::id::read_hex;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use sha2::{Digest, Sha256};
use std::fmt;
use std::str::FromStr;

/// By what a text is known: its SHA-256 (FIPS 180-4). As text 64 hexadecimal digits, as `sha256sum` prints it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TextId([u8; 32]);

/// A text with its name.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Text {
    id: TextId,
    bytes: Vec<u8>,
}

impl TextId {
    /// The name of `bytes`.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    pub(crate) const fn bytes(&self) -> &[u8; 32] {
        &self.0
    }
}

impl Text {
    /// `bytes`, to be kept.
    #[must_use]
    pub fn new(bytes: Vec<u8>) -> Self {
        Self { id: TextId::of(&bytes), bytes }
    }

    /// Its name.
    #[must_use]
    pub const fn id(&self) -> TextId {
        self.id
    }

    /// Its bytes.
    #[must_use]
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
}

impl fmt::Display for TextId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for TextId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "TextId({self})")
    }
}

impl FromStr for TextId {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let mut bytes = [0; 32];
        read_hex(text, &mut bytes)
            .map(|()| Self(bytes))
            .ok_or_else(|| format!("{text:?} is no hash of a text"))
    }
}

impl Serialize for TextId {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for TextId {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        String::deserialize(from)?.parse().map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::TextId;

    #[test]
    fn a_text_is_known_by_its_published_hash() {
        // FIPS 180-4 example: SHA-256 of the message "abc".
        let id = TextId::of(b"abc");
        assert_eq!(id.to_string(), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(id.to_string().parse(), Ok(id));
    }
}
