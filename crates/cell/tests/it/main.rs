//! The cell from outside: the order of a start, what tables differ in, faults one by one, the forecast against closed
//! forms, and random nests with random faults.

mod bench;
mod faults;
mod forecast;
mod nests;
mod sequence;
mod tables;
