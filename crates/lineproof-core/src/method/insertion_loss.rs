//! Insertion loss from the sweeps themselves, whatever the line is made of.
//!
//! An open and a short at the far end, better with a load besides, give the two-port at each frequency ([`ByFarEnds`]):
//! no model of the line is in it, so pieces, connectors and faults are. Of an open and a short alone the line has to be
//! symmetric; what it is not changes S21² by −2s·Δs/(1 − s²), s being the reflection of its ports, and goes into the
//! interval. A through sweep is not read here: the match of its ports ripples on it, which only the fit takes off.
//!
//! Between two points a parabola through those near them is read. Neighbours share what calibration left.

use std::f64::consts::{FRAC_1_SQRT_2, TAU};

use nalgebra::{Matrix3, Vector3};
use num_complex::Complex64;

use crate::bench::{Bench, EndedSweep, FarEnd};
use crate::constants::DB_PER_NEPER;
use crate::network::ByFarEnds;
use crate::uncertain::Uncertain;

/// Part of a ripple's period within which a parabola follows it.
const FOLLOWED: f64 = 0.2;
/// Fewest points on either side that a parabola is laid through.
const FEWEST: usize = 3;
/// Gain above which a passive line is none.
const LARGEST_GAIN: f64 = 1.05;
/// Standard uncertainty from which a loss says nothing, dB.
const UNKNOWN_DB: f64 = 0.5;
/// Reflection of either port from which these are no sweeps of one line.
const LARGEST_REFLECTION: f64 = 0.7;

/// What the line passes at one frequency, as the sweeps have it.
#[derive(Clone, Copy, Debug)]
struct Passed {
    freq_hz: f64,
    line: ByFarEnds,
    /// Standard uncertainty of the loss, dB: what neighbours share.
    u_db: f64,
}

/// The line as it lies, from the sweeps without a model.
#[derive(Clone, Debug)]
pub struct LineAsSwept {
    points: Vec<Passed>,
    kit_ohm: f64,
    /// Round-trip delay, s: the ripple's period is its reciprocal.
    round_trip_s: f64,
}

impl LineAsSwept {
    /// From sweeps with different far ends on one grid. `None` without them, or where they are of no line that passes
    /// anything.
    pub fn of(bench: &Bench) -> Option<Self> {
        let points = by_far_ends(bench)?;
        let is_line = |p: &&Passed| {
            let passes = p.line.s21_squared.norm() < LARGEST_GAIN;
            let reflects = p.line.s11.norm().max(p.line.s22.norm()) > LARGEST_REFLECTION;
            passes && !reflects
        };
        let of_a_line = points.iter().filter(is_line).count();
        // near half waves a single point may say anything
        if points.len() < 2 * FEWEST || 10 * of_a_line < 9 * points.len() {
            return None;
        }
        let turn: Complex64 = points
            .windows(2)
            .map(|p| p[1].line.s21_squared * p[0].line.s21_squared.conj())
            .sum();
        let step_hz =
            (points[points.len() - 1].freq_hz - points[0].freq_hz) / (points.len() - 1) as f64;
        Some(Self {
            round_trip_s: (-turn.arg()).rem_euclid(TAU) / (TAU * step_hz),
            kit_ohm: bench.kit_load.ohm.value,
            points,
        })
    }

    /// Lowest and highest frequency, Hz.
    pub fn covered_hz(&self) -> (f64, f64) {
        let of = |p: Option<&Passed>| p.map_or(0.0, |p| p.freq_hz);
        (of(self.points.first()), of(self.points.last()))
    }

