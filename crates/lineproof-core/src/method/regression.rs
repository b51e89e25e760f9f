//! Averages over frequency for methods that give a value at every point.
//!
//! What calibration leaves is common to neighbouring points, so averaging removes noise but
//! not that part: the weights follow the uncertainty of each point, the uncertainty of the
//! average does not fall below that of its best points.

use crate::uncertain::Uncertain;

/// Impedance at one frequency.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ImpedancePoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Real part of the characteristic impedance, ohm.
    pub z0_ohm: f64,
    /// Relative standard uncertainty that neighbours share.
    pub u_shared: f64,
    /// Relative effect of plugs by their standard uncertainty, signed: it alternates.
    pub u_plug: f64,
    /// Relative standard uncertainty of this point alone.
    pub u_own: f64,
}

/// Loss at one frequency.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LossPoint {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// One-way loss, Np.
    pub loss_np: f64,
    /// Standard uncertainty that neighbours share, Np.
    pub u_shared_np: f64,
    /// Standard uncertainty of this point alone, Np.
    pub u_own_np: f64,
}

/// One-way loss a√f + b f (IEC 61196-1-113 and common practice for copper and its dielectric).
#[derive(Clone, Debug)]
pub(crate) struct LossCurve {
    /// Conductor part, Np/√Hz.
    pub conductor: f64,
    /// Dielectric part, Np/Hz.
    pub dielectric: f64,
    points: Vec<LossPoint>,
    /// Inverse of the normal matrix over the terms in use.
    inverse: [[f64; 2]; 2],
}

/// How much conductor loss raises the impedance at `freq_hz` above its high-frequency value:
/// Z/Z∞ = 1 + x/(ωτ), x in Np (strong skin effect: internal inductance equals R/ω).
pub(crate) fn dispersion(conductor_loss_np: f64, freq_hz: f64, one_way_delay_s: f64) -> f64 {
    // the clamp keeps a sweep that starts near 0 Hz, where the formula no longer holds, from ruling the mean
    let turn_rad = std::f64::consts::TAU * freq_hz * one_way_delay_s;
    1.0 + (conductor_loss_np / turn_rad).clamp(0.0, 0.5)
}

/// Impedance at `at_hz` from all points, each moved there by `dispersion(freq_hz)`.
pub(crate) fn impedance_at(
    points: &[ImpedancePoint],
    at_hz: f64,
    dispersion: impl Fn(f64) -> f64,
) -> Option<Uncertain> {
    let at = dispersion(at_hz);
    let (mut total, mut mean_log) = (0.0, 0.0);
    let (mut shared, mut plug, mut own) = (0.0, 0.0, 0.0);
    for p in points.iter().filter(|p| p.freq_hz > 0.0 && p.z0_ohm > 0.0) {
        // inverse variance of the whole: shared parts do not average out, but points that have little of them count more
        let weight = 1.0 / (p.u_shared.powi(2) + p.u_plug.powi(2) + p.u_own.powi(2));
        if !weight.is_finite() {
            continue;
        }
        total += weight;
        // the mean of logarithms, since errors of an impedance are relative
        mean_log += weight * (p.z0_ohm * at / dispersion(p.freq_hz)).ln();
        // linear sum: neighbours err together; the plugs' part is signed and cancels over whole half waves
        shared += weight * p.u_shared;
        plug += weight * p.u_plug;
        // sum of squares: noise is each point's own
        own += (weight * p.u_own).powi(2);
    }
    let z0_ohm = (mean_log / total).exp();
    let relative = shared.hypot(plug).hypot(own.sqrt()) / total;
    let result = Uncertain::new(z0_ohm, z0_ohm * relative);
    (z0_ohm.is_finite() && relative.is_finite()).then_some(result)
}

impl LossCurve {
    /// Least squares with weights 1/u²; a term that comes out negative is left out. Absent without
    /// a point above 0 Hz.
    pub(crate) fn fit(points: &[LossPoint]) -> Option<Self> {
        let points: Vec<_> = points.iter().copied().filter(usable).collect();
        let mut curve = Self {
            conductor: 0.0,
            dielectric: 0.0,
            points,
            inverse: [[0.0; 2]; 2],
        };
        curve.solve_both();
        // a negative term is no loss but noise: the other one alone then fits as well
        if !(curve.conductor > 0.0 && curve.dielectric >= 0.0) {
            let conductor_only = curve.conductor > 0.0 || curve.dielectric <= 0.0;
            curve.solve_one(usize::from(!conductor_only));
        }
        (curve.conductor.is_finite() && curve.dielectric.is_finite()).then_some(curve)
    }

    /// Loss at `freq_hz`, Np, with its uncertainty.
    pub(crate) fn at(&self, freq_hz: f64) -> Uncertain {
        let value = self.conductor * freq_hz.sqrt() + self.dielectric * freq_hz;
        let target = terms(freq_hz);
        let (mut shared, mut own) = (0.0, 0.0);
        for p in &self.points {
            let share = self.influence(p, target);
            // what all points share moves the curve by the sum of their influences, noise by its root sum of squares
            shared += share * p.u_shared_np;
            own += (share * p.u_own_np).powi(2);
        }
        let law = Uncertain::new(value, f64::hypot(shared, own.sqrt()));
        let beside = self.beside_the_law(freq_hz);
        Uncertain::new(law.value + beside, law.u.hypot(0.5 * beside))
    }

