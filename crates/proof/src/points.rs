//! The five points of the proof, each in a file of its own, and the promise that they are held against.

pub(crate) mod clear;
pub(crate) mod coverage;
pub(crate) mod effect;
pub(crate) mod landing;
pub(crate) mod order;
pub(crate) mod promise;
pub(crate) mod starts;
pub(crate) mod travel;
