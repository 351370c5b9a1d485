//! Sheet gauges: a number that means a different thickness in each of four series.
