//! The time domain against the rows of `check-values.csv` and against scikit-rf.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use std::f64::consts::TAU;

use lineproof_core::bench::{Analyser, EndedSweep, FarEnd};
use lineproof_core::sweep::Sweep;
use lineproof_core::time_domain::band_pass::band_pass;
use lineproof_core::time_domain::distance::Scale;
use lineproof_core::time_domain::layer_peeling::{Depth, peel};
use lineproof_core::time_domain::low_pass::{apparent_ohm, low_pass};
use lineproof_core::time_domain::window::Kaiser;
use lineproof_core::time_domain::{Known, KnownLoss, views};
use num_complex::Complex64;

use crate::table::{check, rows};

// ------------------------------------------------------------------- windows: TD-W

#[test]
fn windows_as_tables_have_them() {
    check("TD-W0-width", Kaiser::RECTANGULAR.width());
    check("TD-W0-side", Kaiser::RECTANGULAR.side_lobe_db());
    check("TD-W0-rise", Kaiser::RECTANGULAR.rise());
    check("TD-W0-ring", Kaiser::RECTANGULAR.step_ring_db());
    check("TD-W6-width", Kaiser::USUAL.width());
    check("TD-W6-side", Kaiser::USUAL.side_lobe_db());
    check("TD-W6-rise", Kaiser::USUAL.rise());
    check("TD-W13-width", Kaiser::SMOOTH.width());
}

/// The guide rounds its rise, and counts side lobes of steps and of the widest window another way;
/// so the exact window counts. The recomputed column has a sampled window, some hundredths of a
/// decibel off in what a step overshoots by; the last column is the continuous one: SciPy's `quad`, and
/// 0.217234 (the second extreme of sin x/x) over sinh(13)/13.
#[test]
fn windows_that_a_guide_has_otherwise_are_those_recomputed() {
    let cases = [
        (
            "TD-W6-ring",
            Kaiser::USUAL.step_ring_db(),
            0.04,
            -63.07861583,
        ),
        (
            "TD-W13-side",
            Kaiser::SMOOTH.side_lobe_db(),
            0.04,
            -97.87855722,
        ),
        ("TD-W13-rise", Kaiser::SMOOTH.rise(), 5e-4, 1.46173842),
        (
            "TD-W13-ring",
            Kaiser::SMOOTH.step_ring_db(),
            0.04,
            -126.30920,
        ),
    ];
    for (id, got, tolerance, by_quadrature) in cases {
        let wanted = rows()[id].recomputed.unwrap();
        assert!(
            (got - wanted).abs() < tolerance,
            "{id}: got {got}, wanted {wanted}"
        );
        assert!(
            (got - by_quadrature).abs() < 2e-5,
            "{id}: got {got}, wanted {by_quadrature}"
        );
    }
}

// ------------------------------------------------------------------- layers: TD-06 to TD-08

/// Reflected samples of 50 | 75 | 25 | 50 ohm, each section one sample long there and back, from
/// reflections of −1/5 and so on by the bounce diagram: the inverse transform of the line's closed form.
fn layers(samples: usize) -> Vec<f64> {
    let [r0, r1, r2] = [0.2, -0.5, 1.0 / 3.0];
    let spectrum = (0..samples).map(|k| {
        let z = Complex64::cis(-TAU * k as f64 / samples as f64);
        let second = (r1 + r2 * z) / (1.0 + r1 * r2 * z);
        (r0 + second * z) / (1.0 + r0 * second * z)
    });
    let spectrum: Vec<Complex64> = spectrum.collect();
    (0..samples)
        .map(|n| {
            let turn = |(k, x): (usize, &Complex64)| {
                (x * Complex64::cis(TAU * (k * n) as f64 / samples as f64)).re
            };
            spectrum.iter().enumerate().map(turn).sum::<f64>() / samples as f64
        })
        .collect()
}

#[test]
fn layers_are_masked_in_a_step_and_not_when_peeled() {
    let samples = layers(128);
    for (id, sample) in [
        ("TD-07-0", samples[0]),
        ("TD-07-1", samples[1]),
        ("TD-07-2", samples[2]),
        ("TD-07-3", samples[3]),
        ("TD-07-4", samples[4]),
    ] {
        check(id, sample);
    }
    check("TD-06", apparent_ohm(samples[0] + samples[1], 50.0));
    let peeled = peel(&samples, 50.0, 0.0, 8);
    check("TD-08-1", peeled.impedance_ohm[0].value);
    check("TD-08-2", peeled.impedance_ohm[1].value);
    check("TD-08-3", peeled.impedance_ohm[2].value);
    assert_eq!(peeled.depth, Depth::All);
}

