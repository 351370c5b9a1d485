//! Names of events, jobs and stops, made by whoever writes.

use std::fmt;
use std::str::FromStr;

/// A name that nobody else gives: 128 bits, at random where the writer makes one. As text 32 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Id([u8; 16]);

/// A text that is no id.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotAnId;

impl Id {
    /// The id of these bytes, which the writer takes from a source of randomness.
    #[must_use]
    pub const fn new(bytes: [u8; 16]) -> Self {
        Self(bytes)
    }

    /// Its bytes.
    #[must_use]
    pub const fn bytes(&self) -> &[u8; 16] {
        &self.0
    }
}

impl fmt::Display for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Id {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Id({self})")
    }
}

impl FromStr for Id {
    type Err = NotAnId;

    /// Reads 32 hexadecimal digits, small letters, and nothing else.
    fn from_str(text: &str) -> Result<Self, NotAnId> {
        let mut bytes = [0; 16];
        read_hex(text, &mut bytes).map(|()| Self(bytes)).ok_or(NotAnId)
    }
}

impl fmt::Display for NotAnId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("it is no id: an id is 32 hexadecimal digits")
    }
}

impl std::error::Error for NotAnId {}

/// Reads hexadecimal digits, small letters, into `bytes`; nothing if there are too few, too many or others.
pub(crate) fn read_hex(text: &str, bytes: &mut [u8]) -> Option<()> {
    let digits = text.as_bytes();
    if digits.len() != bytes.len() * 2 {
        return None;
    }
    for (byte, pair) in bytes.iter_mut().zip(digits.chunks_exact(2)) {
        *byte = digit(pair[0])? << 4 | digit(pair[1])?;
    }
    Some(())
}

const fn digit(letter: u8) -> Option<u8> {
    match letter {
        b'0'..=b'9' => Some(letter - b'0'),
        b'a'..=b'f' => Some(letter - b'a' + 10),
        _ => None,
    }
}

pub(crate) mod as_text {
    //! Ids in JSON: their text.

    use super::Id;
    use serde::{Deserialize, Deserializer, Serializer, de};

    pub(crate) fn serialize<S: Serializer>(id: &Id, to: S) -> Result<S::Ok, S::Error> {
        to.collect_str(id)
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Id, D::Error> {
        String::deserialize(from)?.parse().map_err(de::Error::custom)
    }
}

#[cfg(test)]
mod tests {
    use super::{Id, NotAnId};

    #[test]
    fn an_id_is_its_text() {
        let id = Id::new([0, 1, 0xAB, 0xFF, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15]);
        assert_eq!(id.to_string(), "0001abff0405060708090a0b0c0d0e0f");
        assert_eq!(id.to_string().parse(), Ok(id));
    }

    #[test]
    fn other_texts_are_refused() {
        for text in [
            "",
            "0",
            "../../etc/passwd",
            "0001ABFF0405060708090a0b0c0d0e0f",
            "é001abff0405060708090a0b0c0d0e0",
        ] {
            assert_eq!(text.parse::<Id>(), Err(NotAnId), "{text}");
        }
        assert_eq!("0".repeat(33).parse::<Id>(), Err(NotAnId));
    }
}