    /// By how much the points around `freq_hz` read more than the law, Np: rough conductors, contacts and foams
    /// keep no law. A mean that their scatter explains counts for little; farther than half
    /// an octave from every point it is not known.
    fn beside_the_law(&self, freq_hz: f64) -> f64 {
        let (mut total, mut mean, mut square) = (0.0, 0.0, 0.0);
        for p in &self.points {
            let octaves = (p.freq_hz / freq_hz).log2();
            // nothing beyond half an octave to either side
            let near = (1.0 - 4.0 * octaves * octaves).max(0.0) * weight(p);
            let [conductor, dielectric] = terms(p.freq_hz);
            let law = self.conductor * conductor + self.dielectric * dielectric;
            total += near;
            mean += near * (p.loss_np - law);
            square += (near * p.u_own_np).powi(2);
        }
        if total <= 0.0 {
            return 0.0;
        }
        let (mean, variance) = (mean / total, square / total.powi(2));
        mean * mean * mean / (mean * mean + variance).max(f64::MIN_POSITIVE)
    }

    /// How much the fit at `target` moves with point `p`.
    fn influence(&self, p: &LossPoint, target: [f64; 2]) -> f64 {
        let t = terms(p.freq_hz);
        let row = |r: [f64; 2]| r[0] * t[0] + r[1] * t[1];
        let [first, second] = self.inverse;
        let sum = target[0] * row(first) + target[1] * row(second);
        sum * weight(p)
    }

    fn solve_both(&mut self) {
        let (mut n, mut r) = ([[0.0; 2]; 2], [0.0; 2]);
        for p in &self.points {
            let (t, w) = (terms(p.freq_hz), weight(p));
            for i in 0..2 {
                r[i] += w * t[i] * p.loss_np;
                for j in 0..2 {
                    n[i][j] += w * t[i] * t[j];
                }
            }
        }
        let determinant = n[0][0] * n[1][1] - n[0][1] * n[1][0];
        // Two points or a narrow span can't tell the terms apart.
        if determinant <= 1e-6 * n[0][0] * n[1][1] {
            self.conductor = -1.0;
            self.dielectric = -1.0;
            return;
        }
        self.inverse = [
            [n[1][1] / determinant, -n[0][1] / determinant],
            [-n[1][0] / determinant, n[0][0] / determinant],
        ];
        self.conductor = self.inverse[0][0] * r[0] + self.inverse[0][1] * r[1];
        self.dielectric = self.inverse[1][0] * r[0] + self.inverse[1][1] * r[1];
    }

    fn solve_one(&mut self, term: usize) {
        let (mut n, mut r) = (0.0, 0.0);
        for p in &self.points {
            let (t, w) = (terms(p.freq_hz)[term], weight(p));
            n += w * t * t;
            r += w * t * p.loss_np;
        }
        self.inverse = [[0.0; 2]; 2];
        self.inverse[term][term] = 1.0 / n;
        let mut solution = [0.0; 2];
        solution[term] = (r / n).max(0.0);
        [self.conductor, self.dielectric] = solution;
    }
}

fn usable(p: &LossPoint) -> bool {
    p.freq_hz > 0.0 && p.loss_np.is_finite() && weight(p).is_finite()
}

fn terms(freq_hz: f64) -> [f64; 2] {
    // Frequency in units of 100 MHz would do as well; the determinant test is relative.
    [freq_hz.sqrt(), freq_hz]
}

fn weight(p: &LossPoint) -> f64 {
    1.0 / (p.u_shared_np.powi(2) + p.u_own_np.powi(2))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A loss that has a constant part, as plugs with contact resistance have it: no sum of √f and f reads it off.
    #[test]
    fn a_loss_that_keeps_no_law_is_read_where_its_points_are() {
        let loss_np = |freq_hz: f64| 0.05 + 4e-6 * freq_hz.sqrt();
        let points: Vec<_> = (1..200)
            .map(|k| LossPoint {
                freq_hz: f64::from(k) * 5e6,
                loss_np: loss_np(f64::from(k) * 5e6),
                u_shared_np: 1e-3,
                u_own_np: 1e-4,
            })
            .collect();
        let curve = LossCurve::fit(&points).unwrap();
        for freq_hz in [2e7, 1e8, 5e8] {
            let found = curve.at(freq_hz);
            let truth = loss_np(freq_hz);
            assert!(
                (found.value - truth).abs() < found.u95(),
                "{found} of {truth} at {freq_hz}"
            );
        }
    }

    #[test]
    fn both_parts_of_the_loss_are_told_apart_without_noise() {
        let points: Vec<_> = (1..200)
            .map(|k| {
                let freq_hz = f64::from(k) * 5e6;
                LossPoint {
                    freq_hz,
                    loss_np: 1e-6 * freq_hz.sqrt() + 2e-11 * freq_hz,
                    u_shared_np: 1e-3,
                    u_own_np: 1e-4,
                }
            })
            .collect();
        let curve = LossCurve::fit(&points).unwrap();
        assert!((curve.conductor / 1e-6 - 1.0).abs() < 1e-9);
        assert!((curve.dielectric / 2e-11 - 1.0).abs() < 1e-9);
        // The weights of a fit add up to about one, so what is common to all points stays.
        let u = curve.at(500e6).u;
        assert!((0.8e-3..1.25e-3).contains(&u), "{u}");
    }
}
