//! What the analyser would read of a cable with given unknowns, and the derivatives.
//!
//! The chain from the far end to the reading: far end → far plug → cable → near plug →
//! the calibration's map (its standards were taken as ideal) → smooth residual errors.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::line_law::{LinePoint, PARAMETERS};
use super::stack::{Gradient, Section, Stack};
use super::unknowns::{
    Between, CONNECTION_FUNCTIONS, Kind, Layout, PORT_2_MATCH, SHARED_FUNCTIONS, SMOOTH_SUPPORT_S,
    SOURCE_MATCH, TRACKING, at, plug_delay_s,
};

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

/// Where a prediction is wanted: the unknowns, the reading set, the frequency and the line there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Point<'a> {
    pub(super) layout: &'a Layout,
    pub(super) theta: &'a [f64],
    pub(super) set: usize,
    pub(super) freq_hz: f64,
    pub(super) line: &'a LinePoint,
    /// Terms of the smooth functions at this frequency.
    pub(super) basis: &'a [Complex64],
}

impl Point<'_> {
    fn kind(&self) -> Kind {
        self.layout.kinds[self.set]
    }
}

/// Evaluates readings point by point without allocating.
#[derive(Clone, Debug, Default)]
pub(super) struct Forward {
    stack: Stack,
    sections: Vec<Section>,
    gradient: Gradient,
    end: End,
    stages: Stages,
    body: Vec<Part>,
}

/// One section of the cable.
#[derive(Clone, Copy, Debug)]
struct Part {
    between: Between,
    wander: f64,
    /// Reflection against the section before it; the first has none.
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
    /// Takes the unknowns that do not depend on the frequency. Call before the first prediction
    /// with these unknowns.
    pub(super) fn begin(&mut self, layout: &Layout, theta: &[f64]) {
        let nodes = &theta[layout.first_node()..layout.len()];
        self.body.clear();
        for between in layout.between() {
            let (first, second) = (nodes[between.first], nodes[between.second]);
            let wander = first + between.weight * (second - first);
            let rho_before = self.body.last().map(|b| (0.5 * (wander - b.wander)).tanh());
            self.body.push(Part {
                between,
                wander,
                rho_before,
            });
        }
    }

    /// Predicts the reading(s) of a point.
    pub(super) fn predict(&mut self, point: &Point, out: &mut Prediction) {
        let layout = point.layout;
        self.lay_sections(point);
        self.end = far_end(point);
        let reflection = self.stack.reflection(&self.sections, self.end.reflection);
        let mapped = Standards::at(point.theta, point.freq_hz).map(reflection);
        let smooth = |first: usize| smooth_value(&point.theta[first..], point.basis);
        let mut errors = std::array::from_fn(|i| smooth(layout.shared(i)));
        for (i, error) in errors.iter_mut().enumerate().take(CONNECTION_FUNCTIONS) {
            *error += smooth(layout.connection(point.set, i));
        }
        let b = mapped.value;
        out.reflection = b + errors[0] + errors[1] * b + errors[2] * b * b;
        let (mut tracking, mut source) = (Complex64::default(), Complex64::default());
        if point.kind() == Kind::Through {
            tracking = smooth(layout.connection(point.set, TRACKING));
            source = smooth(layout.connection(point.set, SOURCE_MATCH));
            let arrives = self.stack.ln_transmission(&self.sections).exp();
            out.transmission = arrives * (1.0 + tracking) * (1.0 + source * reflection);
        }
        self.stages = Stages {
            reflection,
            mapped,
            errors,
            tracking,
            source,
        };
    }

