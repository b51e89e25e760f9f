//! What must hold for every line and every two-port, tried on random ones.

use lineproof_core::line::input_impedance::{
    Termination, input_impedance_ohm, input_reflection, open_ohm, short_ohm,
};
use lineproof_core::line::mismatch;
use lineproof_core::line::primary::Primary;
use lineproof_core::network::conversion::TwoPort;
use lineproof_core::network::one_port::renormalise;
use lineproof_core::network::{Chain, Matrix2, Scattering};
use num_complex::Complex64;
use proptest::prelude::*;

/// Rounding of a few operations on numbers near 1.
const ROUNDING: f64 = 1e-12;
/// Rounding of an inverse in the middle: the two-ports drawn here are conditioned below 10⁴.
const INVERSE_TOL: f64 = 1e-9;

proptest! {
    #[test]
    fn a_passive_line_has_positive_roots(line in any_line(), freq_hz in any_freq()) {
        let secondary = line.secondary(freq_hz).unwrap();
        prop_assert!(secondary.z0_ohm.re > 0.0);
        prop_assert!(secondary.alpha_np_m() >= 0.0 && secondary.beta_rad_m() > 0.0);
        // And they are roots: their product and quotient are Z' and Y'.
        let series = secondary.z0_ohm * secondary.gamma_per_m;
        let wanted = line.series_ohm_m(freq_hz);
        prop_assert!((series / wanted - 1.0).norm() < ROUNDING);
        let shunt = secondary.gamma_per_m / secondary.z0_ohm;
        prop_assert!((shunt / line.shunt_s_m(freq_hz) - 1.0).norm() < ROUNDING);
    }

    #[test]
    fn a_piece_of_line_is_passive_and_reciprocal(
        line in any_line(), freq_hz in any_freq(), length_m in 0.0..300.0, z_ref in 20.0..300.0,
    ) {
        let secondary = line.secondary(freq_hz).unwrap();
        let s = Scattering::line(secondary.z0_ohm, secondary.gamma_l(length_m), z_ref).unwrap();
        prop_assert!(s.largest_gain() <= 1.0 + ROUNDING, "gain {}", s.largest_gain());
        prop_assert_eq!(s.s12, s.s21);
        prop_assert_eq!(s.s11, s.s22);
    }

    #[test]
    fn passive_ends_look_passive(
        line in any_line(), freq_hz in any_freq(), length_m in 0.0..300.0,
        load in any_passive_load(),
    ) {
        let secondary = line.secondary(freq_hz).unwrap();
        let gamma_l = secondary.gamma_l(length_m);
        for end in [Termination::Open, Termination::Short, Termination::Impedance(load)] {
            let reflection = input_reflection(end, secondary.z0_ohm, gamma_l, 50.0).unwrap();
            prop_assert!(reflection.norm() <= 1.0 + ROUNDING, "{:?}: {}", end, reflection);
        }
    }

    #[test]
    fn open_and_short_have_the_line_between_them(
        line in any_line(), freq_hz in any_freq(), length_m in 0.1..30.0,
    ) {
        let secondary = line.secondary(freq_hz).unwrap();
        let gamma_l = secondary.gamma_l(length_m);
        let open = open_ohm(secondary.z0_ohm, gamma_l).unwrap();
        let short = short_ohm(secondary.z0_ohm, gamma_l).unwrap();
        let square = secondary.z0_ohm * secondary.z0_ohm;
        prop_assert!((open * short / square - 1.0).norm() < ROUNDING);
    }

    #[test]
    fn two_pieces_are_one_piece_of_both_lengths(
        line in any_line(), freq_hz in any_freq(), first_m in 0.0..30.0, second_m in 0.0..30.0,
        load in any_passive_load(),
    ) {
        let secondary = line.secondary(freq_hz).unwrap();
        let (z0, piece) = (secondary.z0_ohm, |length_m| secondary.gamma_l(length_m));
        let end = Termination::Impedance(load);
        let middle = input_impedance_ohm(end, z0, piece(second_m)).unwrap();
        let twice = input_reflection(Termination::Impedance(middle), z0, piece(first_m), 50.0);
        let once = input_reflection(end, z0, piece(first_m + second_m), 50.0);
        // Up to some 10⁴ rad of phase are rounded before they are taken apart.
        prop_assert!((twice.unwrap() - once.unwrap()).norm() < INVERSE_TOL);
    }

    #[test]
    fn no_line_loses_less_than_nothing(
        line in any_line(), freq_hz in any_freq(), length_m in 0.0..100.0,
        load in any_passive_load(),
    ) {
        let secondary = line.secondary(freq_hz).unwrap();
        let gamma_l = secondary.gamma_l(length_m);
        if let Some(loss) = mismatch::total_loss_db(load, secondary.z0_ohm, gamma_l) {
            // A reactive load takes so little power that its share is rounded.
            let share = load.re / load.norm();
            prop_assert!(loss > -1e-9 / share, "{loss} dB into {load}");
        }
    }

    #[test]
    fn a_cascade_is_undone_by_its_inverse(left in any_two_port(), right in any_two_port()) {
        let (left, right) = (left.chain().unwrap(), right.chain().unwrap());
        let back = (left * right).between(Chain::THROUGH, right).unwrap();
        let difference = (back.matrix() - left.matrix()).largest_singular_value();
        prop_assert!(difference < INVERSE_TOL * left.matrix().largest_singular_value());
    }

    #[test]
    fn every_description_leads_back(s in any_two_port()) {
        let refs = s.z_ref_ohm;
        for (what, back) in [
            ("chain", s.chain().unwrap().scattering(refs)),
            ("impedance", s.impedance().unwrap().scattering(refs)),
            ("admittance", s.admittance().unwrap().scattering(refs)),
            ("hybrid", s.hybrid().unwrap().scattering(refs)),
            ("inverse hybrid", s.inverse_hybrid().unwrap().scattering(refs)),
        ] {
            let difference = (back.unwrap().matrix() - s.matrix()).largest_singular_value();
            prop_assert!(difference < INVERSE_TOL, "{what}: {difference:e}");
        }
    }

    #[test]
    fn renormalisation_leads_back_and_keeps_passivity(
        s in any_two_port(), z1 in 5.0..500.0, z2 in 5.0..500.0,
    ) {
        let moved = s.renormalised([z1, z2]).unwrap();
        prop_assert!(moved.largest_gain() <= 1.0 + ROUNDING);
        let back = moved.renormalised(s.z_ref_ohm).unwrap();
        let difference = (back.matrix() - s.matrix()).largest_singular_value();
        prop_assert!(difference < INVERSE_TOL, "{difference:e}");
    }

    #[test]
    fn a_reflection_moved_between_references_comes_back(
        load in any_passive_load(), from in 5.0..500.0f64, to in 5.0..500.0f64,
    ) {
        let before: Complex64 = (load - from) / (load + from);
        let moved: Complex64 = renormalise(before, from, to).unwrap();
        let wanted = (load - to) / (load + to);
        prop_assert!((moved - wanted).norm() < ROUNDING);
        prop_assert!((renormalise(moved, to, from).unwrap() - before).norm() < ROUNDING);
    }

    #[test]
    fn a_two_port_taken_from_its_input_leaves_the_load(
        s in any_two_port(), load in any_reflection(),
    ) {
        let input = s.input_reflection(load).unwrap();
        let back = s.load_reflection(input).unwrap();
        prop_assert!((back - load).norm() < INVERSE_TOL / (s.s12 * s.s21).norm());
    }

    #[test]
    fn exchanging_ports_twice_changes_nothing(s in any_two_port()) {
        prop_assert_eq!(s.reversed().reversed(), s);
        let chain = s.chain().unwrap().reversed().unwrap();
        let by_s = s.reversed().chain().unwrap();
        let difference = (chain.matrix() - by_s.matrix()).largest_singular_value();
        prop_assert!(difference < INVERSE_TOL * by_s.matrix().largest_singular_value());
    }
}