#[test]
fn peeling_says_where_it_ends_and_why() {
    let mut open_end = layers(128);
    open_end[20] = 1.0;
    let peeled = peel(&open_end, 50.0, 0.0, 64);
    assert_eq!((peeled.impedance_ohm.len(), peeled.depth), (20, Depth::End));
    // noise of 0.01 a sample is 2·0.01·√n of ln Z: 0.2 after 100 sections without masking
    let peeled = peel(&[0.0; 200], 50.0, 0.01, 200);
    assert_eq!(
        (peeled.impedance_ohm.len(), peeled.depth),
        (100, Depth::Noise)
    );
}

// ------------------------------------------------------------------- transforms

/// An echo of size `size` after `two_way_s`.
fn echo(size: f64, two_way_s: f64, freq_hz: &[f64]) -> Sweep {
    let reflection = freq_hz
        .iter()
        .map(|f| size * Complex64::cis(-TAU * f * two_way_s))
        .collect();
    Sweep::new(freq_hz.to_vec(), reflection, 50.0).unwrap()
}

fn grid(start_hz: f64, step_hz: f64, points: usize) -> Vec<f64> {
    (0..points).map(|i| start_hz + step_hz * i as f64).collect()
}

fn peak(times_s: impl Iterator<Item = f64>, values: &[f64]) -> (f64, f64) {
    times_s
        .zip(values)
        .map(|(t, &v)| (t, v))
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
        .unwrap()
}

/// Of time: half a sample. Of size: what a sample beside the peak is lower by, and what a spline
/// through points off the grid is off by.
const PEAK_TOL: f64 = 0.01;

#[test]
fn an_echo_stands_where_it_is_with_its_sign_on_any_grid() {
    for (start_hz, step_hz) in [(1e6, 1e6), (50e3, 0.75e6), (1.3e6, 1e6)] {
        let sweep = echo(-0.3, 80e-9, &grid(start_hz, step_hz, 400));
        let signed = low_pass(&sweep, Some(-0.3), Some(40e-9), Kaiser::USUAL).unwrap();
        let (time_s, size) = peak(signed.times_s(), &signed.impulse());
        assert!(
            (time_s - 80e-9).abs() <= signed.step_s,
            "{time_s} at {start_hz}"
        );
        assert!((size + 0.3).abs() < 0.3 * PEAK_TOL, "{size} at {start_hz}");
        let step = signed.step();
        let late = signed.times_s().position(|t| t > 120e-9).unwrap();
        assert!((step[late] + 0.3).abs() < 0.3 * PEAK_TOL, "{}", step[late]);
        assert!(step[late / 3].abs() < 0.3 * PEAK_TOL, "{}", step[late / 3]);
    }
}

#[test]
fn a_high_start_has_a_size_and_no_sign() {
    let sweep = echo(-0.3, 80e-9, &grid(100e6, 1e6, 401));
    let too_high = low_pass(&sweep, None, Some(40e-9), Kaiser::USUAL).unwrap_err();
    assert_eq!(too_high.highest_hz, 6.25e6);
    let seen = band_pass(&sweep, Kaiser::USUAL).unwrap();
    let times = (0..seen.envelope.len()).map(|i| seen.step_s * i as f64);
    let (time_s, size) = peak(times, &seen.envelope);
    assert!((time_s - 80e-9).abs() <= seen.step_s, "{time_s}");
    assert!((size - 0.3).abs() < 0.3 * PEAK_TOL, "{size}");
}

#[test]
fn distances_go_there_and_come_back() {
    let scale = Scale {
        velocity_factor: 0.66,
        one_way_delay_s: Some(10e-9),
    };
    let end_m = 0.66 * 299_792_458.0 * 10e-9;
    assert!((scale.from_near_m(20e-9) - end_m).abs() < 1e-12);
    assert!((scale.from_far_m(15e-9).unwrap() - 0.25 * end_m).abs() < 1e-12);
    assert!((scale.two_way_s(end_m) - 20e-9).abs() < 1e-20);
}

