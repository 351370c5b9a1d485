//! Duty cycle: how much of any ten minutes the source may burn at the process's current, and when a job passes that.

/// The period over which duty is counted, in seconds. Source: American Welding Society glossary, "duty cycle".
pub const PERIOD_S: f64 = 600.0;

/// A rated point of the source: share of ten minutes (0 to 1) at a current.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rated {
    /// Share of ten minutes.
    pub share: f64,
    /// Current in amperes.
    pub current_a: f64,
}

/// A stretch of time in which the arc burns, in seconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burn {
    /// When it begins.
    pub from_s: f64,
    /// When it ends.
    pub to_s: f64,
    /// Heat against that of the current for which shares are reckoned: the square of the currents' ratio, 1 at that
    /// current.
    pub weight: f64,
}

/// The first moment at which the source has burnt longer in ten minutes than it may.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trip {
    /// Index of the burn.
    pub burn: usize,
    /// When, in seconds.
    pub at_s: f64,
    /// The shortest pause before that burn that avoids it, in seconds; none if the burn alone is too long.
    pub pause_s: Option<f64>,
}

/// Share of ten minutes allowed at `current_a`; none above the highest rated current, where nothing is promised.
///
/// Between two rated points and below the lowest the heating I² t is kept: X = X₁ (I₁ / I)², never over 1. Source: the
/// common I² t rule.
#[must_use]
pub fn allowed_share(rated: &[Rated], current_a: f64) -> Option<f64> {
    rated
        .iter()
        .filter(|point| point.current_a >= current_a)
        .map(|point| point.share * (point.current_a / current_a).powi(2))
        .reduce(f64::min)
        .map(|share| share.min(1.0))
}

/// Seconds burnt, by their weight, in the ten minutes that end at `at_s`. Burns are sorted and do not overlap.
#[must_use]
pub fn burnt_before(burns: &[Burn], at_s: f64) -> f64 {
    let first = burns.partition_point(|burn| burn.to_s <= at_s - PERIOD_S);
    burns[first..]
        .iter()
        .take_while(|burn| burn.from_s < at_s)
        .map(|burn| (burn.to_s.min(at_s) - burn.from_s.max(at_s - PERIOD_S)) * burn.weight)
        .sum()
}

/// The highest share of ten minutes that the job burns anywhere. The count only rises while the arc burns, so the peaks
/// are at the ends of burns.
#[must_use]
pub fn highest_share(burns: &[Burn]) -> f64 {
    burns.iter().map(|burn| burnt_before(burns, burn.to_s) / PERIOD_S).fold(0.0, f64::max)
}

/// The first burn that passes `allowed` (share of ten minutes), when, and the pause that avoids it; none if none does.
#[must_use]
pub fn first_trip(burns: &[Burn], allowed: f64) -> Option<Trip> {
    let most_s = allowed * PERIOD_S;
    let (index, burn) =
        burns.iter().enumerate().find(|(_, burn)| burnt_before(burns, burn.to_s) > most_s + COUNT_SLACK_S)?;
    Some(Trip {
        burn: index,
        at_s: passes_at(burns, burn, most_s),
        pause_s: pause_before(burns, index, most_s),
    })
}

/// Seconds by which a count may pass its limit by rounding alone.
const COUNT_SLACK_S: f64 = 1e-9;

/// Rounds of halving: from ten minutes to below a microsecond.
const HALVINGS: u32 = 40;

/// When within `burn` the count passes `most_s`; it does not fall while the arc burns.
fn passes_at(burns: &[Burn], burn: &Burn, most_s: f64) -> f64 {
    bisect(burn.from_s, burn.to_s, |at| burnt_before(burns, at) > most_s)
}

fn pause_before(burns: &[Burn], index: usize, most_s: f64) -> Option<f64> {
    let suffices = |pause: f64| {
        let mut shifted = burns[..=index].to_vec();
        shifted[index].from_s += pause;
        shifted[index].to_s += pause;
        burnt_before(&shifted, shifted[index].to_s) <= most_s + COUNT_SLACK_S
    };
    suffices(PERIOD_S).then(|| bisect(0.0, PERIOD_S, suffices))
}

