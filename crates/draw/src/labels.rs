//! Who may stand where: boxes that are taken, so that numbers and flags do not cover one another.

/// A box on the page, in pixels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Patch {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

impl Patch {
    /// The box of this size around a middle.
    pub(crate) fn around((x, y): (f64, f64), width: f64, height: f64) -> Self {
        Self {
            left: x - width / 2.0,
            top: y - height / 2.0,
            right: x + width / 2.0,
            bottom: y + height / 2.0,
        }
    }

    fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }
}

/// Side of the squares in which taken boxes are looked up, in pixels: about the size of a number, so that few boxes
/// share a square and each lies in few.
const SQUARE_PX: f64 = 32.0;

/// The boxes taken so far.
#[derive(Debug)]
pub(crate) struct Crowd {
    room: Patch,
    columns: usize,
    rows: usize,
    squares: Vec<Vec<Patch>>,
}

impl Crowd {
    /// An empty room.
    pub(crate) fn new(room: Patch) -> Self {
        let count = |extent: f64| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a page has few squares"
            )]
            {
                (extent / SQUARE_PX).ceil().clamp(1.0, 1000.0) as usize
            }
        };
        let (columns, rows) = (count(room.right - room.left), count(room.bottom - room.top));
        Self { room, columns, rows, squares: vec![Vec::new(); columns * rows] }
    }

    /// Whether the box lies in the room and is free.
    pub(crate) fn is_free(&self, patch: Patch) -> bool {
        let Patch { left, top, right, bottom } = self.room;
        let within = patch.left >= left && patch.top >= top && patch.right <= right && patch.bottom <= bottom;
        within && self.squares_of(patch).all(|k| !self.squares[k].iter().any(|taken| taken.meets(&patch)))
    }

    /// Takes a box, free or not.
    pub(crate) fn take(&mut self, patch: Patch) {
        for k in self.squares_of(patch).collect::<Vec<_>>() {
            self.squares[k].push(patch);
        }
    }

    /// Takes the first box that is free.
    pub(crate) fn take_first(&mut self, patches: impl IntoIterator<Item = Patch>) -> Option<Patch> {
        let free = patches.into_iter().find(|patch| self.is_free(*patch))?;
        self.take(free);
        Some(free)
    }

    fn squares_of(&self, patch: Patch) -> impl Iterator<Item = usize> + use<> {
        let index = |at: f64, from: f64, count: usize| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "the cast saturates at 0"
            )]
            {
                (((at - from) / SQUARE_PX) as usize).min(count - 1)
            }
        };
        let columns = self.columns;
        let across = index(patch.left, self.room.left, columns)..=index(patch.right, self.room.left, columns);
        let down = index(patch.top, self.room.top, self.rows)..=index(patch.bottom, self.room.top, self.rows);
        down.flat_map(move |row| across.clone().map(move |column| row * columns + column))
    }
}

/// Width of a text in pixels, by its length: digits and letters of the font are about this wide.
pub(crate) fn text_width(text: &str, size_px: f64) -> f64 {
    let letters = u32::try_from(text.chars().count()).unwrap_or(u32::MAX);
    f64::from(letters) * size_px * 0.64
}

#[cfg(test)]
mod tests {
    use super::{Crowd, Patch};

    #[test]
    fn taken_places_are_not_given_twice() {
        let mut crowd = Crowd::new(Patch { left: 0.0, top: 0.0, right: 200.0, bottom: 100.0 });
        let here = Patch::around((40.0, 40.0), 20.0, 10.0);
        let beside = Patch::around((61.0, 40.0), 20.0, 10.0);
        assert_eq!(crowd.take_first([here, beside]), Some(here));
        assert_eq!(crowd.take_first([here, beside]), Some(beside));
        assert_eq!(crowd.take_first([here, beside]), None);
        assert!(!crowd.is_free(Patch::around((1.0, 50.0), 20.0, 10.0)), "it sticks out of the room");
        assert!(!crowd.is_free(Patch { left: 0.0, top: 0.0, right: 200.0, bottom: 100.0 }));
    }
}
