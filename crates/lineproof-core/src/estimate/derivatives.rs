//! The model's derivatives, checked against differences where the priors allow the unknowns to be.

use num_complex::Complex64;

use super::model::{
    Antenna, Branch, Fault, Forward, Grid, Kind, Layout, LineLaw, Normal, OtherLine, Prediction,
    StubEnd, smooth_basis,
};
use super::prior::{Hyperparameters, Known, PlanePrior, Prior};
use crate::bench::{FarEnd, Plane};
use crate::calibration::fixture::Adapter;
use crate::uncertain::Uncertain;

/// Exact derivatives against central differences, for every kind of reading and unknown.
#[test]
fn derivatives_agree_with_differences() {
    /// Rounding of a difference of fourth order with a step of 10⁻⁴ standard deviations.
    const TOLERANCE: f64 = 1e-8;
    let kinds = vec![
        Kind::Open,
        Kind::Short,
        Kind::Load,
        Kind::OtherLoad,
        Kind::Antenna,
        Kind::Through,
        Kind::Check(FarEnd::Open),
    ];
    let layout = Layout::new(kinds, 4, 5, (5e5, 4e8), faults());
    let levels = Hyperparameters {
        shared: 1e-3,
        connection: 1e-3,
        bands: 1e-3,
        wander: 0.02,
        noise: vec![1e-3; 7],
    };
    let known = Known {
        delay_s: 7e-9,
        kit_ohm: 50.0,
        far_ratio: (0.3, 0.01),
        length_m: None,
        ends_early: false,
        any_conductor: false,
        far_load: super::prior::FarLoad::Other,
        directions_apart: 0.0,
        antenna: antenna(),
        plane: PlanePrior::of(&plane()),
    };
    let prior = Prior::new(&layout, &levels, &known);
    // one standard deviation this way and that, so that nothing stands at zero
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

/// One fault of each form.
fn faults() -> Vec<Fault<Normal>> {
    let other = |ln_z_step, ln_conductor, ln_tan_delta| OtherLine {
        ln_z_step,
        ln_conductor,
        ln_tan_delta,
    };
    let faults = [
        Fault::Between {
            first: 0.13,
            second: 0.52,
            other: other(0.2, 0.3, -4.0),
        },
        Fault::Around {
            middle: 0.72,
            ln_part: -2.5,
            other: other(-0.3, 0.1, -6.0),
        },
        Fault::Series {
            place: 0.61,
            ln_r: -1.0,
            ln_l: -22.5,
        },
        Fault::Shunt {
            place: 0.34,
            ln_r: 0.4,
            ln_c: -22.8,
        },
        Fault::Stub {
            place: 0.83,
            ln_delay: -20.4,
            ln_z: 0.1,
            end: StubEnd::Open,
        },
        Fault::Stub {
            place: 0.07,
            ln_delay: -20.7,
            ln_z: 0.3,
            end: StubEnd::Short,
        },
    ];
    let prior = |v: f64| Normal::new(v, (0.01 * v.abs()).max(1e-12));
    faults.map(|f| f.map(prior)).to_vec()
}

/// A branch in the band, one below it and one above.
fn antenna() -> Antenna {
    let branch = |g: f64, f: f64, q: f64| Branch {
        ln_g: g.ln(),
        ln_f: f.ln(),
        ln_q: q.ln(),
    };
    let below = branch(0.3, 7e5, 1.5);
    let branches = [
        branch(1.2, 1.4e8, 9.0),
        below,
        branch(0.5, 5e8, 20.0),
        Branch::NONE,
    ];
    Antenna::new(branches)
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
