//! The line as it lies: plugs, unevenness and faults included, as a two-port between source and load of a
//! system's impedance.
//!
//! The fitted line is ended by an ideal open, an ideal short and a match, without adapters and without what
//! calibration left; the three reflections give the two-port ([`ByFarEnds`]).
//!
//! All steps are analytic in the three, so the fit's derivatives go through by the chain rule and the interval is
//! that of the posterior.

use num_complex::Complex64;

use super::super::model::{
    AT, Forward, Grid, Kind, Layout, LineLaw, LinePoint, PARAMETERS, smooth_basis,
};
use super::estimate::{Derivative, Estimate};
use crate::constants::DB_PER_NEPER;
use crate::network::ByFarEnds;
use crate::uncertain::{COVERAGE_FACTOR_95, Uncertain};

/// What the line does between a source and a load of one impedance, at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineInSystem {
    /// Insertion loss, dB.
    pub insertion_loss_db: Uncertain,
    /// Reflection at the near end with the load at the far end, against the system's impedance.
    pub input_reflection: Complex64,
    /// Standard uncertainties of its real and imaginary part.
    pub u_input_reflection: [f64; 2],
}

impl LineInSystem {
    /// Largest size that the reflection may have: the size and the far end of its 95 % interval.
    pub fn worst_reflection(&self) -> f64 {
        let [re, im] = self.u_input_reflection;
        // the larger part's uncertainty bounds that along the reflection's own direction
        (self.input_reflection.norm() + COVERAGE_FACTOR_95 * re.max(im)).min(1.0)
    }
}

/// Ideal far ends, in the order in which the two-port is made from them.
const ENDS: [Kind; 3] = [Kind::Open, Kind::Short, Kind::Load];
/// Step of a difference, as a part of what the far end changes at the input.
const STEP: f64 = 1e-5;

impl Estimate {
    /// The line as it lies at `freq_hz` between a source and a load of `system_ohm`; `None` where the fit makes
    /// no finite number.
    pub fn in_system(&self, freq_hz: f64, system_ohm: f64) -> Option<LineInSystem> {
        let ideal = Ideal::of(self);
        let ends = ENDS.map(|kind| ideal.reflection(kind, freq_hz));
        let kit_ohm = self.kit_load.ohm;
        let system = (system_ohm - kit_ohm.value) / (system_ohm + kit_ohm.value);
        let at = ends.each_ref().map(|e| e.reflection);
        let value = Seen::of(at, system)?;
        let by_end = by_ends(at, system)?;
        let by_kit = by_kit(at, system, kit_ohm.relative())?;
        let standard = |part: &dyn Fn(Complex64) -> f64, of: usize| {
            let mut by: Derivative = Vec::new();
            for (end, factor) in ends.iter().zip(by_end.iter().map(|d| d[of])) {
                by.extend(end.by.iter().map(|&(i, d)| (i, part(factor * d))));
            }
            self.standard(&by).hypot(part(by_kit[of]))
        };
        let loss_db = |ln_gain: Complex64| -0.5 * DB_PER_NEPER * ln_gain.re;
        let seen = LineInSystem {
            insertion_loss_db: Uncertain::new(loss_db(value.ln_gain), standard(&loss_db, LN_GAIN))
                .widened(self.antenna_loss_u_db()),
            input_reflection: value.input,
            u_input_reflection: [standard(&|d| d.re, INPUT), standard(&|d| d.im, INPUT)],
        };
        let [re, im] = seen.u_input_reflection;
        let loss = seen.insertion_loss_db;
        [loss.value, loss.u, value.input.norm(), re, im]
            .iter()
            .all(|v| v.is_finite())
            .then_some(seen)
    }
}

/// Places of the two quantities in a derivative.
const LN_GAIN: usize = 0;
const INPUT: usize = 1;

/// Quantities of the two-port in a system.
#[derive(Clone, Copy)]
struct Seen {
    /// ln of a number whose size is the transducer power gain.
    ln_gain: Complex64,
    input: Complex64,
}

