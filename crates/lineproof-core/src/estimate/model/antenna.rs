//! What is at the far end if nobody knows it: an antenna, or anything else that is passive and resonates.
//!
//! Its admittance is a capacitance and branches in parallel, each a resistance, an inductance and a capacitance in
//! series; that of a branch over the calibration load's is
//!
//! y = g/(1 + jQ(f/f₀ − f₀/f)).
//!
//! A dipole has a branch for each of its odd modes, an antenna for two bands two, one that is grounded a branch of so
//! low a frequency that only resistance and inductance show (S. A. Schelkunoff and H. T. Friis, *Antennas: Theory and
//! Practice*, 1952, ch. 10: the input admittance of a wire as a sum over its modes). Every such sum is passive, and
//! far from its resonances it reflects nearly everything: that is what tells the line's loss.

use num_complex::Complex64;

/// Most branches.
pub(crate) const BRANCHES: usize = 4;
/// Unknowns of all branches.
pub(crate) const ANTENNA_UNKNOWNS: usize = 3 * BRANCHES;

/// A series resonance across the far end.
#[derive(Clone, Copy, Debug, PartialEq)]
#[allow(
    clippy::struct_field_names,
    reason = "the logarithms are part of the names"
)]
pub(crate) struct Branch {
    /// ln of its conductance at resonance over the calibration load's.
    pub(crate) ln_g: f64,
    /// ln of its resonance over 1 Hz.
    pub(crate) ln_f: f64,
    /// ln of its quality factor.
    pub(crate) ln_q: f64,
}

/// ln of a conductance that shows nowhere.
const NOTHING: f64 = -30.0;

/// All branches of an antenna, to the seven digits that a start and a prior need: it is copied with all that is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Antenna([[f32; 3]; BRANCHES]);

impl Antenna {
    /// No antenna: nothing but what is across the far end besides.
    pub(crate) const NONE: Self = Self([[NOTHING as f32, 18.0, 0.0]; BRANCHES]);

    pub(crate) fn new(branches: [Branch; BRANCHES]) -> Self {
        Self(branches.map(|branch| branch.unknowns().map(|value| value as f32)))
    }

    /// From the unknowns of all its branches.
    pub(crate) fn of(unknowns: &[f64]) -> Self {
        Self::new(std::array::from_fn(|i| Branch::of(&unknowns[3 * i..])))
    }

    pub(crate) fn branches(self) -> [Branch; BRANCHES] {
        self.0.map(|unknowns| Branch::of(&unknowns.map(f64::from)))
    }

    /// Whether any branch shows.
    pub(crate) fn exists(self) -> bool {
        self.branches().iter().any(Branch::exists)
    }
}

impl Branch {
    /// One that is not there.
    pub(crate) const NONE: Self = Self {
        ln_g: NOTHING,
        ln_f: 18.0,
        ln_q: 0.0,
    };

    /// Whether it shows.
    pub(crate) fn exists(&self) -> bool {
        self.ln_g > 0.5 * NOTHING
    }

    /// From three unknowns.
    pub(crate) fn of(unknowns: &[f64]) -> Self {
        Self {
            ln_g: unknowns[0],
            ln_f: unknowns[1],
            ln_q: unknowns[2],
        }
    }

    pub(crate) fn unknowns(self) -> [f64; 3] {
        [self.ln_g, self.ln_f, self.ln_q]
    }

    /// Admittance over the calibration load's, and its derivatives by the three unknowns.
    pub(crate) fn admittance(self, freq_hz: f64) -> (Complex64, [Complex64; 3]) {
        let (g, q) = (self.ln_g.exp(), self.ln_q.exp());
        let x = freq_hz / self.ln_f.exp();
        let j = Complex64::I;
        let y = g / (1.0 + j * q * (x - 1.0 / x));
        let by_z = -y * y / g;
        let by_f = by_z * j * q * -(x + 1.0 / x);
        (y, [y, by_f, by_z * j * q * (x - 1.0 / x)])
    }
}
