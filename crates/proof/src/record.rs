//! What the points of the proof write down on their way: figures, preconditions, what is unproven.

use crate::{Figure, Proof, Reason};
use std::collections::BTreeSet;

/// Collects what a [`Proof`] says besides its verdict.
#[derive(Debug, Default)]
pub(crate) struct Record {
    figures: Vec<Figure>,
    preconditions: Vec<String>,
    unproven: Vec<String>,
    seen: BTreeSet<String>,
}

impl Record {
    /// Writes down a figure.
    pub(crate) fn figure(&mut self, name: &'static str, worst: f64, limit: f64, unit: &'static str) {
        self.figures.push(Figure { name, worst, limit, unit });
    }

    /// Writes down a precondition, once.
    pub(crate) fn needs(&mut self, sentence: impl Into<String>) {
        let sentence = sentence.into();
        if self.seen.insert(sentence.clone()) {
            self.preconditions.push(sentence);
        }
    }

    /// Writes down what could not be proven, once.
    pub(crate) fn lacks(&mut self, sentence: impl Into<String>) {
        let sentence = sentence.into();
        if self.seen.insert(sentence.clone()) {
            self.unproven.push(sentence);
        }
    }

    /// Writes down all that `other` holds, after what stands here.
    pub(crate) fn absorb(&mut self, other: Self) {
        self.figures.extend(other.figures);
        other.preconditions.into_iter().for_each(|sentence| self.needs(sentence));
        other.unproven.into_iter().for_each(|sentence| self.lacks(sentence));
    }

    /// The outcome.
    pub(crate) fn into_proof(self, refused: Option<Reason>) -> Proof {
        Proof { refused, figures: self.figures, preconditions: self.preconditions, unproven: self.unproven }
    }
}