    /// Derivatives of the reading(s). Call after [`Forward::predict`] for the same point.
    pub(super) fn differentiate(&mut self, point: &Point, out: &mut Prediction) {
        let layout = point.layout;
        let Stages { mapped, errors, .. } = &self.stages;
        let b = mapped.value;
        let by_mapped = 1.0 + errors[1] + 2.0 * errors[2] * b;
        let scale = by_mapped * mapped.by_reflection;
        self.stack.reflection_gradient(&mut self.gradient);
        clear(&mut out.by_unknown, layout);
        add_chain(
            point,
            &self.body,
            &self.gradient,
            scale,
            &self.end,
            &mut out.by_unknown,
        );
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
        if point.kind() == Kind::Through {
            let first = layout.connection(point.set, PORT_2_MATCH);
            let factor = scale * self.gradient.far;
            add_smooth(&mut out.by_unknown[first..], point.basis, factor);
            self.differentiate_transmission(point, out);
        }
    }

    fn differentiate_transmission(&mut self, point: &Point, out: &mut Prediction) {
        let Stages {
            reflection,
            tracking,
            source,
            ..
        } = self.stages;
        let t = out.transmission;
        let first = |function| point.layout.connection(point.set, function);
        let by = &mut out.transmission_by_unknown;
        clear(by, point.layout);
        // through the source match it depends on the input reflection, whose gradient stands ready
        let through_input = t * source / (1.0 + source * reflection);
        add_chain(
            point,
            &self.body,
            &self.gradient,
            through_input,
            &self.end,
            by,
        );
        let by_match = through_input * self.gradient.far;
        add_smooth(&mut by[first(PORT_2_MATCH)..], point.basis, by_match);
        self.stack.transmission_gradient(&mut self.gradient);
        add_chain(point, &self.body, &self.gradient, t, &self.end, by);
        add_smooth(
            &mut by[first(PORT_2_MATCH)..],
            point.basis,
            t * self.gradient.far,
        );
        add_smooth(
            &mut by[first(TRACKING)..],
            point.basis,
            t / (1.0 + tracking),
        );
        let by_source = t * reflection / (1.0 + source * reflection);
        add_smooth(&mut by[first(SOURCE_MATCH)..], point.basis, by_source);
    }

    fn lay_sections(&mut self, point: &Point) {
        let plug = |ln_z: usize, delay: usize| {
            Section::new(
                Complex64::new(point.theta[ln_z], 0.0),
                Complex64::new(
                    0.0,
                    TAU * point.freq_hz * plug_delay_s(point.theta[delay]).0,
                ),
            )
        };
        let gamma_l = point.line.gamma_l / self.body.len() as f64;
        self.sections.clear();
        self.sections.push(plug(at::NEAR_LN_Z, at::NEAR_DELAY));
        self.sections.extend(self.body.iter().map(|part| Section {
            ln_z: point.line.ln_zc + part.wander,
            gamma_l,
            rho_before: part.rho_before,
        }));
        self.sections.push(plug(at::FAR_LN_Z, at::FAR_DELAY));
    }
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
        Kind::Load => {
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
            End::new((1.0 - y) / (1.0 + y), &by)
        }
        Kind::Through => {
            let first = point.layout.connection(point.set, PORT_2_MATCH);
            End::new(smooth_value(&theta[first..], point.basis), &[])
        }
    }
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

/// The map that an open/short/load calibration makes of reality when its standards are not ideal:
/// the bilinear function that takes the real open to +1, the short to −1, the load to 0.
struct Standards {
    gain: Complex64,
    pole: Complex64,
    load: Complex64,
    open_weight: Complex64,
    short_weight: Complex64,
    /// Derivative of each standard's reflection by its unknown(s): open, short, load L, load C.
    by_unknown: [Complex64; 4],
}

#[derive(Clone, Debug, Default)]
struct Mapped {
    value: Complex64,
    by_reflection: Complex64,
    by_standard: [Complex64; 4],
}

