//! Small programs in text, read to cuts, contours, parts and plates.

mod account;
mod nests_as_planned;
mod plate;
mod shapes;
mod starts;
