//! A plate in squares of a tenth of a millimetre, one bit each, in tiles that exist only where something has been cut.

/// Length of a square's side in millimetres.
pub const PIXEL_MM: f64 = 0.1;

/// Squares along a tile's side: one word a row.
const TILE: i32 = 64;

/// The same as a power of two.
const TILE_BITS: i32 = 6;

/// A tile that has not been made yet.
const NONE: u32 = u32::MAX;

/// A window of squares: from the first to the last of each axis, both included.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Window {
    /// First column and row.
    pub low: [i32; 2],
    /// Last column and row.
    pub high: [i32; 2],
}

impl Window {
    /// Columns.
    #[must_use]
    pub const fn wide(&self) -> i32 {
        self.high[0] - self.low[0] + 1
    }

    /// Rows.
    #[must_use]
    pub const fn tall(&self) -> i32 {
        self.high[1] - self.low[1] + 1
    }

    /// Whether both have a square in common.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        (0..2).all(|axis| self.low[axis] <= other.high[axis] && other.low[axis] <= self.high[axis])
    }

    /// Whether a square lies in it.
    #[must_use]
    pub fn holds(&self, at: [i32; 2]) -> bool {
        (0..2).all(|axis| (self.low[axis]..=self.high[axis]).contains(&at[axis]))
    }
}

/// Unbroken squares of one row: row, first column, last column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Run {
    /// Row.
    pub row: i32,
    /// First column.
    pub from: i32,
    /// Last column.
    pub to: i32,
}

/// A set of squares of a plate. Squares outside the plate are never in it.
#[derive(Clone, Debug)]
pub struct Raster {
    size: [i32; 2],
    tiles_wide: i32,
    index: Vec<u32>,
    tiles: Vec<[u64; TILE as usize]>,
}

impl Raster {
    /// An empty set on a plate of so many squares.
    #[must_use]
    pub fn new(size: [i32; 2]) -> Self {
        let tiles_wide = (size[0] + TILE - 1) / TILE;
        let tiles_tall = (size[1] + TILE - 1) / TILE;
        let count = usize::try_from(tiles_wide * tiles_tall).unwrap_or(0);
        Self { size, tiles_wide, index: vec![NONE; count], tiles: Vec::new() }
    }

    /// Columns and rows.
    #[must_use]
    pub const fn size(&self) -> [i32; 2] {
        self.size
    }

    /// Whether a square of the plate is in the set.
    #[must_use]
    pub fn has(&self, at: [i32; 2]) -> bool {
        self.is_on_plate(at) && self.word(at[0] / TILE, at[1]) >> (at[0] % TILE) & 1 == 1
    }

    /// Whether there is such a square at all.
    #[must_use]
    pub fn is_on_plate(&self, at: [i32; 2]) -> bool {
        (0..2).all(|axis| (0..self.size[axis]).contains(&at[axis]))
    }

    /// The whole plate as a window.
    #[must_use]
    pub const fn whole(&self) -> Window {
        Window { low: [0, 0], high: [self.size[0] - 1, self.size[1] - 1] }
    }

    /// The 64 squares of a row that begin at column `64 × word`.
    #[must_use]
    pub fn word(&self, word: i32, row: i32) -> u64 {
        match self.index[self.tile_of(word, row)] {
            NONE => 0,
            tile => self.tiles[tile as usize][as_index(row & (TILE - 1))],
        }
    }

    /// Adds squares of a row, and tells how many were not in the set before.
    pub fn add(&mut self, run: Run) -> u32 {
        self.add_where(run, |_, _| u64::MAX).0
    }

    /// Adds squares of a row; tells how many were not in the set before, and how many of those are chosen by `of`,
    /// which is given word and row.
    pub fn add_where(&mut self, run: Run, of: impl Fn(i32, i32) -> u64) -> (u32, u32) {
        let (from, to) = (run.from.max(0), run.to.min(self.size[0] - 1));
        if from > to || !(0..self.size[1]).contains(&run.row) {
            return (0, 0);
        }
        let (mut new, mut chosen) = (0, 0);
        for word in from / TILE..=to / TILE {
            let bits = mask(from - word * TILE, to - word * TILE);
            let held = self.word_mut(word, run.row);
            let fresh = bits & !*held;
            *held |= bits;
            new += fresh.count_ones();
            if fresh != 0 {
                chosen += (fresh & of(word, run.row)).count_ones();
            }
        }
        (new, chosen)
    }

