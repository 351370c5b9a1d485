//! The plate picture on a page: painted by a script that pans and zooms it, or as it is where there is none.

use maud::{Markup, html};

/// What a tap on the picture does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tap {
    /// Nothing.
    Nothing,
    /// It fills in the number of the cut that was tapped.
    Cut,
    /// It fills in how far along the cut in question the tapped place lies.
    Along,
}

/// The picture of a plate.
pub(crate) struct PlateView<'a> {
    /// Address of the strokes.
    pub(crate) strokes: String,
    /// Address of the picture as a document.
    pub(crate) picture: String,
    /// What it shows, in a sentence.
    pub(crate) label: String,
    pub(crate) tap: Tap,
    /// Address that tells which cuts are near a tapped place.
    pub(crate) near: Option<&'a str>,
}

impl PlateView<'_> {
    pub(crate) fn markup(&self) -> Markup {
        let tap = match self.tap {
            Tap::Nothing => None,
            Tap::Cut => Some("cut"),
            Tap::Along => Some("along"),
        };
        html! {
            figure.plate {
                canvas data-strokes=(self.strokes) data-tap=[tap] data-near=[self.near] role="img" tabindex="0"
                    aria-label=(self.label) hidden {}
                img.still src=(self.picture) alt=(self.label);
                div.tools hidden {
                    button type="button" data-zoom="in" aria-label="Larger" { "+" }
                    button type="button" data-zoom="out" aria-label="Smaller" { "−" }
                    button type="button" data-zoom="all" { "Whole plate" }
                }
                figcaption { a href=(self.picture) { "The picture with its legend" } }
            }
        }
    }
}