#[test]
fn without_loss_all_power_comes_back() {
    let lossless = Primary {
        r_ohm_m: 0.0,
        l_h_m: 250e-9,
        g_s_m: 0.0,
        c_f_m: 100e-12,
    };
    let secondary = lossless.secondary(123e6).unwrap();
    assert_eq!(secondary.alpha_np_m(), 0.0);
    let gamma_l = secondary.gamma_l(3.3);
    let reflection = input_reflection(Termination::Open, secondary.z0_ohm, gamma_l, 50.0);
    assert!((reflection.unwrap().norm() - 1.0).abs() < ROUNDING);
    let loss = mismatch::total_loss_db(Complex64::new(9.0, 4.0), secondary.z0_ohm, gamma_l);
    assert!(loss.unwrap().abs() < ROUNDING);
}

#[test]
fn of_no_length_every_line_is_a_through_connection() {
    let z0 = Complex64::new(93.0, -7.0);
    let chain = Chain::line(z0, Complex64::ZERO).unwrap();
    assert_eq!(chain, Chain::THROUGH);
    let s = Scattering::line(z0, Complex64::ZERO, 50.0).unwrap();
    assert_eq!(s.s11, Complex64::ZERO);
    assert!((s.s21 - 1.0).norm() < ROUNDING);
}

/// Primary constants from far better to far worse than any cable, losses included.
fn any_line() -> impl Strategy<Value = Primary> {
    (1e-3..10.0, 100e-9..800e-9, 0.0..1e-3, 30e-12..200e-12).prop_map(
        |(r_ohm_m, l_h_m, g_s_m, c_f_m)| Primary {
            r_ohm_m,
            l_h_m,
            g_s_m,
            c_f_m,
        },
    )
}

/// 100 Hz to 10 GHz, evenly in logarithms.
fn any_freq() -> impl Strategy<Value = f64> {
    (2.0..10.0).prop_map(|exponent| 10f64.powf(exponent))
}

fn any_passive_load() -> impl Strategy<Value = Complex64> {
    (0.01..1000.0, -1000.0..1000.0).prop_map(|(re, im)| Complex64::new(re, im))
}

/// Within the unit circle.
fn any_reflection() -> impl Strategy<Value = Complex64> {
    (0.0..1.0, -3.2..3.2).prop_map(|(r, phase)| Complex64::from_polar(r, phase))
}

/// Passive, not reciprocal, far from singular: something passes in both directions.
fn any_two_port() -> impl Strategy<Value = Scattering> {
    let reflections = [any_part(), any_part()];
    let through = [any_through(), any_through()];
    let references = [20.0..200.0, 20.0..200.0];
    (reflections, through, references).prop_map(|([s11, s22], [s12, s21], z_ref_ohm)| {
        let matrix = Matrix2([[s11, s12], [s21, s22]]);
        let scale = 0.98 / matrix.largest_singular_value().max(0.98);
        let [[s11, s12], [s21, s22]] = matrix.0;
        let scaled = Matrix2([[s11 * scale, s12 * scale], [s21 * scale, s22 * scale]]);
        Scattering::new(scaled, z_ref_ohm).expect("positive references")
    })
}

fn any_part() -> impl Strategy<Value = Complex64> {
    (0.0..0.9, -3.2..3.2).prop_map(|(r, phase)| Complex64::from_polar(r, phase))
}

fn any_through() -> impl Strategy<Value = Complex64> {
    (0.05..0.9, -3.2..3.2).prop_map(|(r, phase)| Complex64::from_polar(r, phase))
}
