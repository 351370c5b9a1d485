//! What people read beside single quantities: places, long ways, counts.

use units::{Length, System};

/// Millimetres in a foot.
const MM_PER_FOOT: f64 = 12.0 * units::MM_PER_INCH;

/// A long way: `12.34 m`, `40.5 ft`.
#[must_use]
pub fn distance(length: Length, system: System) -> String {
    match system {
        System::Metric => format!("{:.2} m", length.mm() / 1000.0),
        System::Inch => format!("{:.1} ft", length.mm() / MM_PER_FOOT),
    }
}

/// A place: `X 412.3 Y 88 mm`.
#[must_use]
pub fn place(x: Length, y: Length, system: System) -> String {
    rescue::refind::shown(x.mm(), y.mm(), system)
}

/// `count` things, in the plural where it is not one: `1 cut`, `64 cuts`.
#[must_use]
pub fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// Numbers in rising order as runs: `3, 5–9, 12`, and how many more where there are over `most` runs.
#[must_use]
pub fn runs(numbers: &[u32], most: usize) -> String {
    let mut runs: Vec<(u32, u32)> = Vec::new();
    for &n in numbers {
        match runs.last_mut() {
            Some((_, last)) if n == *last => {}
            Some((_, last)) if n == *last + 1 => *last = n,
            _ => runs.push((n, n)),
        }
    }
    let shown: Vec<String> = runs
        .iter()
        .take(most)
        .map(|&(a, b)| match b - a {
            0 => format!("{a}"),
            1 => format!("{a}, {b}"),
            _ => format!("{a}–{b}"),
        })
        .collect();
    let left: u32 = runs.iter().skip(most).map(|(a, b)| b - a + 1).sum();
    let shown = shown.join(", ");
    if left == 0 { shown } else { format!("{shown} and {left} more") }
}

#[cfg(test)]
mod tests {
    use super::{counted, distance, place, runs};
    use units::{Length, System};

    #[test]
    fn places_and_ways_read_well() {
        assert_eq!(distance(Length::from_mm(12_340.0), System::Metric), "12.34 m");
        assert_eq!(distance(Length::from_mm(3048.0), System::Inch), "10.0 ft");
        assert_eq!(place(Length::from_mm(1.5), Length::from_mm(20.0), System::Metric), "X 1.5 Y 20 mm");
        assert_eq!(place(Length::from_inch(1.5), Length::ZERO, System::Inch), "X 1.5 Y 0 in");
    }

    #[test]
    fn numbers_are_gathered_into_runs() {
        assert_eq!(runs(&[3, 5, 6, 7, 9, 10, 12], 9), "3, 5–7, 9, 10, 12");
        assert_eq!(runs(&[1, 3, 5, 6], 2), "1, 3 and 2 more");
        assert_eq!(runs(&[], 2), "");
        assert_eq!(counted(1, "cut", "cuts"), "1 cut");
    }
}
