//! What a calibration left, by the ripple of a long line: from readings with known residuals.

use std::f64::consts::TAU;

use lineproof_core::calibration::ripple::{RippleError, residuals};
use lineproof_core::sweep::Sweep;
use num_complex::Complex64;

/// As in check value UN-05.
const DIRECTIVITY: f64 = 0.005;
const SOURCE_MATCH: f64 = 0.008;

/// D + (1 + T) g + M g² of a line with 20 ns there and back and little loss, ended by `end`; residuals
/// turn slowly, as an analyser's do.
fn reading(freq_hz: f64, end: f64) -> Complex64 {
    let slow = |size: f64, delay_s: f64| Complex64::from_polar(size, 0.7 - TAU * freq_hz * delay_s);
    let loss = (-0.02 * (freq_hz / 3e8).sqrt()).exp();
    let g = end * loss * Complex64::cis(-TAU * freq_hz * 20e-9);
    slow(DIRECTIVITY, 0.3e-9) + (1.0 + slow(0.004, 0.4e-9)) * g + slow(SOURCE_MATCH, 0.5e-9) * g * g
}

fn sweep(points: u32, stop_hz: f64, end: f64) -> Sweep {
    let freq_hz: Vec<f64> = (0..points)
        .map(|i| 1e6 + (stop_hz - 1e6) * f64::from(i) / f64::from(points - 1))
        .collect();
    let readings = freq_hz.iter().map(|&f| reading(f, end)).collect();
    Sweep::new(freq_hz, readings, 50.0).expect("a rising grid")
}

/// The windows take what turns slowly for straight; 0.3 ns over a window of 100 MHz are 0.2 rad.
const WINDOW_TOL: f64 = 0.03;

#[track_caller]
fn near(what: &str, got: f64, wanted: f64, tolerance: f64) {
    let off = got / wanted - 1.0;
    assert!(
        off.abs() < tolerance,
        "{what}: got {got}, wanted {wanted}, off by {off:.4}"
    );
}

#[test]
fn a_shorted_line_shows_directivity_and_source_match() {
    let found = residuals(&sweep(301, 300e6, -1.0), 50.0).unwrap();
    near("directivity", found.directivity(), DIRECTIVITY, WINDOW_TOL);
    near(
        "source match",
        found.source_match().unwrap(),
        SOURCE_MATCH,
        WINDOW_TOL,
    );
    near("round trip", found.round_trip_delay_s, 20e-9, 0.01);
    // The classical figure (check value UN-06): near total reflection half of peak to peak is D + M at
    // most, less what phases keep apart and the loss of M g².
    let sum = DIRECTIVITY + SOURCE_MATCH;
    let half = found.half_peak_to_peak;
    assert!(
        half < 1.15 * sum && half > SOURCE_MATCH - DIRECTIVITY,
        "{half} against {sum}"
    );
}

/// Check value UN-05: |S11| of an air line with a load ripples between 0.035 and 0.025, so that the
/// directivity is 0.005 and the load reflects 0.03.
#[test]
fn a_loaded_line_shows_directivity_as_the_classical_figure_does() {
    let found = residuals(&sweep(301, 300e6, 0.03), 50.0).unwrap();
    near("directivity", found.directivity(), DIRECTIVITY, WINDOW_TOL);
    near(
        "half of peak to peak",
        found.half_peak_to_peak,
        DIRECTIVITY,
        0.15,
    );
    assert_eq!(found.source_match(), None);
}

#[test]
fn too_short_a_line_and_too_coarse_steps_are_refused() {
    let short = residuals(&sweep(301, 100e6, -1.0), 50.0);
    assert!(
        matches!(short, Err(RippleError::FewTurns { .. })),
        "{short:?}"
    );
    let coarse = residuals(&sweep(28, 300e6, -1.0), 50.0);
    assert!(
        matches!(coarse, Err(RippleError::FewPoints { .. })),
        "{coarse:?}"
    );
}

/// Readings in units of a load of 50.5 ohm of the same line: 0.005 more if the line is taken for one of
/// 50.5 ohm.
#[test]
fn the_lines_impedance_counts() {
    let freq_hz: Vec<f64> = (1..=300).map(|i| 1e6 * f64::from(i)).collect();
    let readings = freq_hz.iter().map(|&f| {
        let z = 50.0 * (1.0 + reading(f, -1.0)) / (1.0 - reading(f, -1.0));
        (z - 50.5) / (z + 50.5)
    });
    let sweep = Sweep::new(freq_hz.clone(), readings.collect(), 50.5).expect("a rising grid");
    let found = residuals(&sweep, 50.0).unwrap();
    near("directivity", found.directivity(), DIRECTIVITY, WINDOW_TOL);
    let taken_for = residuals(&sweep, 50.5).unwrap().directivity();
    assert!((taken_for - DIRECTIVITY).abs() > 1e-3, "{taken_for}");
    assert!(residuals(&sweep, -50.0).is_err());
}

/// A lossless line of 75 ohm that ends in a short, read against 50: ρ = 25/125 (transmission-line
/// theory, closed form) would pass for a directivity of 0.2.
#[test]
fn a_line_of_another_impedance_is_no_measure_of_a_calibration() {
    let freq_hz: Vec<f64> = (1..=301).map(|i| 1e6 * f64::from(i)).collect();
    let reading = |f: &f64| {
        let (rho, back) = (0.2, -Complex64::cis(-TAU * f * 20e-9));
        (rho + back) / (1.0 + rho * back)
    };
    let readings = freq_hz.iter().map(reading).collect();
    let sweep = Sweep::new(freq_hz, readings, 50.0).expect("a rising grid");
    let refused = residuals(&sweep, 50.0);
    assert!(
        matches!(refused, Err(RippleError::OtherLine { directivity, .. }) if directivity > 0.15),
        "{refused:?}"
    );
    let own = residuals(&sweep, 75.0).expect("a line of its own reference");
    assert!(own.directivity() < 1e-6, "{}", own.directivity());
}