    /// Insertion loss at `freq_hz` between a source and a load of `system_ohm`, dB; `None` outside the sweeps, and
    /// where they leave it open.
    pub fn insertion_loss_db(&self, freq_hz: f64, system_ohm: f64) -> Option<Uncertain> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        if !(first.freq_hz..=last.freq_hz).contains(&freq_hz) {
            return None;
        }
        let system = (system_ohm - self.kit_ohm) / (system_ohm + self.kit_ohm);
        let near = self.near(freq_hz);
        let loss_db: Vec<(f64, f64)> = near
            .iter()
            .map(|p| {
                let gain = p.line.gain_between(system).norm();
                (p.freq_hz - freq_hz, -0.5 * DB_PER_NEPER * gain.ln())
            })
            .collect();
        let (value, scatter) = parabola_at_zero(&loss_db)?;
        let shared = near.iter().map(|p| p.u_db).sum::<f64>() / near.len() as f64;
        let found = Uncertain::new(value, shared.hypot(scatter));
        (found.value.is_finite() && found.u < UNKNOWN_DB).then_some(found)
    }

    /// Points within a part of a ripple's period, or a few to either side.
    fn near(&self, freq_hz: f64) -> &[Passed] {
        let reach_hz = (FOLLOWED / self.round_trip_s).min(FOLLOWED * freq_hz);
        let at = |f: f64| self.points.partition_point(|p| p.freq_hz < f);
        let middle = at(freq_hz);
        let begin = at(freq_hz - reach_hz).min(middle.saturating_sub(FEWEST));
        let end = at(freq_hz + reach_hz).max(middle + FEWEST);
        &self.points[begin..end.min(self.points.len())]
    }
}

/// What a parabola through points (x, y) has at x = 0, and its standard uncertainty by their scatter; a straight line
/// if they are few.
fn parabola_at_zero(points: &[(f64, f64)]) -> Option<(f64, f64)> {
    let scale = points.iter().fold(0.0, |most: f64, p| most.max(p.0.abs()));
    let row = |x: f64| Vector3::new(1.0, x / scale, (x / scale).powi(2));
    let mut normal = Matrix3::zeros();
    let mut rhs = Vector3::zeros();
    for &(x, y) in points {
        normal += row(x) * row(x).transpose();
        rhs += row(x) * y;
    }
    let inverse = normal.try_inverse()?;
    let by = inverse * rhs;
    let square: f64 = points
        .iter()
        .map(|&(x, y)| (y - row(x).dot(&by)).powi(2))
        .sum();
    let freedom = points.len().saturating_sub(3).max(1) as f64;
    Some((by[0], (square / freedom * inverse[(0, 0)]).sqrt()))
}

fn by_far_ends(bench: &Bench) -> Option<Vec<Passed>> {
    let open = bench.first(FarEnd::Open)?;
    let on_one_grid = |far_end| {
        let is_like = |s: &&EndedSweep| is_one_grid(s.sweep.freq_hz(), open.sweep.freq_hz());
        bench.ended(far_end).find(is_like)
    };
    let short = on_one_grid(FarEnd::Short)?;
    let load = on_one_grid(FarEnd::Load);
    let kit_ohm = bench.kit_load.ohm.value;
    let far_ohm = bench.far_load.ohm.value;
    let of_load = (far_ohm - kit_ohm) / (far_ohm + kit_ohm);
    let grid = open.sweep.freq_hz().iter().enumerate();
    let mut points: Vec<Passed> = grid
        .map(|(i, &freq_hz)| {
            let at = |s: &EndedSweep| s.sweep.reflection()[i];
            let line = match load {
                Some(load) => by_three([at(open), at(short), at(load)], of_load),
                None => ByFarEnds::of_open_short([at(open), at(short)]),
            };
            // errors e of the three: d ln S21² = eo/a·b/(a + b) + es/b·a/(a + b) + …, near e/(2 S21²) from each
            let error = bench.analyser.residual(freq_hz).hypot(bench.analyser.noise);
            let u_rel = FRAC_1_SQRT_2 * error / line.s21_squared.norm();
            Passed {
                freq_hz,
                line,
                u_db: 0.5 * DB_PER_NEPER * u_rel,
            }
        })
        .filter(|p| p.line.s21_squared.is_finite() && p.u_db.is_finite())
        .collect();
    if load.is_none() {
        // ports that reflect s each, not alike: 2 s Δs, Δs as large as s is hereabouts
        let squares: Vec<f64> = points.iter().map(|p| p.line.s11.norm_sqr()).collect();
        for i in 0..points.len() {
            let near =
                &squares[i.saturating_sub(i / 4 + FEWEST)..(i + i / 4 + FEWEST).min(squares.len())];
            let unlike = 2.0 * near.iter().sum::<f64>() / near.len() as f64;
            points[i].u_db = points[i].u_db.hypot(0.5 * DB_PER_NEPER * unlike);
        }
    }
    Some(points)
}

/// Part of a step by which two files may differ in a frequency and mean the same one.
const SAME_STEP: f64 = 1e-3;

