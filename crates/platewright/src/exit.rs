//! What the exit status says.

/// Status with which the process ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Exit(u8);

impl Exit {
    /// Done, and nothing stands against starting: no finding at error level, every plan proven.
    pub const CLEAN: Self = Self(0);
    /// Done, but do not start: findings at error level, or no plan that can be proven.
    pub const FOUND: Self = Self(1);
    /// The command was not understood; nothing was read or written.
    pub const USAGE: Self = Self(2);
    /// Something outside failed: an input that is not there or not text, a shop, job or stop file with mistakes, an
    /// output that cannot be written. Nothing half-written is left.
    pub const OUTSIDE: Self = Self(3);
    /// A mistake of ours: the process ends with the status Rust gives a panic. Never returned on purpose.
    pub const BUG: Self = Self(101);

    /// The number itself.
    #[must_use]
    pub const fn code(self) -> u8 {
        self.0
    }
}