    /// How many squares of a row are in the set.
    #[must_use]
    pub fn count(&self, run: Run) -> u32 {
        let (from, to) = (run.from.max(0), run.to.min(self.size[0] - 1));
        if from > to || !(0..self.size[1]).contains(&run.row) {
            return 0;
        }
        (from / TILE..=to / TILE)
            .map(|word| (self.word(word, run.row) & mask(from - word * TILE, to - word * TILE)).count_ones())
            .sum()
    }

    /// How many squares of a row on the plate are in neither set. Both are of one plate.
    #[must_use]
    pub fn count_in_neither(&self, other: &Self, run: Run) -> u32 {
        let (from, to) = (run.from.max(0), run.to.min(self.size[0] - 1));
        if from > to || !(0..self.size[1]).contains(&run.row) {
            return 0;
        }
        (from / TILE..=to / TILE)
            .map(|word| {
                let held = self.word(word, run.row) | other.word(word, run.row);
                (!held & mask(from - word * TILE, to - word * TILE)).count_ones()
            })
            .sum()
    }

    /// The longest run of squares that are not in the set and hold `at`, within columns `from..=to`; none if `at` is in
    /// the set.
    #[must_use]
    pub fn gap(&self, at: [i32; 2], from: i32, to: i32) -> Option<Run> {
        let (from, to) = (from.max(0), to.min(self.size[0] - 1));
        if !self.is_on_plate(at) || !(from..=to).contains(&at[0]) || self.has(at) {
            return None;
        }
        let last = self.next_held(at[0], at[1], to).map_or(to, |next| next - 1);
        let first = self.last_held(at[0], at[1], from).map_or(from, |before| before + 1);
        Some(Run { row: at[1], from: first, to: last })
    }

    /// The first square of the set in a row from column `from` on, not beyond `to`.
    #[must_use]
    pub fn next_held(&self, from: i32, row: i32, to: i32) -> Option<i32> {
        Self::next(from, to, |word| self.word(word, row))
    }

    /// The first column from `from` on whose bit is set, not beyond `to`; `bits` gives the words of a row.
    fn next(from: i32, to: i32, bits: impl Fn(i32) -> u64) -> Option<i32> {
        let mut word = from / TILE;
        let mut held = bits(word) & mask(from - word * TILE, TILE - 1);
        loop {
            if held != 0 {
                let found = word * TILE + i32::try_from(held.trailing_zeros()).unwrap_or(0);
                return (found <= to).then_some(found);
            }
            word += 1;
            if word * TILE > to {
                return None;
            }
            held = bits(word);
        }
    }

    /// The last square of the set in a row up to column `from`, not before `to`.
    fn last_held(&self, from: i32, row: i32, to: i32) -> Option<i32> {
        let mut word = from / TILE;
        let mut bits = self.word(word, row) & mask(0, from - word * TILE);
        loop {
            if bits != 0 {
                let found = word * TILE + 63 - i32::try_from(bits.leading_zeros()).unwrap_or(0);
                return (found >= to).then_some(found);
            }
            word -= 1;
            if word < 0 || word * TILE + TILE - 1 < to {
                return None;
            }
            bits = self.word(word, row);
        }
    }

    /// The first square of a row from column `from` on that is not in the set, not beyond `to`.
    #[must_use]
    pub fn next_free(&self, from: i32, row: i32, to: i32) -> Option<i32> {
        Self::next(from, to, |word| !self.word(word, row))
    }

    const fn tile_of(&self, word: i32, row: i32) -> usize {
        as_index((row >> TILE_BITS) * self.tiles_wide + word)
    }

    fn word_mut(&mut self, word: i32, row: i32) -> &mut u64 {
        let at = self.tile_of(word, row);
        if self.index[at] == NONE {
            self.index[at] = u32::try_from(self.tiles.len()).unwrap_or(NONE);
            self.tiles.push([0; TILE as usize]);
        }
        &mut self.tiles[self.index[at] as usize][as_index(row & (TILE - 1))]
    }
}