impl Standards {
    fn at(theta: &[f64], freq_hz: f64) -> Self {
        let jw = Complex64::new(0.0, TAU * freq_hz);
        let y_open = jw * theta[at::STANDARD_OPEN];
        let open = (1.0 - y_open) / (1.0 + y_open);
        let z_short = jw * theta[at::STANDARD_SHORT];
        let short = (z_short - 1.0) / (z_short + 1.0);
        let z_load = 1.0 + jw * theta[at::STANDARD_LOAD_L];
        let y_load = 1.0 / z_load + jw * theta[at::STANDARD_LOAD_C];
        let load = (1.0 - y_load) / (1.0 + y_load);
        let by_y = -2.0 / ((1.0 + y_load) * (1.0 + y_load));
        let (inverse_open, inverse_short) = ((open - load).inv(), (short - load).inv());
        Self {
            gain: 0.5 * (inverse_open - inverse_short),
            pole: -0.5 * (inverse_open + inverse_short),
            load,
            open_weight: 0.5 * inverse_open * inverse_open,
            short_weight: 0.5 * inverse_short * inverse_short,
            by_unknown: [
                -2.0 * jw / ((1.0 + y_open) * (1.0 + y_open)),
                2.0 * jw / ((1.0 + z_short) * (1.0 + z_short)),
                -by_y / (z_load * z_load) * jw,
                by_y * jw,
            ],
        }
    }

    fn map(&self, reflection: Complex64) -> Mapped {
        let x = reflection - self.load;
        let inverse = (1.0 + self.pole * x).inv();
        let by_gain = x * inverse;
        let by_pole = -self.gain * by_gain * by_gain;
        let by_x = self.gain * inverse * inverse;
        let by_open = (by_pole - by_gain) * self.open_weight;
        let by_short = (by_pole + by_gain) * self.short_weight;
        let by_load = -by_x - by_open - by_short;
        let d = self.by_unknown;
        Mapped {
            value: self.gain * by_gain,
            by_reflection: by_x,
            by_standard: [
                by_open * d[0],
                by_short * d[1],
                by_load * d[2],
                by_load * d[3],
            ],
        }
    }
}

