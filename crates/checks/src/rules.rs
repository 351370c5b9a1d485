//! All rules, by name. `cargo xtask new-rule` adds a line to each of the two lists, which are kept sorted.

use crate::rule::Rule;

mod air_runs_short;
mod blocks_starve_control;
mod consumables_spent;
mod contour_open;
mod corner_slow;
mod cuts_missing;
mod datum_set_midway;
mod duty_cycle_over;
mod low_travel;
mod outline_before_hole;
mod outside_plate;
mod outside_table;
mod pierce_delay_missing;
mod pierce_on_void;
mod process_not_fitted;
mod program_unended;
mod relies_on_power_up_state;
mod restart_unsafe;
mod speed_off_chart;
mod torch_left_on;
mod touch_off_missing;
mod travel_over_loose_piece;

/// Every rule, sorted by name.
pub(crate) const ALL: &[&Rule] = &[
    &air_runs_short::RULE,
    &blocks_starve_control::RULE,
    &consumables_spent::RULE,
    &contour_open::RULE,
    &corner_slow::RULE,
    &cuts_missing::RULE,
    &datum_set_midway::RULE,
    &duty_cycle_over::RULE,
    &low_travel::RULE,
    &outline_before_hole::RULE,
    &outside_plate::RULE,
    &outside_table::RULE,
    &pierce_delay_missing::RULE,
    &pierce_on_void::RULE,
    &process_not_fitted::RULE,
    &program_unended::RULE,
    &relies_on_power_up_state::RULE,
    &restart_unsafe::RULE,
    &speed_off_chart::RULE,
    &torch_left_on::RULE,
    &touch_off_missing::RULE,
    &travel_over_loose_piece::RULE,
];
