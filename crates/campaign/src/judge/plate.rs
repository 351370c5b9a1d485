//! The true plate: what is cut through, what is grooved, what has come loose.

use super::physics;
use super::piece::{Piece, Until, piece};
use super::raster::{PIXEL_MM, Raster, Run, Window, disc, middle, square, square_of};

/// The true plate. Places are millimetres from its lower left corner.
#[derive(Clone, Debug)]
pub struct Plate {
    /// Cut through.
    void: Raster,
    /// Cut as a groove; what is cut through besides is in `void` alone.
    groove: Raster,
    /// In pieces that nothing holds.
    loose: Raster,
}

/// Sides of a tip on which metal is looked for, all around.
const SIDES: usize = 36;
const DEGREES_A_SIDE: f64 = 10.0;

/// Step in which it is looked for outwards, in millimetres: a quarter of a web.
const LOOK_STEP_MM: f64 = 0.25;

/// How deep the arc cuts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Deep {
    /// Through.
    Through,
    /// A groove.
    Groove,
}

impl Plate {
    /// A sheet that nothing has been cut from.
    #[must_use]
    pub fn new(size_mm: [f64; 2]) -> Self {
        let size = size_mm.map(|mm| square_of(mm.max(PIXEL_MM)));
        let empty = Raster::new(size);
        Self { void: empty.clone(), groove: empty.clone(), loose: empty }
    }

    /// Burns a disc, and tells how many squares of held metal it took (through) or had under it (groove).
    pub fn burn(&mut self, at: [f64; 2], radius_mm: f64, deep: Deep) -> u32 {
        let mut taken = 0;
        for run in disc(at, radius_mm) {
            taken += match deep {
                Deep::Through => self.void.add_where(run, |word, row| !self.loose.word(word, row)).1,
                Deep::Groove => {
                    self.groove.add(run);
                    self.void.count_in_neither(&self.loose, run)
                }
            };
        }
        taken
    }

    /// Takes away everything left of and below a place: plate that is not there.
    pub fn take_corner(&mut self, upper_right: [f64; 2]) {
        let [wide, tall] = self.void.size();
        let [x, y] = square(upper_right);
        if x <= 0 && y <= 0 {
            return;
        }
        for row in 0..tall {
            let to = if row < y { wide } else { x };
            self.void.add(Run { row, from: 0, to: to - 1 });
        }
    }

    /// Whether held metal is at a place.
    #[must_use]
    pub fn is_metal(&self, at: [f64; 2]) -> bool {
        let at = square(at);
        self.void.is_on_plate(at) && !self.void.has(at) && !self.loose.has(at)
    }

    /// Whether a place is cut through.
    #[must_use]
    pub fn is_void(&self, at: [f64; 2]) -> bool {
        self.void.has(square(at))
    }

    /// Whether a place is cut at all.
    #[must_use]
    pub fn is_cut(&self, at: [f64; 2]) -> bool {
        let at = square(at);
        self.void.has(at) || self.groove.has(at)
    }

    /// Whether a place lies on a piece that nothing holds.
    #[must_use]
    pub fn is_loose(&self, at: [f64; 2]) -> bool {
        let at = square(at);
        self.loose.has(at) && !self.void.has(at)
    }

    /// Whether a place is on the plate at all, as it was laid on the table.
    #[must_use]
    pub fn is_on_plate(&self, at: [f64; 2]) -> bool {
        self.void.is_on_plate(square(at))
    }

    /// Share of a disc that is held metal.
    #[must_use]
    pub fn metal_share(&self, at: [f64; 2], radius_mm: f64) -> f64 {
        let (mut all, mut metal) = (0u32, 0u32);
        for run in disc(at, radius_mm) {
            all += (run.to - run.from + 1).unsigned_abs();
            metal += self.void.count_in_neither(&self.loose, run);
        }
        f64::from(metal) / f64::from(all.max(1))
    }

    /// Whether the pilot of a torch at cut height finds held metal.
    #[must_use]
    pub fn within_pilot(&self, at: [f64; 2]) -> bool {
        disc(at, physics::PILOT_REACH_MM).any(|run| self.void.count_in_neither(&self.loose, run) > 0)
    }

    /// Whether a tip that comes down finds the plate: metal of full height lies under it on so many
    /// sides that it cannot tilt and slide in, which is less than half of the way around without any (statics).
    #[must_use]
    pub fn bears(&self, at: [f64; 2], tip_radius_mm: f64) -> bool {
        let borne: [bool; SIDES] = std::array::from_fn(|side| self.bears_on(side, at, tip_radius_mm));
        let (mut open, mut longest) = (0, 0);
        // Twice around, so that what is open over the first side counts as one.
        for borne in borne.iter().chain(&borne) {
            open = if *borne { 0 } else { open + 1 };
            longest = longest.max(open);
        }
        2 * longest < SIDES
    }

    /// Whether on one side of a place a web that holds begins under a tip of this radius.
    fn bears_on(&self, side: usize, at: [f64; 2], tip_radius_mm: f64) -> bool {
        let turned = f64::from(u8::try_from(side).unwrap_or(u8::MAX)) * DEGREES_A_SIDE.to_radians();
        let along = [libm::cos(turned), libm::sin(turned)];
        let mut out_mm = 0.0;
        while out_mm <= tip_radius_mm {
            let middle_mm = out_mm + physics::WEB_MM / 2.0;
            if self
                .is_whole([at[0] + along[0] * middle_mm, at[1] + along[1] * middle_mm], physics::WEB_MM / 2.0)
            {
                return true;
            }
            out_mm += LOOK_STEP_MM;
        }
        false
    }

    /// Whether all of a disc is metal of full height. What is loose and still there lies as high as the plate.
    fn is_whole(&self, at: [f64; 2], radius_mm: f64) -> bool {
        self.is_on_plate(at)
            && disc(at, radius_mm).all(|run| {
                (run.from..=run.to).all(|col| {
                    let place = middle([col, run.row]);
                    self.is_on_plate(place) && !self.is_cut(place)
                })
            })
    }

    /// The piece of metal at a place, loose or not.
    #[must_use]
    pub fn piece(&self, at: [i32; 2], window: Window, until: Until) -> Option<Piece> {
        piece(&self.void, at, window, until)
    }

    /// Notes that a piece has come loose.
    pub fn let_go(&mut self, piece: &Piece) {
        for run in &piece.runs {
            self.loose.add(*run);
        }
    }

    /// How many squares of a row are cut through.
    #[must_use]
    pub fn void_count(&self, run: Run) -> u32 {
        self.void.count(run)
    }

    /// What is cut through.
    #[must_use]
    pub const fn void(&self) -> &Raster {
        &self.void
    }
}
