//! What the analyser would read of a cable with given unknowns, and the derivatives.
//!
//! The chain from the far end to the reading: far end → far plug → cable → near plug →
//! the calibration's map (its standards were taken as ideal) → smooth residual errors.

mod calibration_map;
mod chain;
mod far_end;
mod point;

use std::f64::consts::TAU;
use std::ops::Range;

use num_complex::Complex64;

use self::calibration_map::{CalibrationMap, Mapped};
use self::chain::Chain;
use self::far_end::{End, far_end};
use self::point::{Part, Point};
use super::connectors::{PlugPoint, adapter_loss_shape};
use super::fault::StretchPoint;
use super::fault_cuts::{Cut, Piece, PieceKind, cut_cells};
use super::lanes::{LANES, Lanes, gather, lane, splat};
use super::layout::{
    BAND, BAND_TRACKING, BandPlace, Between, FAR_MATCH, Layout, OFFSET, PROPORTIONAL, QUADRATIC,
    SOURCE_MATCH, TRACKING, far_match_part,
};
use super::line::{LineLaw, LinePoint};
use super::parameters::{AT, Adapter, Plug};
use super::reading::Kind;
use super::smooth::{add_smooth, smooth_basis, smooth_value};
use super::stack::{Gradient, Section, Stack};
use crate::bench::FarEnd;

pub(crate) use self::point::{Grid, Prediction};

/// Predicts readings, a few frequencies at a time, without allocating for each.
#[derive(Clone, Debug, Default)]
pub(crate) struct Forward {
    stack: Stack,
    sections: Vec<Section>,
    gradient: Gradient,
    body: Vec<Part>,
    pieces: Vec<Piece>,
    cuts: Vec<Cut>,
    ends: [End; LANES],
    stages: [Stages; LANES],
    predictions: [Prediction; LANES],
}

/// Values between the cable and the reading, kept from prediction for its derivatives.
#[derive(Clone, Debug, Default)]
struct Stages {
    /// Reflection at the near plug, as it is.
    reflection: Complex64,
    /// The same after the calibration's map.
    mapped: Mapped,
    /// Residual errors: offset, proportional, quadratic, shared and own together.
    errors: [Complex64; 3],
    /// Errors of transmission: tracking, source match.
    tracking: Complex64,
    source: Complex64,
}

impl Forward {
    /// Gives `each` the place and the prediction of every reading of a set on a grid.
    pub(crate) fn predict(
        &mut self,
        layout: &Layout,
        theta: &[f64],
        set: usize,
        freq_hz: &[f64],
        mut each: impl FnMut(usize, &Prediction),
    ) {
        let law = LineLaw::of_unknowns(theta);
        let lines: Vec<LinePoint> = freq_hz.iter().map(|&f| law.at(f)).collect();
        let terms = layout.terms;
        let bases: Vec<Complex64> = freq_hz
            .iter()
            .flat_map(|&f| smooth_basis(f, terms))
            .collect();
        let grid = Grid {
            layout,
            theta,
            set,
            freq_hz,
            lines: &lines,
            bases: &bases,
        };
        self.in_groups(&grid, false, &mut each);
    }

    /// The same with the derivatives, and from what is known of the grid.
    pub(crate) fn differentiate(&mut self, grid: &Grid, mut each: impl FnMut(usize, &Prediction)) {
        self.in_groups(grid, true, &mut each);
    }

    fn in_groups(
        &mut self,
        grid: &Grid,
        with_derivatives: bool,
        each: &mut dyn FnMut(usize, &Prediction),
    ) {
        self.lay_body(grid.layout, grid.theta);
        let count = grid.freq_hz.len();
        for first in (0..count).step_by(LANES) {
            // lanes beyond the last point repeat it, and are not given away
            // four frequencies at once: the stack is the hot loop, and its arithmetic is the same
            // in each
            let points = std::array::from_fn(|i| grid.point((first + i).min(count - 1)));
            self.predict_group(&points);
            if with_derivatives {
                self.differentiate_group(&points);
            }
            for (i, prediction) in (first..count).zip(&self.predictions) {
                each(i, prediction);
            }
        }
    }

