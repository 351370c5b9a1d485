//! Small programs in text, read to cuts, contours, parts and plates.

mod account;
mod any_text;
mod nesting;
mod nests_as_planned;
mod plate;
mod raster;
mod shapes;
mod starts;
