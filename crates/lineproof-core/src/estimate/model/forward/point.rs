//! One frequency of a reading set, and what is predicted there.

use num_complex::Complex64;

use super::super::fault::{Fault, LumpedPoint, StretchPoint};
use super::super::fault_cuts::PieceKind;
use super::super::layout::{Between, Layout};
use super::super::line::LinePoint;
use super::super::parameters::AT;
use super::super::reading::Kind;

/// Predicted reading(s) at one frequency with complex derivatives by every unknown.
#[derive(Clone, Debug, Default)]
pub(crate) struct Prediction {
    pub(crate) reflection: Complex64,
    pub(crate) by_unknown: Vec<Complex64>,
    pub(crate) transmission: Complex64,
    pub(crate) transmission_by_unknown: Vec<Complex64>,
}

/// What a reading set is predicted from: the unknowns, and the line and the smooth functions' terms
/// at each of its frequencies.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Grid<'a> {
    pub(crate) layout: &'a Layout,
    pub(crate) theta: &'a [f64],
    pub(crate) set: usize,
    pub(crate) freq_hz: &'a [f64],
    pub(crate) lines: &'a [LinePoint],
    /// Terms of the smooth functions, frequency by frequency.
    pub(crate) bases: &'a [Complex64],
}

/// One frequency of a grid.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Point<'a> {
    pub(crate) layout: &'a Layout,
    pub(crate) theta: &'a [f64],
    pub(crate) set: usize,
    pub(crate) freq_hz: f64,
    pub(crate) line: &'a LinePoint,
    pub(crate) basis: &'a [Complex64],
}

impl<'a> Grid<'a> {
    pub(crate) fn point(&self, i: usize) -> Point<'a> {
        let terms = self.layout.terms;
        Point {
            layout: self.layout,
            theta: self.theta,
            set: self.set,
            freq_hz: self.freq_hz[i],
            line: &self.lines[i],
            basis: &self.bases[i * terms..(i + 1) * terms],
        }
    }
}

impl Point<'_> {
    pub(crate) fn kind(&self) -> Kind {
        self.layout.kinds[self.set]
    }

    /// Indices of a fault's unknowns.
    pub(crate) fn fault_at(&self, fault: usize) -> &Fault<usize> {
        &self.layout.fault_at()[fault]
    }

    /// The line of a stretch; of something lumped that of the cable.
    pub(crate) fn stretch(&self, fault: usize) -> StretchPoint {
        let other = self.fault_at(fault).other_line().unwrap_or_default();
        StretchPoint::new(
            self.line,
            self.theta[AT.line.ln_z],
            &other.values(self.theta),
        )
    }

    /// What stands for something lumped.
    pub(crate) fn lumped(&self, fault: usize) -> LumpedPoint {
        LumpedPoint::new(&self.fault_at(fault).values(self.theta), self.freq_hz)
    }
}

/// Sections before the body: adapter and plug.
pub(crate) const BODY: usize = 2;

/// One section of the cable.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Part {
    pub(crate) between: Between,
    pub(crate) wander: f64,
    pub(crate) kind: PieceKind,
    /// Share of the cable's delay.
    pub(crate) share: f64,
    /// Whether it is a whole cell of the cable itself.
    pub(crate) whole: bool,
    /// Reflection against the section before it, where wander alone makes it.
    pub(crate) rho_before: Option<f64>,
}
