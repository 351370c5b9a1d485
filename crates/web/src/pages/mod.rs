//! Pages: what is said, in which order, in HTML. Every text put in is escaped by the templates.

pub(crate) mod after;
pub(crate) mod answer;
pub(crate) mod ask;
mod before;
pub(crate) mod begun;
pub(crate) mod dimples;
mod frame;
pub(crate) mod job;
pub(crate) mod known;
pub(crate) mod measure;
mod plate_view;
pub(crate) mod plates;
pub(crate) mod practice;
pub(crate) mod refound;
pub(crate) mod rules;
pub(crate) mod salvage;
pub(crate) mod shop;
pub(crate) mod sign_in;
pub(crate) mod start_list;
pub(crate) mod stopped;
pub(crate) mod unit_switch;
mod ways;
pub(crate) mod works;

pub(crate) use frame::problem;