impl Seen {
    /// From the reflections of the three ends against the calibration load, and that of the system's impedance.
    fn of(ends: [Complex64; 3], system: f64) -> Option<Self> {
        let line = ByFarEnds::of_open_short_load(ends);
        let input = line.input(system.into());
        let seen = Self {
            ln_gain: line.gain_between(system).ln(),
            input: (input - system) / (1.0 - system * input),
        };
        (seen.ln_gain.is_finite() && seen.input.is_finite()).then_some(seen)
    }

    fn to_array(self) -> [Complex64; 2] {
        [self.ln_gain, self.input]
    }
}

/// Derivatives of both quantities by each of the three reflections.
fn by_ends(at: [Complex64; 3], system: f64) -> Option<[[Complex64; 2]; 3]> {
    let step = STEP * (at[0] - at[1]).norm();
    let mut by = [[Complex64::ZERO; 2]; 3];
    for (end, by) in by.iter_mut().enumerate() {
        let moved = |h: f64| {
            let mut at = at;
            at[end] += h;
            Seen::of(at, system).map(Seen::to_array)
        };
        let (up, down) = (moved(step)?, moved(-step)?);
        *by = [0, 1].map(|of| difference(up[of], down[of], of) / (2.0 * step));
    }
    Some(by)
}

/// What a standard deviation of the calibration load's value does to both.
fn by_kit(at: [Complex64; 3], system: f64, kit_u_rel: f64) -> Option<[Complex64; 2]> {
    // ρ of the system against the kit falls by (1 − ρ²)/2 for each unit of ln of the kit's value.
    let step = 0.5 * (1.0 - system * system) * kit_u_rel;
    let up = Seen::of(at, system + step)?.to_array();
    let down = Seen::of(at, system - step)?.to_array();
    Some([0, 1].map(|of| 0.5 * difference(up[of], down[of], of)))
}

/// A difference; that of a logarithm whose angle may have jumped by a turn has only its real part.
fn difference(up: Complex64, down: Complex64, of: usize) -> Complex64 {
    let between = up - down;
    if of == LN_GAIN && between.im.abs() > std::f64::consts::PI {
        let turns = (between.im / std::f64::consts::TAU).round();
        return Complex64::new(between.re, between.im - turns * std::f64::consts::TAU);
    }
    between
}

/// The fitted line with ideal ends, before an analyser without errors.
struct Ideal {
    layout: Layout,
    theta: Vec<f64>,
    /// First node of the fit's own layout: nodes and faults follow it in both.
    first_node: usize,
}

/// A reflection with its derivative by the fit's unknowns.
struct Reflected {
    reflection: Complex64,
    by: Vec<(usize, Complex64)>,
}

impl Ideal {
    fn of(estimate: &Estimate) -> Self {
        let own = &estimate.fit.layout;
        let layout = Layout::new(
            ENDS.to_vec(),
            own.terms,
            own.nodes,
            own.covered_hz,
            own.faults().to_vec(),
        );
        let mut theta = vec![0.0; layout.len()];
        theta[..PARAMETERS].copy_from_slice(&estimate.fit.theta[..PARAMETERS]);
        for ideal in ideal_unknowns() {
            theta[ideal] = 0.0;
        }
        theta[layout.first_node()..].copy_from_slice(&estimate.fit.theta[own.first_node()..]);
        Self {
            theta,
            first_node: own.first_node(),
            layout,
        }
    }

