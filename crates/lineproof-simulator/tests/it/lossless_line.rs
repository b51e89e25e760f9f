//! Whole simulations of an ideal bench against the closed forms of a lossless line
//! (D. M. Pozar, *Microwave Engineering*, section 2.3, from memory):
//! open Z = −jZ₀ cot βl, short Z = jZ₀ tan βl, load Z = Z₀ (R + jZ₀ tan βl)/(Z₀ + jR tan βl).

use std::f64::consts::TAU;

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::reflection_of_impedance;
use lineproof_simulator::{Body, Cable, Dielectric, Instrument, Kit, Scenario, linear_grid};
use num_complex::Complex64;

/// Rounding of some 200 matrix products.
const REFLECTION_TOL: f64 = 1e-11;
const Z0_OHM: f64 = 75.0;
const LENGTH_M: f64 = 3.0;
const SPEED_M_S: f64 = 299_792_458.0;

fn ideal_bench() -> Scenario {
    let cable = Cable::of_impedance(Z0_OHM, Dielectric::SolidPe, 3.7e-3).lossless();
    Scenario {
        roughness: 0.0,
        ..Scenario::new(cable, LENGTH_M)
            .plugged_with(None)
            .measured_with(Instrument::PERFECT)
            .ended_by(&[FarEnd::Open, FarEnd::Short, FarEnd::Load])
            .on_grid(linear_grid(1e6, 500e6, 101))
    }
}

fn closed_form(far_end: FarEnd, freq_hz: f64) -> Complex64 {
    let phase_rad = TAU * freq_hz * LENGTH_M * 2.28f64.sqrt() / SPEED_M_S;
    let jt = Complex64::new(0.0, phase_rad.tan());
    let input_ohm = match far_end {
        FarEnd::Open => Z0_OHM / jt,
        FarEnd::Short => Z0_OHM * jt,
        FarEnd::Load => Z0_OHM * (50.0 + Z0_OHM * jt) / (Z0_OHM + 50.0 * jt),
    };
    reflection_of_impedance(input_ohm, 50.0)
}

#[test]
fn every_far_end_gives_the_closed_form() {
    let result = ideal_bench().simulate(1).unwrap();
    for (far_end, sweep) in &result.sweeps {
        for (&f, &got) in sweep.freq_hz().iter().zip(sweep.reflection()) {
            let wanted = closed_form(*far_end, f);
            let difference = (got - wanted).norm();
            assert!(
                difference < REFLECTION_TOL,
                "{far_end} at {f} Hz: got {got}, wanted {wanted}, difference {difference:e}"
            );
        }
    }
}

#[test]
fn through_sweep_of_a_matched_line_is_a_pure_delay() {
    let cable = Cable::of_impedance(50.0, Dielectric::Ptfe, 1.5e-3).lossless();
    let mut scenario = ideal_bench().with_body(Body::sound(cable, LENGTH_M));
    scenario.through = true;
    let through = scenario.simulate(1).unwrap().through.unwrap();
    for (i, &f) in through.freq_hz().iter().enumerate() {
        let wanted = Complex64::cis(-TAU * f * LENGTH_M * 2.07f64.sqrt() / SPEED_M_S);
        assert!((through.s21()[i] - wanted).norm() < REFLECTION_TOL);
        assert!(through.s11()[i].norm() < REFLECTION_TOL);
    }
}

#[test]
fn a_broken_cable_looks_like_a_shorter_open_one() {
    let whole = ideal_bench();
    let broken = whole.clone().with_body(Body::broken(whole.cable, 2.0));
    let shorter = whole.clone().with_body(Body::sound(whole.cable, 2.0));
    let broken = broken.simulate(1).unwrap();
    let wanted = shorter.simulate(1).unwrap();
    for far_end in [FarEnd::Open, FarEnd::Load] {
        assert_eq!(broken.sweep(far_end), wanted.sweep(FarEnd::Open));
    }
}

#[test]
fn fringing_makes_the_open_line_look_longer() {
    // Row EW-06 of check-values.csv: 50 fF on 50 ohm is 2.5 ps.
    let fringing = Kit {
        open_capacitance_f: 50e-15,
        ..Kit::IDEAL
    };
    let seen = fringing.terminal(FarEnd::Open, 100e6).reflection();
    let extra_s = -seen.arg() / (2.0 * TAU * 100e6);
    assert!((extra_s - 2.5e-12).abs() < 0.01e-12, "got {extra_s:e} s");
}