    /// What of the cable does not depend on the frequency.
    fn lay_body(&mut self, layout: &Layout, theta: &[f64]) {
        let nodes = &theta[layout.node_range()];
        let between: Vec<Between> = layout.between().collect();
        let (pieces, cuts) = (&mut self.pieces, &mut self.cuts);
        cut_cells(between.len(), layout.fault_at(), theta, pieces, cuts);
        self.body.clear();
        for (i, &Piece { cell, share, kind }) in self.pieces.iter().enumerate() {
            let between = between[cell];
            let (first, second) = (nodes[between.first], nodes[between.second]);
            let wander = first + between.weight * (second - first);
            let plain = |p: &Part| p.kind == PieceKind::Plain && kind == PieceKind::Plain;
            // between two plain cells only wander steps, at every frequency alike: one tanh for all
            let before = self.body.last().filter(|p| plain(p));
            let rho_before = before.map(|p| (0.5 * (wander - p.wander)).tanh());
            let alone = |i: usize| self.pieces.get(i).is_none_or(|p| p.cell != cell);
            self.body.push(Part {
                between,
                wander,
                kind,
                share,
                whole: kind == PieceKind::Plain && alone(i.wrapping_sub(1)) && alone(i + 1),
                rho_before,
            });
        }
    }

    fn predict_group(&mut self, points: &[Point; LANES]) {
        self.lay_sections(points);
        self.ends = points.each_ref().map(far_end);
        let far = gather(|i| self.ends[i].reflection);
        let reflection = self.stack.reflection(&self.sections, far);
        let arrives = if points[0].kind() == Kind::Through {
            self.stack.transmission(&self.sections)
        } else {
            Lanes::default()
        };
        for (i, point) in points.iter().enumerate() {
            let out = &mut self.predictions[i];
            self.stages[i] = predict(point, lane(&reflection, i), lane(&arrives, i), out);
        }
    }

    fn differentiate_group(&mut self, points: &[Point; LANES]) {
        self.stack.reflection_gradient(&mut self.gradient);
        self.in_lanes(points, differentiate_reflection);
        if points[0].kind() == Kind::Through {
            self.stack.transmission_gradient(&mut self.gradient);
            self.in_lanes(points, differentiate_transmission);
        }
    }

    /// Differentiates in every lane by the gradient that stands ready.
    fn in_lanes(
        &mut self,
        points: &[Point; LANES],
        differentiate: fn(&Point, &Stages, &Chain, &mut Prediction),
    ) {
        for (i, point) in points.iter().enumerate() {
            let chain = Chain {
                body: &self.body,
                cuts: &self.cuts,
                gradient: &self.gradient,
                lane: i,
                end: &self.ends[i],
            };
            differentiate(point, &self.stages[i], &chain, &mut self.predictions[i]);
        }
    }

    fn lay_sections(&mut self, points: &[Point; LANES]) {
        let plug = |at: Plug<usize>| {
            let of = points
                .each_ref()
                .map(|p| PlugPoint::at(p.theta, at, p.freq_hz));
            Section::new(gather(|i| of[i].ln_z), gather(|i| of[i].gamma_l))
        };
        let layout = points[0].layout;
        let share = 1.0 / layout.sections() as f64;
        let ln_zc = gather(|i| points[i].line.ln_zc);
        let cell = Section::new(ln_zc, gather(|i| points[i].line.gamma_l * share));
        let stretches: Vec<[StretchPoint; LANES]> = (0..layout.fault_at().len())
            .map(|fault| points.each_ref().map(|p| p.stretch(fault)))
            .collect();
        self.sections.clear();
        self.sections.push(adapter(points, AT.near_adapter));
        self.sections.push(plug(AT.near));
        let cells = self.body.iter().map(|part| match part.kind {
            PieceKind::Plain if part.whole => {
                cell.with(ln_zc + splat(part.wander), part.rho_before)
            }
            PieceKind::Plain => {
                let gamma_l = gather(|i| points[i].line.gamma_l * part.share);
                Section::new(ln_zc, gamma_l).with(ln_zc + splat(part.wander), part.rho_before)
            }
            PieceKind::Stretch(fault) => {
                let of = &stretches[fault];
                Section::new(
                    gather(|i| of[i].ln_zc + part.wander),
                    gather(|i| of[i].gamma_l * part.share),
                )
            }
            PieceKind::Lumped(fault) => {
                let of = points.each_ref().map(|p| p.lumped(fault));
                Section::new(splat(of[0].ln_z).into(), gather(|i| of[i].gamma_l))
            }
        });
        self.sections.extend(cells);
        self.sections.push(plug(AT.far));
        self.sections.push(adapter(points, AT.far_adapter));
    }
}

