//! Stubs: a reactance across the line, a notch, and a match.
//!
//! Matching with one shunt stub: D. M. Pozar, Microwave Engineering, 4th ed., section 5.2, written with
//! admittances. The load is turned along the line until its conductance is that of the line; the
//! stub cancels the susceptance that is left.

use std::f64::consts::PI;

use num_complex::Complex64;

use super::{Cable, SectionError};
use crate::line::loss_law::neper_of_db;
use crate::line::matching::{open_stub_angle_rad, shorted_stub_angle_rad};

/// How a stub ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StubEnd {
    /// Nothing.
    Open,
    /// Inner conductor and shield joined.
    Short,
}

/// One way to match with a stub.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Matching {
    /// From the load to the stub, rad.
    pub distance_rad: f64,
    /// The stub, rad.
    pub stub_rad: f64,
}

/// Shortest angle at which a stub has this reactance, rad, 0 to π.
pub fn stub_angle_rad(end: StubEnd, z0_ohm: f64, reactance_ohm: f64) -> f64 {
    match end {
        StubEnd::Open => open_stub_angle_rad(z0_ohm, reactance_ohm),
        StubEnd::Short => shorted_stub_angle_rad(z0_ohm, reactance_ohm),
    }
}

/// Both ways to match `load_ohm` to a line of `line_ohm` with a stub of `stub_ohm` across it, the
/// one with the shorter stub first. A matched load needs none.
///
/// # Errors
/// [`SectionError::Reactive`] for a load that takes no power.
pub fn match_with_stub(
    load_ohm: Complex64,
    line_ohm: f64,
    stub_ohm: f64,
    end: StubEnd,
) -> Result<Vec<Matching>, SectionError> {
    if load_ohm.re <= 0.0 || !load_ohm.is_finite() {
        return Err(SectionError::Reactive { ohm: load_ohm.re });
    }
    let reflection = (load_ohm - line_ohm) / (load_ohm + line_ohm);
    let size = reflection.norm();
    if size < 1e-9 {
        return Ok(Vec::new());
    }
    // At the stub the reflection Γe^(−2jθ) must have conductance 1: cos of its angle is −|Γ|.
    let wanted = (-size).acos();
    let mut ways: Vec<Matching> = [wanted, -wanted]
        .into_iter()
        .map(|angle| {
            let there = Complex64::from_polar(size, angle);
            let susceptance = ((1.0 - there) / (1.0 + there)).im / line_ohm;
            Matching {
                distance_rad: (0.5 * (reflection.arg() - angle)).rem_euclid(PI),
                stub_rad: stub_angle_rad(end, stub_ohm, 1.0 / susceptance),
            }
        })
        .collect();
    ways.sort_by(|a, b| a.stub_rad.total_cmp(&b.stub_rad));
    Ok(ways)
}

/// How deep a stub of an odd (open) or even (shorted) number of quarter waves across a line of
/// `system_ohm` cuts, dB. At its resonance it is Z0 tanh αl, so its loss limits the notch:
/// 20·log(1 + Z/(2R)). `None` if its loss is not known.
pub fn notch_depth_db(cable: Cable, length_m: f64, system_ohm: f64) -> Option<f64> {
    let loss_np = neper_of_db(cable.loss_db_per_m * length_m);
    (loss_np > 0.0).then(|| {
        let resistance = cable.z0_ohm.value * loss_np.tanh();
        20.0 * (1.0 + system_ohm / (2.0 * resistance)).log10()
    })
}

#[cfg(test)]
mod tests {
    use std::f64::consts::TAU;

    use super::*;

    fn wavelengths(turns: f64) -> f64 {
        TAU * turns
    }

    /// Pozar, example 5.2: 60 − j80 ohm to 50 ohm with shorted stubs: 0.110 λ and 0.260 λ from the
    /// load, stubs 0.095 λ and 0.405 λ. From memory; the book reads a chart to 0.001 λ.
    #[test]
    fn pozar_5_2() {
        let load = Complex64::new(60.0, -80.0);
        let ways = match_with_stub(load, 50.0, 50.0, StubEnd::Short).unwrap();
        let wanted = [(0.110, 0.095), (0.260, 0.405)];
        for (way, (distance, stub)) in ways.iter().zip(wanted) {
            assert!(
                (way.distance_rad - wavelengths(distance)).abs() < wavelengths(0.0011),
                "{way:?}"
            );
            assert!(
                (way.stub_rad - wavelengths(stub)).abs() < wavelengths(0.0011),
                "{way:?}"
            );
        }
    }

    /// Whatever the load, line and stub together show the line's impedance.
    #[test]
    fn the_match_is_one() {
        for (r, x) in [(12.0, 40.0), (200.0, -10.0), (50.0, 75.0)] {
            for end in [StubEnd::Open, StubEnd::Short] {
                for way in match_with_stub(Complex64::new(r, x), 50.0, 75.0, end).unwrap() {
                    let rho = Complex64::new(r - 50.0, x) / Complex64::new(r + 50.0, x);
                    let there = rho * Complex64::from_polar(1.0, -2.0 * way.distance_rad);
                    let line = (1.0 - there) / (1.0 + there) / 50.0;
                    let reactance = match end {
                        StubEnd::Open => -75.0 / way.stub_rad.tan(),
                        StubEnd::Short => 75.0 * way.stub_rad.tan(),
                    };
                    let sum = line + Complex64::new(0.0, reactance).inv();
                    assert!((sum - 0.02).norm() < 1e-12, "{sum}");
                }
            }
        }
        assert!(match_with_stub(Complex64::new(0.0, 5.0), 50.0, 50.0, StubEnd::Open).is_err());
    }

    /// A stub of 0.1 dB is 50·tanh(0.0115) = 0.576 ohm: 20·log(1 + 43.4) = 32.9 dB.
    #[test]
    fn loss_limits_a_notch() {
        let depth = notch_depth_db(super::super::tests::cable(0.66), 2.0, 50.0).unwrap();
        assert!((depth - 32.95).abs() < 0.05, "{depth}");
    }
}
