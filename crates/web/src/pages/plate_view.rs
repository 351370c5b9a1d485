//! The plate picture on a page: painted by a script that pans and zooms it, or as it is where there is none.

use maud::{Markup, html};

/// What a tap on the picture does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tap {
    /// Nothing.
    Nothing,
    /// It fills in the number of the cut that was tapped; the one that is filled in already stands out.
    Cut(Option<u32>),
    /// It fills in how far along this cut, which stands out, or along the nearest, the tapped place lies.
    Along(Option<u32>),
    /// It leads to the address `near` with the tapped place in it.
    There,
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
    /// Address that tells what is near a tapped place.
    pub(crate) near: Option<&'a str>,
}

impl PlateView<'_> {
    pub(crate) fn markup(&self) -> Markup {
        let tap = match self.tap {
            Tap::Nothing => None,
            Tap::Cut(_) => Some("cut"),
            Tap::Along(_) => Some("along"),
            Tap::There => Some("there"),
        };
        let of = match self.tap {
            Tap::Cut(of) | Tap::Along(of) => of,
            Tap::Nothing | Tap::There => None,
        };
        html! {
            figure.plate {
                canvas data-strokes=(self.strokes) data-tap=[tap] data-near=[self.near] data-of=[of] role="img" tabindex="0"
                    aria-label=(self.label) hidden {}
                // Fetched only for print or where the strokes do not come: of a full plate it is large.
                img.still src=(self.picture) alt=(self.label) loading="lazy" hidden;
                noscript { img.still src=(self.picture) alt=(self.label); }
                div.tools hidden {
                    button type="button" data-zoom="in" aria-label="Larger" { "+" }
                    button type="button" data-zoom="out" aria-label="Smaller" { "−" }
                    button type="button" data-zoom="all" { "Whole plate" }
                }
                p.scale.faint hidden {}
                figcaption { a href=(self.picture) { "The picture with its legend" } }
            }
        }
    }
}
