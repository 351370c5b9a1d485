//! Text forms of quantities, such as `3 mm`, `1/4 in`, `95 in/min`, `6 bar`.