/// An adapter between plane and plug, or none if its delay is zero.
fn adapter(points: &[Point; LANES], at: Adapter<usize>) -> Section {
    let theta = points[0].theta;
    let adapter = at.values(theta);
    let gamma_l = |p: &Point| {
        let loss = adapter.loss_np * adapter_loss_shape(p.freq_hz);
        Complex64::new(loss, TAU * p.freq_hz * adapter.delay_s)
    };
    Section::new(splat(adapter.ln_z).into(), gather(|i| gamma_l(&points[i])))
}

/// What the calibration makes of a reflection; its own standards read as ideal whatever they are.
fn mapped(point: &Point, reflection: Complex64) -> Mapped {
    match point.kind() {
        Kind::Check(standard) => Mapped {
            value: match standard {
                FarEnd::Open => Complex64::ONE,
                FarEnd::Short => -Complex64::ONE,
                FarEnd::Load => Complex64::ZERO,
            },
            ..Mapped::default()
        },
        Kind::Part(part) => Mapped {
            by_reflection: Complex64::ZERO,
            ..CalibrationMap::at(point.theta, point.freq_hz).map(part.reflection(point.freq_hz))
        },
        _ => CalibrationMap::at(point.theta, point.freq_hz).map(reflection),
    }
}

/// From the reflection at the near plug and the wave that arrives at the far end to the reading(s).
fn predict(
    point: &Point,
    reflection: Complex64,
    arrives: Complex64,
    out: &mut Prediction,
) -> Stages {
    let layout = point.layout;
    let mapped = mapped(point, reflection);
    let smooth = |at: Range<usize>| smooth_value(&point.theta[at], point.basis);
    let both = |f| smooth(layout.shared(f)) + smooth(layout.connection(point.set, f));
    let bands = Bands::at(point);
    let of_bands = bands.value_with_constant(&point.theta[layout.shared(BAND)])
        + bands.value_with_constant(&point.theta[layout.connection(point.set, BAND)]);
    let errors = [
        both(OFFSET),
        both(PROPORTIONAL) + of_bands,
        smooth(layout.shared(QUADRATIC)),
    ];
    let b = mapped.value;
    out.reflection = b + errors[0] + errors[1] * b + errors[2] * b * b;
    let (mut tracking, mut source) = (Complex64::default(), Complex64::default());
    if point.kind() == Kind::Through {
        tracking = smooth(layout.connection(point.set, TRACKING))
            + bands.value(&point.theta[layout.connection(point.set, BAND_TRACKING)]);
        source = smooth(layout.connection(point.set, SOURCE_MATCH));
        out.transmission = arrives * (1.0 + tracking) * (1.0 + source * reflection);
    }
    Stages {
        reflection,
        mapped,
        errors,
        tracking,
        source,
    }
}