#[expect(clippy::cast_sign_loss, reason = "rows and words on the plate are not negative")]
const fn as_index(value: i32) -> usize {
    value as usize
}

/// Bits `from..=to` of a word, both cut off at the word's ends.
fn mask(from: i32, to: i32) -> u64 {
    let (from, to) = (from.max(0), to.min(TILE - 1));
    if from > to {
        return 0;
    }
    (u64::MAX << from) & (u64::MAX >> (TILE - 1 - to))
}

/// The rows of a disc of this radius, with its middle and radius in millimetres from the plate's lower left corner.
pub fn disc(middle: [f64; 2], radius_mm: f64) -> impl Iterator<Item = Run> {
    let row_of = |mm: f64| square_of(mm);
    let (low, high) = (row_of(middle[1] - radius_mm), row_of(middle[1] + radius_mm));
    (low..=high).filter_map(move |row| {
        let off = (f64::from(row) + 0.5) * PIXEL_MM - middle[1];
        let half = radius_mm * radius_mm - off * off;
        if half < 0.0 {
            return None;
        }
        let half = half.sqrt();
        // Squares whose middle lies in the disc.
        let from = ceil((middle[0] - half) / PIXEL_MM - 0.5);
        let to = floor((middle[0] + half) / PIXEL_MM - 0.5);
        (from <= to).then_some(Run { row, from, to })
    })
}

/// The square in which a coordinate lies.
#[must_use]
pub fn square_of(mm: f64) -> i32 {
    floor(mm / PIXEL_MM)
}

/// The square of a place.
#[must_use]
pub fn square(at: [f64; 2]) -> [i32; 2] {
    at.map(square_of)
}

/// The middle of a square.
#[must_use]
pub fn middle(at: [i32; 2]) -> [f64; 2] {
    at.map(|k| (f64::from(k) + 0.5) * PIXEL_MM)
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a plate has far fewer squares than an i32 counts; a cast saturates"
)]
fn floor(value: f64) -> i32 {
    value.floor() as i32
}

#[expect(
    clippy::cast_possible_truncation,
    reason = "a plate has far fewer squares than an i32 counts; a cast saturates"
)]
fn ceil(value: f64) -> i32 {
    value.ceil() as i32
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disc_has_the_area_of_a_circle() {
        let mut raster = Raster::new([300, 300]);
        let count: u32 = disc([15.03, 14.98], 10.0).map(|run| raster.add(run)).sum();
        let area = f64::from(count) * PIXEL_MM * PIXEL_MM;
        assert!((area - std::f64::consts::PI * 100.0).abs() < 0.5, "{area}");
        assert!(raster.has(square([15.0, 24.9])) && !raster.has(square([15.0, 25.1])));
    }

    #[test]
    fn runs_are_counted_once_and_cut_off_at_the_plate() {
        let mut raster = Raster::new([130, 10]);
        assert_eq!(raster.add(Run { row: 3, from: -5, to: 200 }), 130);
        assert_eq!(raster.add(Run { row: 3, from: 60, to: 70 }), 0);
        assert_eq!(raster.add(Run { row: 10, from: 0, to: 5 }), 0);
        assert_eq!(raster.count(Run { row: 3, from: 62, to: 129 }), 68);
        assert!(!raster.has([-1, 3]) && !raster.has([130, 3]));
    }

    #[test]
    fn gaps_end_where_the_set_begins() {
        let mut raster = Raster::new([400, 4]);
        raster.add(Run { row: 1, from: 10, to: 10 });
        raster.add(Run { row: 1, from: 300, to: 310 });
        assert_eq!(raster.gap([100, 1], 0, 399), Some(Run { row: 1, from: 11, to: 299 }));
        assert_eq!(raster.gap([100, 1], 50, 200), Some(Run { row: 1, from: 50, to: 200 }));
        assert_eq!(raster.gap([5, 1], 0, 399), Some(Run { row: 1, from: 0, to: 9 }));
        assert_eq!(raster.gap([305, 1], 0, 399), None);
        assert_eq!(raster.next_free(300, 1, 399), Some(311));
        assert_eq!(raster.next_free(300, 1, 305), None);
        assert_eq!(raster.next_held(11, 1, 399), Some(300));
    }
}
