//! What the analyser would read of a cable with given unknowns, and the derivatives.
//!
//! The chain from the far end to the reading: far end → far plug → cable → near plug →
//! the calibration's map (its standards were taken as ideal) → smooth residual errors.

mod chain;
mod standards;

use std::f64::consts::TAU;

use num_complex::Complex64;

use self::chain::Chain;
use self::standards::{Mapped, Standards};
use super::fault::{self, Cut, Made, Piece, SERIES_Z, SLOTS, StretchPoint};
use super::lanes::{LANES, Lanes, gather, lane, splat};
use super::line_law::{LineLaw, LinePoint};
use super::plane::{loss_shape, of_adapter};
use super::stack::{Gradient, Section, Stack};
use super::unknowns::{
    BAND_TRACKING, BandPlace, Between, CONNECTION_FUNCTIONS, FAR_MATCH, Kind, Layout,
    SHARED_FUNCTIONS, SMOOTH_SUPPORT_S, SOURCE_MATCH, TRACKING, at, far_match_part, plug_delay_s,
};
use crate::bench::FarEnd;

/// One set of readings: a reflection sweep, or reflection and transmission of a through sweep.
#[derive(Clone, Debug)]
pub(super) struct Readings {
    pub(super) kind: Kind,
    pub(super) freq_hz: Vec<f64>,
    pub(super) reflection: Vec<Complex64>,
    pub(super) transmission: Vec<Complex64>,
}

/// Values of the smooth functions' terms at one frequency.
pub(super) fn smooth_basis(freq_hz: f64, terms: usize) -> impl Iterator<Item = Complex64> {
    let span = SMOOTH_SUPPORT_S.end - SMOOTH_SUPPORT_S.start;
    let step = span / (terms - 1) as f64;
    let first = Complex64::from_polar(1.0, -TAU * freq_hz * SMOOTH_SUPPORT_S.start);
    let factor = Complex64::from_polar(1.0, -TAU * freq_hz * step);
    std::iter::successors(Some(first), move |&z| Some(z * factor)).take(terms)
}

/// Predicted reading(s) at one frequency with complex derivatives by every unknown.
#[derive(Clone, Debug, Default)]
pub(super) struct Prediction {
    pub(super) reflection: Complex64,
    pub(super) by_unknown: Vec<Complex64>,
    pub(super) transmission: Complex64,
    pub(super) transmission_by_unknown: Vec<Complex64>,
}

/// What a reading set is predicted from: the unknowns, and the line and the smooth functions' terms
/// at each of its frequencies.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grid<'a> {
    pub(super) layout: &'a Layout,
    pub(super) theta: &'a [f64],
    pub(super) set: usize,
    pub(super) freq_hz: &'a [f64],
    pub(super) lines: &'a [LinePoint],
    /// Terms of the smooth functions, frequency by frequency.
    pub(super) bases: &'a [Complex64],
}

/// One frequency of a grid.
#[derive(Clone, Copy, Debug)]
struct Point<'a> {
    layout: &'a Layout,
    theta: &'a [f64],
    set: usize,
    freq_hz: f64,
    line: &'a LinePoint,
    basis: &'a [Complex64],
}

impl<'a> Grid<'a> {
    fn point(&self, i: usize) -> Point<'a> {
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
    fn kind(&self) -> Kind {
        self.layout.kinds[self.set]
    }

    fn fault(&self, fault: usize) -> &[f64] {
        let first = self.layout.fault_range().start + SLOTS * fault;
        &self.theta[first..first + SLOTS]
    }

    fn stretch(&self, fault: usize) -> StretchPoint {
        StretchPoint::new(self.line, self.theta[at::LINE], self.fault(fault))
    }

    fn series(&self, fault: usize) -> (Complex64, [Complex64; 2]) {
        fault::series_gamma_l(TAU * self.freq_hz, self.fault(fault))
    }
}

/// Sections before the body: adapter and plug.
const BODY: usize = 2;

