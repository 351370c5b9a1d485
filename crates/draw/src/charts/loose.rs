//! Pieces coming loose over time.

use super::lanes::{GAP_PX, LANE_PX, Labels, Lanes};
use super::time::as_f64;
use crate::pen::px;
use cell::Forecast;

impl Lanes<'_> {
    /// Pieces loose by then.
    pub(super) fn loose(&mut self, forecast: &Forecast) {
        if forecast.loose.is_empty() {
            return;
        }
        self.name("Pieces loose");
        let upright = self.upright(as_f64(forecast.loose.len()), "");
        let (svg, mut count) = (&mut *self.svg, 0.0);
        svg.add(format_args!(
            "<path class=\"loose\" d=\"M{} {}",
            px(self.scale.left_px()),
            px(upright.y(0.0))
        ));
        let mut x_before = self.scale.left_px();
        for piece in &forecast.loose {
            count += 1.0;
            let x = self.scale.x(piece.at_s);
            if x - x_before >= 1.0 {
                svg.add(format_args!("H{}", px(x)));
                x_before = x;
                svg.add(format_args!("V{}", px(upright.y(count))));
            }
        }
        svg.line(format_args!(
            "V{}H{}\"/>",
            px(upright.y(count)),
            px(self.scale.left_px() + self.scale.columns_px())
        ));
        let mut labels = Labels::default();
        labels.add(format!("{} in all", forecast.loose.len()), upright.y(count));
        self.labels(labels);
        self.top += LANE_PX + GAP_PX;
    }
}