fn smooth_value(theta: &[f64], basis: &[Complex64]) -> Complex64 {
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

/// Adds the derivatives by line, plugs, nodes and far end of an output whose stack gradient is
/// given.
fn add_chain(
    point: &Point,
    body: &[Part],
    gradient: &Gradient,
    scale: Complex64,
    end: &End,
    out: &mut [Complex64],
) {
    let sections = body.len();
    let of_body = 1..=sections;
    let by_ln_z: Complex64 = gradient.ln_z[of_body.clone()].iter().sum();
    let by_gamma = gradient.gamma_l[of_body.clone()].iter().sum::<Complex64>() / sections as f64;
    let line = point.line;
    for i in 0..PARAMETERS {
        out[at::LINE + i] += scale * (by_ln_z * line.d_ln_zc[i] + by_gamma * line.d_gamma_l[i]);
    }
    let by_delay = scale * Complex64::new(0.0, TAU * point.freq_hz);
    out[at::NEAR_LN_Z] += scale * gradient.ln_z[0];
    out[at::NEAR_DELAY] +=
        by_delay * plug_delay_s(point.theta[at::NEAR_DELAY]).1 * gradient.gamma_l[0];
    out[at::FAR_LN_Z] += scale * gradient.ln_z[sections + 1];
    out[at::FAR_DELAY] +=
        by_delay * plug_delay_s(point.theta[at::FAR_DELAY]).1 * gradient.gamma_l[sections + 1];
    let nodes = &mut out[point.layout.first_node()..];
    for (Part { between, .. }, d) in body.iter().zip(&gradient.ln_z[of_body]) {
        let d = scale * d;
        let to_second = d * between.weight;
        nodes[between.first] += d - to_second;
        nodes[between.second] += to_second;
    }
    for &(index, d) in &end.by[..end.count] {
        out[index] += scale * gradient.far * d;
    }
}

#[cfg(test)]
mod tests {
    use super::super::line_law::LineLaw;
    use super::super::unknowns::{Known, Levels, Prior};
    use super::*;

    /// Exact derivatives against central differences, for every kind of reading and unknown.
    #[test]
    fn derivatives_agree_with_differences() {
        /// Rounding of a central difference with a step of 10⁻⁶ standard deviations.
        const TOLERANCE: f64 = 1e-8;
        let layout = Layout {
            kinds: vec![Kind::Open, Kind::Short, Kind::Load, Kind::Through],
            terms: 4,
            nodes: 5,
        };
        let levels = Levels {
            shared: 1e-3,
            connection: 1e-3,
            wander: 0.02,
            noise: vec![1e-3; 5],
        };
        let known = Known {
            delay_s: 7e-9,
            kit_ohm: 50.0,
            far_ratio: (0.3, 0.01),
        };
        let prior = Prior::new(&layout, &levels, known);
        // one standard deviation this way and that, so that nothing stands at nought
        let theta: Vec<f64> = (0..layout.len())
            .map(|i| prior.mean[i] + prior.scale[i] * f64::sin(3.0 * i as f64 + 0.5))
            .collect();
        for set in 0..layout.kinds.len() {
            for freq_hz in [1e6, 3.3e8] {
                let predict = |theta: &[f64]| {
                    let line = LineLaw::from_slice(&theta[..PARAMETERS]).at(freq_hz);
                    let basis: Vec<Complex64> = smooth_basis(freq_hz, layout.terms).collect();
                    let (layout, line, basis) = (&layout, &line, &basis[..]);
                    let point = Point {
                        layout,
                        theta,
                        set,
                        freq_hz,
                        line,
                        basis,
                    };
                    let (mut forward, mut out) = (Forward::default(), Prediction::default());
                    forward.begin(layout, theta);
                    forward.predict(&point, &mut out);
                    forward.differentiate(&point, &mut out);
                    out
                };
                let exact = predict(&theta);
                for i in 0..layout.len() {
                    let h = 1e-6 * prior.scale[i];
                    let moved = |h: f64| {
                        let mut changed = theta.clone();
                        changed[i] += h;
                        predict(&changed)
                    };
                    let (up, down) = (moved(h), moved(-h));
                    let place = format!("set {set}, {freq_hz} Hz, unknown {i}");
                    let wanted = (up.reflection - down.reflection) / (2.0 * h);
                    let error = (exact.by_unknown[i] - wanted).norm() * prior.scale[i];
                    assert!(error < TOLERANCE, "{place}: off by {error:e}");
                    if layout.kinds[set] == Kind::Through {
                        let wanted = (up.transmission - down.transmission) / (2.0 * h);
                        let by = exact.transmission_by_unknown[i];
                        let error = (by - wanted).norm() * prior.scale[i];
                        assert!(error < TOLERANCE, "{place}, transmission: off by {error:e}");
                    }
                }
            }
        }
    }

    /// A calibration reads its own standards as ideal, whatever they are.
    #[test]
    fn standards_read_as_ideal() {
        let mut theta = vec![0.0; at::SINGLES];
        theta[at::STANDARD_OPEN] = 3e-12;
        theta[at::STANDARD_SHORT] = 1e-12;
        theta[at::STANDARD_LOAD_L] = 2e-12;
        theta[at::STANDARD_LOAD_C] = 0.5e-12;
        let freq = 1e9;
        let jw = Complex64::new(0.0, TAU * freq);
        let standards = Standards::at(&theta, freq);
        let open = jw * 3e-12;
        let short = jw * 1e-12;
        let load = 1.0 / (1.0 + jw * 2e-12) + jw * 0.5e-12;
        for (real, ideal) in [
            ((1.0 - open) / (1.0 + open), 1.0),
            ((short - 1.0) / (short + 1.0), -1.0),
            ((1.0 - load) / (1.0 + load), 0.0),
        ] {
            let got = standards.map(real).value;
            assert!((got - ideal).norm() < 1e-12, "got {got}, wanted {ideal}");
        }
    }
}
