//! Wear of the fitted consumables: starts, arc minutes and snapped arcs, and the chance that the set lasts the job.
//!
//! Wear is counted in starts' worth: one for each start, a share for each arc minute, several for an arc that snaps at
//! the edge of the plate. Source: two-part wear, start and stop against steady arc (Q. J. Japan Welding Society 28(3),
//! 2010, 311-318; Nemchinsky's review of 2014); the coefficients are the shop's own.

/// How fast a set wears, and how long sets last.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WearLaw {
    /// Starts' worth of one minute of arc.
    pub per_arc_min: f64,
    /// Starts' worth of one snapped arc.
    pub per_snap: f64,
    /// Weibull scale: starts' worth by which 63 of 100 sets are spent.
    pub scale: f64,
    /// Weibull shape; over 1 for parts that wear out.
    pub shape: f64,
}

/// What a set has been through.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Use {
    /// Starts.
    pub starts: f64,
    /// Minutes of arc.
    pub arc_min: f64,
    /// Arcs that snapped.
    pub snaps: f64,
}

impl WearLaw {
    /// Starts' worth of `used`.
    #[must_use]
    pub fn worth(&self, used: Use) -> f64 {
        used.starts + self.per_arc_min * used.arc_min + self.per_snap * used.snaps
    }

    /// Chance that a new set lasts beyond `worth`. Source: Weibull survival, exp(-(x / scale)^shape).
    #[must_use]
    pub fn survival(&self, worth: f64) -> f64 {
        libm::exp(-libm::pow(worth.max(0.0) / self.scale, self.shape))
    }

    /// Chance that a set which has lasted until `before` also lasts `more`.
    #[must_use]
    pub fn lasts(&self, before: Use, more: Use) -> f64 {
        let (now, then) = (self.worth(before), self.worth(before) + self.worth(more));
        let alive = self.survival(now);
        if alive > 0.0 { self.survival(then) / alive } else { 0.0 }
    }

    /// Starts' worth at which the chance to have lasted is `survival` (0 to 1, neither).
    #[must_use]
    pub fn worth_at(&self, survival: f64) -> f64 {
        self.scale * libm::pow(-libm::log(survival), 1.0 / self.shape)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NIST/SEMATECH e-Handbook 8.4.1.3, fitted Weibull (η 606.5280, β 1.7208); survivals recomputed with
    /// lifelines 0.30.3.
    #[test]
    fn survival_of_the_handbook_example() {
        let law = WearLaw { per_arc_min: 0.0, per_snap: 0.0, scale: 606.527_558, shape: 1.720_797_260_8 };
        for (x, r) in [(100.0, 0.956_031), (386.0, 0.631_609), (500.0, 0.488_102)] {
            assert!((law.survival(x) - r).abs() < 1e-5);
        }
        assert!((law.worth_at(0.9) - 164.022).abs() < 1e-2);
        let at = |starts: f64| Use { starts, ..Use::default() };
        assert!((law.lasts(at(500.0), at(100.0)) - 0.767_726).abs() < 1e-5);
    }

    #[test]
    fn arcs_and_snaps_count_in_starts() {
        let law = WearLaw { per_arc_min: 2.0, per_snap: 5.0, scale: 400.0, shape: 2.0 };
        assert!((law.worth(Use { starts: 10.0, arc_min: 3.0, snaps: 1.0 }) - 21.0).abs() < 1e-12);
    }
}