fn is_one_grid(a: &[f64], b: &[f64]) -> bool {
    let step_hz = (a[a.len() - 1] - a[0]) / a.len() as f64;
    let is_same = |(a, b): (&f64, &f64)| (a - b).abs() <= SAME_STEP * step_hz;
    a.len() == b.len() && a.iter().zip(b).all(is_same)
}

/// From an open, a short and a load that reflects `of_load`.
fn by_three([open, short, load]: [Complex64; 3], of_load: f64) -> ByFarEnds {
    let mut line = ByFarEnds::of_open_short_load([open, short, load]);
    // each round leaves the square of the load's reflection of what was wrong
    for _ in 0..4 {
        let matched = load - (line.input(of_load.into()) - line.s11);
        line = ByFarEnds::of_open_short_load([open, short, matched]);
    }
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Load;
    use crate::network::Chain;
    use crate::network::conversion::TwoPort;
    use crate::sweep::Sweep;

    /// Three pieces with barrels of 38 ohm between, of lengths of their own; the loss is that of the chain matrix.
    #[test]
    fn a_run_of_pieces_passes_what_its_chain_does() {
        let run = |f: f64| {
            let line = |ohm: f64, db: f64, delay_s: f64| {
                let loss = db / DB_PER_NEPER * (f / 1e8).sqrt();
                Chain::line(ohm.into(), Complex64::new(loss, TAU * f * delay_s)).unwrap()
            };
            let barrel = line(38.0, 0.0, 0.22e-9);
            let pieces = [
                line(50.0, 0.3, 8e-9),
                barrel,
                line(51.5, 0.9, 75e-9),
                barrel,
                line(50.5, 0.2, 6e-9),
            ];
            Chain::cascade(&pieces)
                .scattering([50.0, 50.0])
                .unwrap()
                .matrix()
                .0
        };
        let grid: Vec<f64> = (0..401).map(|i| 1e6 + 5e5 * f64::from(i)).collect();
        let sweep = |end: f64| {
            let input = |&f: &f64| {
                let [[s11, s12], [s21, s22]] = run(f);
                s11 + s12 * s21 * end / (1.0 - s22 * end)
            };
            Sweep::new(grid.clone(), grid.iter().map(input).collect(), 50.0).unwrap()
        };
        let exact = |f: f64| -DB_PER_NEPER * run(f)[1][0].norm().ln();
        let mut bench = Bench::new(Load::by_ohmmeter(50.0)).unwrap();
        bench = bench.with_far_load(Load::by_ohmmeter(53.0)).unwrap();
        for (far_end, end) in [(FarEnd::Open, 1.0), (FarEnd::Short, -1.0)] {
            bench.add_sweep(far_end, sweep(end), "pair").unwrap();
        }
        for with_load in [false, true] {
            if with_load {
                bench
                    .add_sweep(FarEnd::Load, sweep(3.0 / 103.0), "load")
                    .unwrap();
            }
            let swept = LineAsSwept::of(&bench).unwrap();
            for f in [1.03e7, 5e7, 1.002e8, 1.7e8] {
                let found = swept.insertion_loss_db(f, 50.0).unwrap();
                let off = (found.value - exact(f)).abs();
                let most = if with_load { 0.005 } else { found.u95() };
                assert!(off < most, "{with_load} {f}: {found:?}, exact {}", exact(f));
                assert!(found.u < 0.25, "{found:?}");
            }
            assert!(swept.insertion_loss_db(5e8, 50.0).is_none());
        }
    }

    /// A break on the way passes nothing, whatever stands behind it.
    #[test]
    fn ends_that_make_no_difference_say_nothing() {
        let grid: Vec<f64> = (0..201).map(|i| 1e6 + 1e6 * f64::from(i)).collect();
        let turn = |f: &f64| Complex64::from_polar(0.97, -TAU * f * 20e-9);
        let sweep = Sweep::new(grid.clone(), grid.iter().map(turn).collect(), 50.0).unwrap();
        let mut bench = Bench::new(Load::by_ohmmeter(50.0)).unwrap();
        for far_end in [FarEnd::Open, FarEnd::Short, FarEnd::Load] {
            bench.add_sweep(far_end, sweep.clone(), "broken").unwrap();
        }
        let loss = LineAsSwept::of(&bench).and_then(|line| line.insertion_loss_db(1e8, 50.0));
        assert_eq!(loss, None);
    }
}