/// Predicts readings, a few frequencies at a time, without allocating for each.
#[derive(Clone, Debug, Default)]
pub(super) struct Forward {
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

/// One section of the cable.
#[derive(Clone, Copy, Debug)]
struct Part {
    between: Between,
    wander: f64,
    made: Made,
    /// Share of the cable's delay.
    share: f64,
    /// Whether it is a whole cell of the cable itself.
    whole: bool,
    /// Reflection against the section before it, where wander alone makes it.
    rho_before: Option<f64>,
}

/// Values between the cable and the reading, kept from prediction for its derivatives.
#[derive(Clone, Debug, Default)]
struct Stages {
    /// Reflection at the near plug, as it is.
    reflection: Complex64,
    /// The same after the calibration's map.
    mapped: Mapped,
    /// Residual errors: offset, proportional, quadratic, shared and own together.
    errors: [Complex64; SHARED_FUNCTIONS],
    /// Errors of transmission: tracking, source match.
    tracking: Complex64,
    source: Complex64,
}

impl Forward {
    /// Gives `each` the place and the prediction of every reading of a set on a grid.
    pub(super) fn predict(
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
    pub(super) fn differentiate(&mut self, grid: &Grid, mut each: impl FnMut(usize, &Prediction)) {
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
        let faults = &theta[layout.fault_range()];
        let (pieces, cuts) = (&mut self.pieces, &mut self.cuts);
        fault::lay(between.len(), &layout.faults, faults, pieces, cuts);
        self.body.clear();
        for (i, &Piece { cell, share, made }) in self.pieces.iter().enumerate() {
            let between = between[cell];
            let (first, second) = (nodes[between.first], nodes[between.second]);
            let wander = first + between.weight * (second - first);
            let plain = |p: &Part| p.made == Made::Plain && made == Made::Plain;
            let before = self.body.last().filter(|p| plain(p));
            let rho_before = before.map(|p| (0.5 * (wander - p.wander)).tanh());
            let alone = |i: usize| self.pieces.get(i).is_none_or(|p| p.cell != cell);
            self.body.push(Part {
                between,
                wander,
                made,
                share,
                whole: made == Made::Plain && alone(i.wrapping_sub(1)) && alone(i + 1),
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
        let plug = |ln_z: usize, delay: usize| {
            let phase = |p: &Point| TAU * p.freq_hz * plug_delay_s(p.theta[delay]).0;
            Section::new(
                splat(points[0].theta[ln_z]).into(),
                gather(|i| Complex64::new(0.0, phase(&points[i]))),
            )
        };
        let layout = points[0].layout;
        let share = 1.0 / layout.sections() as f64;
        let ln_zc = gather(|i| points[i].line.ln_zc);
        let cell = Section::new(ln_zc, gather(|i| points[i].line.gamma_l * share));
        let stretches: Vec<[StretchPoint; LANES]> = (0..layout.faults.len())
            .map(|fault| points.each_ref().map(|p| p.stretch(fault)))
            .collect();
        self.sections.clear();
        self.sections.push(adapter(points, at::NEAR_ADAPTER));
        self.sections.push(plug(at::NEAR_LN_Z, at::NEAR_DELAY));
        let cells = self.body.iter().map(|part| match part.made {
            Made::Plain if part.whole => cell.with(ln_zc + splat(part.wander), part.rho_before),
            Made::Plain => {
                let gamma_l = gather(|i| points[i].line.gamma_l * part.share);
                Section::new(ln_zc, gamma_l).with(ln_zc + splat(part.wander), part.rho_before)
            }
            Made::Stretch(fault) => {
                let of = &stretches[fault];
                Section::new(
                    gather(|i| of[i].ln_zc + part.wander),
                    gather(|i| of[i].gamma_l * part.share),
                )
            }
            Made::Series(fault) => Section::new(
                splat(SERIES_Z.ln()).into(),
                gather(|i| points[i].series(fault).0),
            ),
        });
        self.sections.extend(cells);
        self.sections.push(plug(at::FAR_LN_Z, at::FAR_DELAY));
        self.sections.push(adapter(points, at::FAR_ADAPTER));
    }
}

/// An adapter between plane and plug, or none if its delay is nought.
fn adapter(points: &[Point; LANES], first: usize) -> Section {
    let theta = points[0].theta;
    let gamma_l = |p: &Point| {
        let loss = theta[first + of_adapter::LOSS] * loss_shape(p.freq_hz);
        Complex64::new(loss, TAU * p.freq_hz * theta[first + of_adapter::DELAY])
    };
    Section::new(
        splat(theta[first + of_adapter::LN_Z]).into(),
        gather(|i| gamma_l(&points[i])),
    )
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
            ..Standards::at(point.theta, point.freq_hz).map(part.reflection(point.freq_hz))
        },
        _ => Standards::at(point.theta, point.freq_hz).map(reflection),
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
    let smooth = |first: usize| smooth_value(&point.theta[first..], point.basis);
    let mut errors = std::array::from_fn(|i| smooth(layout.shared(i)));
    for (i, error) in errors.iter_mut().enumerate().take(CONNECTION_FUNCTIONS) {
        *error += smooth(layout.connection(point.set, i));
    }
    let b = mapped.value;
    out.reflection = b + errors[0] + errors[1] * b + errors[2] * b * b;
    let (mut tracking, mut source) = (Complex64::default(), Complex64::default());
    if point.kind() == Kind::Through {
        tracking = smooth(layout.connection(point.set, TRACKING)) + band_tracking(point);
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
    let by_mapped = 1.0 + errors[1] + 2.0 * errors[2] * b;
    let scale = by_mapped * mapped.by_reflection;
    clear(&mut out.by_unknown, layout);
    chain.add(point, scale, &mut out.by_unknown);
    for (i, d) in mapped.by_standard.iter().enumerate() {
        out.by_unknown[at::STANDARD_OPEN + i] += by_mapped * d;
    }
    for (i, factor) in [Complex64::new(1.0, 0.0), b, b * b].into_iter().enumerate() {
        add_smooth(&mut out.by_unknown[layout.shared(i)..], point.basis, factor);
        if i < CONNECTION_FUNCTIONS {
            let first = layout.connection(point.set, i);
            add_smooth(&mut out.by_unknown[first..], point.basis, factor);
        }
    }
    let far_match = layout.connection(point.set, FAR_MATCH);
    if matches!(point.kind(), Kind::Through | Kind::OtherLoad) {
        let by_match = scale * chain.by_far_end() * far_match_part(point.kind(), point.freq_hz);
        add_smooth(&mut out.by_unknown[far_match..], point.basis, by_match);
    }
    if point.kind() == Kind::Through {
        // through the source match the transmission depends on the input reflection
        let through_input =
            out.transmission * stages.source / (1.0 + stages.source * stages.reflection);
        let by = &mut out.transmission_by_unknown;
        clear(by, layout);
        chain.add(point, through_input, by);
        let by_match = through_input * chain.by_far_end();
        add_smooth(&mut by[far_match..], point.basis, by_match);
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
        let first = point.layout.connection(point.set, function);
        add_smooth(&mut by[first..], point.basis, factor);
    }
    let BandPlace { first, weight } = point.layout.band_place(point.freq_hz);
    let first = point.layout.connection(point.set, BAND_TRACKING) + 2 * first;
    let two = [1.0 - weight, weight].map(Complex64::from);
    add_smooth(&mut by[first..], &two, t / (1.0 + tracking));
}

/// Error of transmission of the analyser's band.
fn band_tracking(point: &Point) -> Complex64 {
    let BandPlace { first, weight } = point.layout.band_place(point.freq_hz);
    let first = point.layout.connection(point.set, BAND_TRACKING) + 2 * first;
    let two = [1.0 - weight, weight].map(Complex64::from);
    smooth_value(&point.theta[first..], &two)
}

fn far_end(point: &Point) -> End {
    let theta = point.theta;
    let jw = Complex64::new(0.0, TAU * point.freq_hz);
    match point.kind() {
        Kind::Open => {
            let y = jw * (theta[at::STANDARD_OPEN] + theta[at::END_OPEN]);
            let d = -2.0 * jw / ((1.0 + y) * (1.0 + y));
            End::new(
                (1.0 - y) / (1.0 + y),
                &[(at::STANDARD_OPEN, d), (at::END_OPEN, d)],
            )
        }
        Kind::Short => {
            let z = jw * (theta[at::STANDARD_SHORT] + theta[at::END_SHORT]);
            let d = 2.0 * jw / ((z + 1.0) * (z + 1.0));
            End::new(
                (z - 1.0) / (z + 1.0),
                &[(at::STANDARD_SHORT, d), (at::END_SHORT, d)],
            )
        }
        Kind::Load | Kind::OtherLoad => {
            let r = theta[at::END_LOAD_LN_R].exp();
            let z = r + jw * (theta[at::STANDARD_LOAD_L] + theta[at::END_LOAD_L]);
            let y = 1.0 / z + jw * (theta[at::STANDARD_LOAD_C] + theta[at::END_LOAD_C]);
            let by_y = -2.0 / ((1.0 + y) * (1.0 + y));
            let (by_z, by_c) = (-by_y / (z * z), by_y * jw);
            let by = [
                (at::STANDARD_LOAD_L, by_z * jw),
                (at::END_LOAD_L, by_z * jw),
                (at::STANDARD_LOAD_C, by_c),
                (at::END_LOAD_C, by_c),
                (at::END_LOAD_LN_R, by_z * r),
            ];
            let own = match point.kind() {
                Kind::OtherLoad => far_match(point),
                _ => Complex64::default(),
            };
            End::new((1.0 - y) / (1.0 + y) + own, &by)
        }
        Kind::Through => End::new(far_match(point), &[]),
        Kind::Check(_) | Kind::Part(_) => End::default(),
    }
}

/// Reflection of port 2, or what another load has besides resistance and parasitics of a kit's.
fn far_match(point: &Point) -> Complex64 {
    let first = point.layout.connection(point.set, FAR_MATCH);
    far_match_part(point.kind(), point.freq_hz) * smooth_value(&point.theta[first..], point.basis)
}

/// Reflection of the far end and its derivatives by single unknowns.
#[derive(Clone, Debug, Default)]
struct End {
    reflection: Complex64,
    by: [(usize, Complex64); 5],
    count: usize,
}

impl End {
    fn new(reflection: Complex64, by: &[(usize, Complex64)]) -> Self {
        let mut end = Self {
            reflection,
            count: by.len(),
            ..Self::default()
        };
        end.by[..by.len()].copy_from_slice(by);
        end
    }
}

/// A smooth function at the frequency of `basis`.
pub(super) fn smooth_value(theta: &[f64], basis: &[Complex64]) -> Complex64 {
    basis
        .iter()
        .zip(theta.chunks_exact(2))
        .map(|(b, c)| b * Complex64::new(c[0], c[1]))
        .sum()
}

fn add_smooth(out: &mut [Complex64], basis: &[Complex64], factor: Complex64) {
    for (pair, b) in out.chunks_exact_mut(2).zip(basis) {
        let d = b * factor;
        pair[0] += d;
        pair[1] += Complex64::new(-d.im, d.re);
    }
}

fn clear(out: &mut Vec<Complex64>, layout: &Layout) {
    out.clear();
    out.resize(layout.len(), Complex64::default());
}

#[cfg(test)]
mod tests {
    use super::super::fault::{Fault, Shape};
    use super::super::plane::PlanePrior;
    use super::super::unknowns::{Known, Levels, Prior};
    use super::*;
    use crate::bench::Plane;
    use crate::calibration::fixture::Adapter;
    use crate::uncertain::Uncertain;

    /// Exact derivatives against central differences, for every kind of reading and unknown.
    #[test]
    fn derivatives_agree_with_differences() {
        /// Rounding of a difference of fourth order with a step of 10⁻⁴ standard deviations.
        const TOLERANCE: f64 = 1e-8;
        let layout = Layout {
            kinds: vec![
                Kind::Open,
                Kind::Short,
                Kind::Load,
                Kind::OtherLoad,
                Kind::Through,
                Kind::Check(FarEnd::Open),
            ],
            terms: 4,
            nodes: 5,
            faults: [
                (Shape::Between, [0.13, 0.52, 0.2, 0.3, -4.0]),
                (Shape::Around, [0.72, -2.5, -0.3, 0.1, -6.0]),
                (Shape::Series, [0.61, -1.0, -22.5, 0.0, 0.0]),
            ]
            .map(|(shape, values)| Fault {
                shape,
                prior: values.map(|v: f64| (v, (0.01 * v.abs()).max(1e-12))),
            })
            .to_vec(),
            covered_hz: (5e5, 4e8),
        };
        let levels = Levels {
            shared: 1e-3,
            connection: 1e-3,
            wander: 0.02,
            noise: vec![1e-3; 6],
        };
        let known = Known {
            delay_s: 7e-9,
            kit_ohm: 50.0,
            far_ratio: (0.3, 0.01),
            length_m: None,
            ends_early: false,
            any_conductor: false,
            plane: PlanePrior::of(&plane()),
        };
        let prior = Prior::new(&layout, &levels, known);
        // one standard deviation this way and that, so that nothing stands at nought
        let theta: Vec<f64> = (0..layout.len())
            .map(|i| prior.mean[i] + prior.scale[i] * f64::sin(3.0 * i as f64 + 0.5))
            .collect();
        for set in 0..layout.kinds.len() {
            for freq_hz in [1e6, 3.3e8] {
                let predict = |theta: &[f64]| {
                    let line = LineLaw::of_unknowns(theta).at(freq_hz);
                    let basis: Vec<Complex64> = smooth_basis(freq_hz, layout.terms).collect();
                    let grid = Grid {
                        layout: &layout,
                        theta,
                        set,
                        freq_hz: &[freq_hz],
                        lines: &[line],
                        bases: &basis,
                    };
                    let mut out = Prediction::default();
                    Forward::default().differentiate(&grid, |_, p| out = p.clone());
                    out
                };
                let exact = predict(&theta);
                for i in 0..layout.len() {
                    let h = 1e-4 * prior.scale[i];
                    let moved = |h: f64| {
                        let mut changed = theta.clone();
                        changed[i] += h;
                        predict(&changed)
                    };
                    let [up, down, far_up, far_down] = [h, -h, 2.0 * h, -2.0 * h].map(moved);
                    let slope = |of: fn(&Prediction) -> Complex64| {
                        (8.0 * (of(&up) - of(&down)) - (of(&far_up) - of(&far_down))) / (12.0 * h)
                    };
                    let place = format!("set {set}, {freq_hz} Hz, unknown {i}");
                    let wanted = slope(|p| p.reflection);
                    let error = (exact.by_unknown[i] - wanted).norm() * prior.scale[i];
                    assert!(error < TOLERANCE, "{place}: off by {error:e}");
                    if layout.kinds[set] == Kind::Through {
                        let wanted = slope(|p| p.transmission);
                        let by = exact.transmission_by_unknown[i];
                        let error = (by - wanted).norm() * prior.scale[i];
                        assert!(error < TOLERANCE, "{place}, transmission: off by {error:e}");
                    }
                }
            }
        }
    }

    /// Adapters of 40 ohm at both ends, not well known.
    fn plane() -> Plane {
        let adapter = Adapter {
            impedance_ohm: Uncertain::new(40.0, 4.0),
            one_way_delay_s: Uncertain::new(120e-12, 20e-12),
            loss_db: Uncertain::new(0.1, 0.05),
        };
        Plane {
            near: Some(adapter),
            far: Some(adapter),
            ..Plane::default()
        }
    }
}