fn differentiate_reflection(point: &Point, stages: &Stages, chain: &Chain, out: &mut Prediction) {
    let layout = point.layout;
    let Stages { mapped, errors, .. } = stages;
    let b = mapped.value;
    // d(E₀ + (1 + E₁)b + E₂b²)/db
    let by_mapped = 1.0 + errors[1] + 2.0 * errors[2] * b;
    let scale = by_mapped * mapped.by_reflection;
    clear(&mut out.by_unknown, layout);
    chain.add(point, scale, &mut out.by_unknown);
    let by_standard = AT.standards.zip_with(mapped.by_standard, |i, d| (i, d));
    for (i, d) in by_standard.into_array() {
        out.by_unknown[i] += by_mapped * d;
    }
    let one = Complex64::new(1.0, 0.0);
    let by = &mut out.by_unknown;
    for (function, factor) in [(OFFSET, one), (PROPORTIONAL, b)] {
        add_smooth(&mut by[layout.shared(function)], point.basis, factor);
        add_smooth(
            &mut by[layout.connection(point.set, function)],
            point.basis,
            factor,
        );
    }
    add_smooth(&mut by[layout.shared(QUADRATIC)], point.basis, b * b);
    let bands = Bands::at(point);
    bands.add_with_constant(&mut by[layout.shared(BAND)], b);
    bands.add_with_constant(&mut by[layout.connection(point.set, BAND)], b);
    let far_match = layout.connection(point.set, FAR_MATCH);
    if matches!(
        point.kind(),
        Kind::Through | Kind::OtherLoad | Kind::Antenna
    ) {
        let by_match = scale * chain.by_far_end() * far_match_part(point.kind(), point.freq_hz);
        add_smooth(
            &mut out.by_unknown[far_match.clone()],
            point.basis,
            by_match,
        );
    }
    if point.kind() == Kind::Through {
        // through the source match the transmission depends on the input reflection
        let through_input =
            out.transmission * stages.source / (1.0 + stages.source * stages.reflection);
        let by = &mut out.transmission_by_unknown;
        clear(by, layout);
        chain.add(point, through_input, by);
        let by_match = through_input * chain.by_far_end();
        add_smooth(&mut by[far_match], point.basis, by_match);
    }
}

/// Adds what does not come through the input reflection.
fn differentiate_transmission(point: &Point, stages: &Stages, chain: &Chain, out: &mut Prediction) {
    let Stages {
        reflection,
        tracking,
        source,
        ..
    } = *stages;
    let t = out.transmission;
    let by = &mut out.transmission_by_unknown;
    chain.add(point, t, by);
    for (function, factor) in [
        (FAR_MATCH, t * chain.by_far_end()),
        (TRACKING, t / (1.0 + tracking)),
        (SOURCE_MATCH, t * reflection / (1.0 + source * reflection)),
    ] {
        let at = point.layout.connection(point.set, function);
        add_smooth(&mut by[at], point.basis, factor);
    }
    let of_bands = point.layout.connection(point.set, BAND_TRACKING);
    Bands::at(point).add(&mut by[of_bands], t / (1.0 + tracking));
}

/// A function of the analyser's bands at one frequency: the two terms beside it, with their weights.
struct Bands {
    first: usize,
    weights: [Complex64; 2],
}

impl Bands {
    fn at(point: &Point) -> Self {
        let BandPlace { first, weight } = point.layout.band_place(point.freq_hz);
        Self {
            first: 2 * first,
            weights: [1.0 - weight, weight].map(Complex64::from),
        }
    }

    /// Its value with these coefficients.
    fn value(&self, of: &[f64]) -> Complex64 {
        smooth_value(&of[self.first..], &self.weights)
    }

    /// Adds its derivatives, times `factor`.
    fn add(&self, by: &mut [Complex64], factor: Complex64) {
        add_smooth(&mut by[self.first..], &self.weights, factor);
    }

    /// The value of a function that has a constant before the bands' terms.
    fn value_with_constant(&self, of: &[f64]) -> Complex64 {
        let (constant, of_bands) = of.split_at(2);
        Complex64::new(constant[0], constant[1]) + self.value(of_bands)
    }

    /// Adds the derivatives of such a one, times `factor`.
    fn add_with_constant(&self, by: &mut [Complex64], factor: Complex64) {
        let (constant, of_bands) = by.split_at_mut(2);
        add_smooth(constant, &[Complex64::ONE], factor);
        self.add(of_bands, factor);
    }
}

fn clear(out: &mut Vec<Complex64>, layout: &Layout) {
    out.clear();
    out.resize(layout.len(), Complex64::default());
}
