//! Parameters that blocks kept or flattened may still read.

use nc::Trail;

/// The parameters set before running `ran` whose values are known, in the program's units. Those of the control's own
/// (from 5061 on: probe results, offsets, coordinate systems) are its affair.
pub(super) fn known_before(trail: &Trail, ran: usize) -> Vec<(u32, f64)> {
    trail
        .parameters_before(ran)
        .into_iter()
        .filter(|(number, _)| *number < FIRST_OF_CONTROL)
        .filter_map(|(number, value)| Some((number, value?)))
        .collect()
}

/// First parameter that the control keeps itself. Source: NISTIR 6556, 3.2.1 and table 2.
const FIRST_OF_CONTROL: u32 = 5061;
