//! What a rule is: a name, a page, the facts it needs, and a function from facts to findings.

use crate::context::Context;
use crate::needs::Need;
use crate::sink::Found;

/// A rule. One file in `rules/` holds one of these, its page and its function.
pub(crate) struct Rule {
    /// Its name in kebab-case; it completes the sentence "allow …".
    pub name: &'static str,
    /// Its own source file, whose head is its page.
    pub source: &'static str,
    /// Facts without which it is silent.
    pub needs: &'static [Need],
    /// Looks at the facts and adds what it finds.
    pub check: fn(&Context<'_>, &mut Found),
}
