//! A line in front of an antenna: delay, loss and impedance from one end, by physics written anew.
//!
//! The line is 60/√ε·ln(D/d) with loss as √f and f; antennas are lumped circuits in closed form. A lumped series
//! resonance is the textbook's model of a dipole near resonance (C. A. Balanis, *Antenna Theory*, 3rd ed., section 8.5);
//! what a mode adds stands beside it as a branch in parallel.

use std::f64::consts::{LN_10, TAU};

use lineproof_core::bench::{Bench, Load};
use lineproof_core::estimate::{Estimate, EstimateError, estimate};
use lineproof_core::sweep::Sweep;
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;

/// One-way delay without dispersion, s, and loss at 100 MHz, dB.
const DELAY_S: f64 = 90e-9;
const LOSS_DB: f64 = 1.1;
const LINE_OHM: f64 = 51.0;

/// Impedance of a resistance, an inductance and a capacitance in series, ohm.
fn series(ohm: f64, resonance_hz: f64, q: f64, f: f64) -> Complex64 {
    let x = f / resonance_hz;
    Complex64::new(ohm, ohm * q * (x - 1.0 / x))
}

fn parallel(parts: &[Complex64]) -> Complex64 {
    1.0 / parts.iter().map(|z| 1.0 / z).sum::<Complex64>()
}

/// Name, and impedance at a frequency, ohm.
type Antenna = (&'static str, fn(f64) -> Complex64);

fn antennas() -> [Antenna; 4] {
    [
        ("a vertical", |f| series(38.0, 145e6, 9.0, f)),
        ("a dipole and its third mode", |f| {
            parallel(&[series(70.0, 50e6, 11.0, f), series(100.0, 152e6, 20.0, f)])
        }),
        ("an antenna for two bands", |f| {
            parallel(&[series(45.0, 145e6, 12.0, f), series(60.0, 230e6, 25.0, f)])
        }),
        ("one with a capacitance across its base", |f| {
            let base = Complex64::new(0.0, -1.0 / (TAU * f * 3e-12));
            parallel(&[series(55.0, 71e6, 14.0, f), base])
        }),
    ]
}

/// γl and characteristic impedance, ohm: (1 + j) of the skin effect in series, a loss tangent across.
fn line(f: f64) -> (Complex64, Complex64) {
    let np = LOSS_DB * LN_10 / 20.0;
    let jwt = Complex64::new(0.0, TAU * f * DELAY_S);
    let skin = 0.85 * np * 2.0 * (f / 1e8).sqrt() * Complex64::new(1.0, 1.0);
    let tan_delta = 0.15 * np * 2.0 / (TAU * 1e8 * DELAY_S);
    let (along, across) = (jwt + skin, jwt * Complex64::new(1.0, -tan_delta));
    ((along * across).sqrt(), LINE_OHM * (along / across).sqrt())
}

fn swept(end: fn(f64) -> Complex64) -> Result<Estimate, EstimateError> {
    let grid: Vec<f64> = (0..801).map(|i| 1e6 + 3.7e5 * f64::from(i)).collect();
    let reflection = grid.iter().enumerate().map(|(i, &f)| {
        let (gamma_l, zc) = line(f);
        let t = gamma_l.tanh();
        let z = zc * (end(f) + zc * t) / (zc + end(f) * t);
        // noise of 66 dB below full scale, without a generator
        let noise = 5e-4 * Complex64::from_polar(1.0, 2.4 * (i * i) as f64);
        (z - 50.0) / (z + 50.0) + noise
    });
    let sweep = Sweep::new(grid.clone(), reflection.collect(), 50.0).expect("rising frequencies");
    let mut bench = Bench::new(Load::by_ohmmeter(50.0)).expect("a load");
    bench.add_antenna(sweep, "antenna").expect("one reference");
    estimate(&bench)
}

#[test]
fn the_line_is_found_whatever_antenna_is_on_it() {
    for (name, end) in antennas() {
        let found = swept(end).expect(name);
        assert!(found.converged(), "{name}");
        assert!(found.events().is_empty(), "{name}: {:?}", found.events());
        let holds = |what: &str, found: Uncertain, wanted: f64, most: f64| {
            let off = (found.value - wanted).abs();
            let place = format!("{name}, {what}: {found:?}, true {wanted}");
            assert!(off < 1.5 * found.u95() && found.u95() < most, "{place}");
        };
        let at = 1e8;
        let (gamma_l, zc) = line(at);
        let delay_s = gamma_l.im / (TAU * at);
        let loss_db = gamma_l.re * 20.0 / LN_10;
        holds("delay", found.one_way_delay_s(at), delay_s, 0.01 * delay_s);
        holds("loss", found.loss_db(at), loss_db, 0.2);
        holds("impedance", found.impedance_ohm(at), zc.re, 1.5);
    }
}

/// One that is grounded through a coil looks like a short below its band and like an open in between: no line in front
/// of it is claimed.
#[test]
fn a_grounded_antenna_is_not_guessed_at() {
    let grounded = |f: f64| {
        let coil = Complex64::new(0.05, TAU * f * 90e-9);
        parallel(&[series(52.0, 145e6, 12.0, f), coil])
    };
    let refused = swept(grounded).err();
    let is_unexplained = matches!(refused, Some(EstimateError::Unexplained { .. }));
    assert!(is_unexplained, "{refused:?}");
}