/// The shortest pause before the last burn, in whole seconds, with which it does not pass `allowed` (share of ten
/// minutes); the burn is put off by it. None if the burn alone is too long.
pub(crate) fn pause_before_last(burns: &mut [Burn], allowed: f64) -> Option<u32> {
    let most_s = allowed * PERIOD_S + COUNT_SLACK_S;
    let last = *burns.last()?;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "ten minutes of seconds")]
    let longest = PERIOD_S as u32;
    // A longer pause never makes it worse, so the answer can be halved down to.
    let mut suffices = |pause: u32| {
        let by_s = f64::from(pause);
        if let Some(burn) = burns.last_mut() {
            *burn = Burn { from_s: last.from_s + by_s, to_s: last.to_s + by_s, ..last };
        }
        burnt_before(burns, last.to_s + by_s) <= most_s
    };
    if !suffices(longest) {
        return None;
    }
    let (mut low, mut high) = (0, longest);
    while low < high {
        let middle = u32::midpoint(low, high);
        if suffices(middle) {
            high = middle;
        } else {
            low = middle + 1;
        }
    }
    suffices(high).then_some(high)
}

/// The least value in `low..=high` at which `holds`, which once true stays true.
pub(crate) fn bisect(mut low: f64, mut high: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if holds(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: X₂ = X₁ (I₁ / I₂)², the common rule, worked.
    #[test]
    fn allowed_shares_follow_the_heating_rule() {
        let share = |share: f64, current_a: f64, at: f64| allowed_share(&[Rated { share, current_a }], at);
        assert!((share(0.60, 300.0, 250.0).expect("rated") - 0.864).abs() < 1e-5);
        assert!((share(0.35, 45.0, 30.0).expect("rated") - 0.7875).abs() < 1e-6);
        assert!((share(0.35, 45.0, 26.6224).expect("rated") - 1.0).abs() < 1e-4);
        assert!((share(0.60, 300.0, 232.379).expect("rated") - 1.0).abs() < 1e-4);
        // Above the rating nothing is promised, and nothing is over 100 %.
        assert_eq!(share(0.60, 400.0, 500.0), None);
        assert_eq!(share(0.60, 300.0, 100.0), Some(1.0));
        // A rated point is kept as rated, whatever the rule says from another.
        let two = [Rated { share: 0.6, current_a: 60.0 }, Rated { share: 1.0, current_a: 40.0 }];
        assert_eq!(allowed_share(&two, 60.0), Some(0.6));
        assert_eq!(allowed_share(&two, 40.0), Some(1.0));
    }

    /// Source: 60 % is six of ten minutes (American Welding Society glossary).
    #[test]
    fn six_minutes_of_ten_is_sixty_percent() {
        let burns = [
            Burn { from_s: 0.0, to_s: 200.0, weight: 1.0 },
            Burn { from_s: 300.0, to_s: 460.0, weight: 1.0 },
        ];
        assert!((highest_share(&burns) - 0.6).abs() < 1e-12);
        assert_eq!(first_trip(&burns, 0.6), None);
    }

    #[test]
    fn a_trip_is_foretold_with_the_pause_that_avoids_it() {
        let burns = [
            Burn { from_s: 0.0, to_s: 200.0, weight: 1.0 },
            Burn { from_s: 250.0, to_s: 400.0, weight: 1.0 },
            Burn { from_s: 420.0, to_s: 500.0, weight: 1.0 },
        ];
        let trip = first_trip(&burns, 0.6).expect("430 s of 600 are over 360");
        assert_eq!(trip.burn, 2);
        assert!((trip.at_s - 430.0).abs() < 1e-6, "{trip:?}");
        let pause = trip.pause_s.expect("a pause helps");
        // After a pause p the window of the last burn ends at 500 + p and drops p - 100 s + … of the first.
        assert!((pause - 170.0).abs() < 1e-6, "{trip:?}");
        let long = [Burn { from_s: 0.0, to_s: 400.0, weight: 1.0 }];
        assert_eq!(first_trip(&long, 0.6).expect("too long").pause_s, None);
    }

    /// Brute force: counts in steps of a tenth of a second.
    #[test]
    fn counting_agrees_with_small_steps() {
        let burns: Vec<Burn> = (0..30)
            .map(|k| Burn {
                from_s: 37.0 * f64::from(k),
                to_s: 37.0 * f64::from(k) + 5.0 + f64::from(k % 7) * 4.0,
                weight: 1.0,
            })
            .collect();
        for tenth in (0..12_000u32).step_by(997) {
            let at = f64::from(tenth) / 10.0;
            let first = tenth.saturating_sub(6_000);
            let counted = (first..tenth)
                .filter(|t| {
                    let middle = (f64::from(*t) + 0.5) / 10.0;
                    burns.iter().any(|b| b.from_s <= middle && middle < b.to_s)
                })
                .count();
            let counted = f64::from(u32::try_from(counted).expect("small")) / 10.0;
            assert!((burnt_before(&burns, at) - counted).abs() < 0.15, "{at}");
        }
    }
}