    fn reflection(&self, kind: Kind, freq_hz: f64) -> Reflected {
        let set = ENDS
            .iter()
            .position(|&k| k == kind)
            .expect("the layout has every ideal end");
        let lines: [LinePoint; 1] = [LineLaw::of_unknowns(&self.theta).at(freq_hz)];
        let bases: Vec<Complex64> = smooth_basis(freq_hz, self.layout.terms).collect();
        let grid = Grid {
            layout: &self.layout,
            theta: &self.theta,
            set,
            freq_hz: &[freq_hz],
            lines: &lines,
            bases: &bases,
        };
        let mut reflected = Reflected {
            reflection: Complex64::ZERO,
            by: Vec::new(),
        };
        let ideal = ideal_unknowns();
        Forward::default().differentiate(&grid, |_, prediction| {
            reflected.reflection = prediction.reflection;
            let of_fit = |(i, &d): (usize, &Complex64)| {
                let index = if i < PARAMETERS {
                    (!ideal.contains(&i)).then_some(i)?
                } else {
                    i.checked_sub(self.layout.first_node())? + self.first_node
                };
                (d != Complex64::ZERO).then_some((index, d))
            };
            reflected.by = prediction
                .by_unknown
                .iter()
                .enumerate()
                .filter_map(of_fit)
                .collect();
        });
        reflected
    }
}

/// Unknowns that an ideal end, an ideal calibration and a plane at the plugs do not have.
fn ideal_unknowns() -> Vec<usize> {
    [
        AT.standards.into_array().as_slice(),
        &AT.far_end.into_array(),
        &AT.near_adapter.into_array(),
        &AT.far_adapter.into_array(),
    ]
    .concat()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Reflections of a lossy 75-ohm line before a 50-ohm analyser, by its input impedances (Pozar, section 2.7):
    /// Z coth γl open, Z tanh γl shorted, and with 50 ohm at its end.
    fn line_of_75_ohm(gamma_l: Complex64) -> [Complex64; 3] {
        let t = gamma_l.tanh();
        let inputs = [
            75.0 / t,
            75.0 * t,
            75.0 * (50.0 + 75.0 * t) / (75.0 + 50.0 * t),
        ];
        inputs.map(|z| (z - 50.0) / (z + 50.0))
    }

    /// Between 75 ohm the line loses its own attenuation and reflects nothing; between 50 ohm a quarter wave
    /// reflects (Z² − 50²)/(Z² + 50²) and loses what that is, 0.695 dB.
    #[test]
    fn a_line_between_its_own_and_another_impedance() {
        let lossy = line_of_75_ohm(Complex64::new(0.1, 1.1));
        let own = Seen::of(lossy, (75.0 - 50.0) / (75.0 + 50.0)).unwrap();
        assert!((own.ln_gain.re + 0.2).abs() < 1e-12, "{}", own.ln_gain);
        assert!(own.input.norm() < 1e-12, "{}", own.input);
        let quarter = line_of_75_ohm(Complex64::new(1e-6, std::f64::consts::FRAC_PI_2));
        let seen = Seen::of(quarter, 0.0).unwrap();
        let wanted = (75.0f64.powi(2) - 2500.0) / (75.0f64.powi(2) + 2500.0);
        assert!((seen.input.norm() - wanted).abs() < 1e-5, "{}", seen.input);
        let loss_db = -0.5 * DB_PER_NEPER * seen.ln_gain.re;
        // without loss what is not reflected arrives
        let through_db = -10.0 * (1.0 - wanted * wanted).log10();
        assert!((loss_db - through_db).abs() < 1e-4, "{loss_db}");
    }

    /// Derivatives by the ends against differences of another step, and by the load's value against the
    /// system's own impedance moved.
    #[test]
    fn derivatives_follow_what_moves() {
        let at = line_of_75_ohm(Complex64::new(0.2, 2.0));
        let by = by_ends(at, 0.03).unwrap();
        for end in 0..3 {
            let mut moved = at;
            moved[end] += Complex64::new(0.0, 1e-7);
            let [gain, input] = Seen::of(moved, 0.03).unwrap().to_array();
            let [gain_0, input_0] = Seen::of(at, 0.03).unwrap().to_array();
            let found = [gain - gain_0, input - input_0].map(|d| d / Complex64::new(0.0, 1e-7));
            for of in [LN_GAIN, INPUT] {
                let off = (found[of] - by[end][of]).norm();
                assert!(off < 1e-5 * (1.0 + by[end][of].norm()), "{end} {of}: {off}");
            }
        }
    }
}
