//! Small programs in text, read to cuts, contours, parts and plates.

mod account;
mod shapes;