/// A 75-ohm line with skin effect in closed form, Z = Z₀√(1 + (1 − j)δ) and γ alike, open: the loss
/// makes its step rise by ohms, and taken out it leaves a level line.
#[test]
fn a_rise_that_loss_makes_is_not_taken_for_impedance() {
    let (z0_ohm, one_way_s, np_at_100mhz) = (75.0, 40e-9, 0.12);
    let freq_hz = grid(0.5e6, 1.0e6, 500);
    let reflection = freq_hz
        .iter()
        .map(|f| {
            let np = np_at_100mhz * (f / 1e8_f64).sqrt();
            let delta = 2.0 * np / (TAU * f * one_way_s);
            let factor = (1.0 + Complex64::new(delta, -delta)).sqrt();
            let far = (Complex64::new(0.0, -2.0 * TAU * f * one_way_s) * factor).exp();
            let rho = (z0_ohm * factor - 50.0) / (z0_ohm * factor + 50.0);
            (rho + far) / (1.0 + rho * far)
        })
        .collect();
    let ended = EndedSweep {
        far_end: FarEnd::Open,
        sweep: Sweep::new(freq_hz, reflection, 50.0).unwrap(),
        label: "closed form".to_owned(),
    };
    let known = Known {
        far_load_ohm: 50.0,
        one_way_delay_s: Some(one_way_s),
        velocity_factor: None,
        loss: Some(KnownLoss {
            at_hz: 1e8,
            np: np_at_100mhz,
        }),
        analyser: Analyser::POCKET,
        window: Kaiser::USUAL,
    };
    let seen = views(&ended, &known);
    let at = |two_way_s: f64| *seen.rows.iter().find(|r| r.two_way_s >= two_way_s).unwrap();
    let (early, late) = (at(10e-9), at(70e-9));
    let rise = late.apparent_ohm.unwrap() - early.apparent_ohm.unwrap();
    let peeled = [early, late].map(|row| row.peeled_ohm.unwrap().value);
    assert!(rise > 1.8, "{rise}");
    // a tenth of the rise is left by going to first order in the loss
    assert!((peeled[1] - peeled[0]).abs() < 0.1 * rise, "{peeled:?}");
    assert!((peeled[0] / z0_ohm - 1.0).abs() < 0.005, "{peeled:?}");
}

/// The referee's impulse response of the measured 10 m cable's open end and of a line in closed form.
#[test]
fn impulse_responses_as_scikit_rf_has_them() {
    let table = include_str!("../data/reference/impulse-scikit-rf.csv");
    let mut lines = table.lines().filter(|l| !l.starts_with('#')).skip(1);
    let mut compared = 0;
    for (mode, beta) in [("low", 6.0), ("low", 13.0), ("band", 6.0)] {
        let first_hz = if mode == "low" { 1e6 } else { 200e6 };
        let sweep = layered_line(&grid(first_hz, 1e6, 200));
        let (step_s, values) = if mode == "low" {
            // the same line reflects (Z − 50)/(Z + 50) of its far end, 50 | 75 | 25 | open, at 0 Hz: 1
            let signed = low_pass(&sweep, Some(1.0), None, Kaiser { beta }).unwrap();
            let from_0 = signed
                .times_s()
                .position(|t| t > -0.5 * signed.step_s)
                .unwrap();
            (signed.step_s, signed.samples[from_0..].to_vec())
        } else {
            let seen = band_pass(&sweep, Kaiser { beta }).unwrap();
            (seen.step_s, seen.envelope)
        };
        for sample in 0..40 {
            let line = lines.next().unwrap();
            let fields: Vec<&str> = line.split(',').collect();
            assert_eq!((fields[0], fields[1].parse::<f64>().unwrap()), (mode, beta));
            let wanted_s: f64 = fields[2].parse().unwrap();
            let wanted: f64 = fields[3].parse().unwrap();
            let got = values[4 * sample];
            let at_s = step_s * 4.0 * sample as f64;
            assert!((at_s - wanted_s).abs() < 1e-18, "{at_s} {wanted_s}");
            assert!((got - wanted).abs() < 1e-12, "{line}: {got}");
            compared += 1;
        }
    }
    assert_eq!(compared, 120);
    assert_eq!(lines.next(), None);
}

/// 50 | 75 | 25 ohm | open, sections of 10 ns there and back, 0.02 Np there and back each: as
/// `gen/time_with_scikit_rf.py` has it.
fn layered_line(freq_hz: &[f64]) -> Sweep {
    let reflection = freq_hz
        .iter()
        .map(|f| {
            let way = Complex64::cis(-TAU * f * 10e-9) * (-0.02f64).exp();
            let third = way;
            let second = (-0.5 + third) / (1.0 - 0.5 * third);
            let first = second * way;
            (0.2 + first) / (1.0 + 0.2 * first)
        })
        .collect();
    Sweep::new(freq_hz.to_vec(), reflection, 50.0).unwrap()
}
