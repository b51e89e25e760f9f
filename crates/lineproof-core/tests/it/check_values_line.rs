//! Line theory against the rows of `check-values.csv`. Each row names its source.
//!
//! Rows with the same inputs stand together. Where the published figure disagrees with the exact
//! calculation, the test asserts the recomputed value and says why; no tolerance is widened.

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, TAU};

use lineproof_core::correlated::{Correlated, propagate, propagate_second_order};
use lineproof_core::line::geometry::{self, CoaxGeometry};
use lineproof_core::line::input_impedance::{
    Termination, input_impedance_ohm, open_ohm, reflection_through_line, short_ohm,
};
use lineproof_core::line::primary::Primary;
use lineproof_core::line::{far_end, loss_law, matching, mismatch, sampling, skin, velocity};
use lineproof_core::network::residual_errors::{
    ResidualErrors, directivity_of_ripple, source_match_of_ripple,
};
use lineproof_core::sweep::{impedance_of_reflection, reflection_of_impedance};
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;

use crate::table::{check, check_recomputed};

/// The speed of light that two textbook examples use, m/s.
const TEXTBOOK_LIGHT_M_S: f64 = 3e8;

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

fn real(re: f64) -> Complex64 {
    c(re, 0.0)
}

fn nepers(db: f64) -> f64 {
    loss_law::neper_of_db(db)
}

// ------------------------------------------------------------------- line constants: LL

#[test]
fn pozar_lossy_line() {
    let line = Primary {
        r_ohm_m: 5.0,
        l_h_m: 0.2e-6,
        g_s_m: 0.01,
        c_f_m: 300e-12,
    };
    let secondary = line.secondary(500e6).unwrap();
    check("LL-01", secondary.alpha_np_m());
    check("LL-02", secondary.beta_rad_m());
    check("LL-03", secondary.z0_ohm.re);
    // The solution prints the size of the imaginary part; its sign is + here, since R/L < G/C.
    check("LL-04", secondary.z0_ohm.im);
}

#[test]
fn sadiku_telephone_line() {
    let line = Primary {
        r_ohm_m: 30e-3,
        l_h_m: 100e-6,
        g_s_m: 0.0,
        c_f_m: 20e-9,
    };
    let secondary = line.secondary(1000.0).unwrap();
    check("LL-05", secondary.z0_ohm.norm());
    check("LL-06", secondary.z0_ohm.arg().to_degrees());
    check("LL-07", secondary.alpha_np_m());
    check("LL-08", secondary.beta_rad_m());
    check("LL-09", secondary.phase_velocity_m_s(1000.0).unwrap());
}

#[test]
fn sadiku_distortionless_line() {
    let line = Primary::distortionless(60.0, 0.020, 0.6 * TEXTBOOK_LIGHT_M_S);
    check("LL-10", line.r_ohm_m);
    check("LL-11", line.l_h_m);
    check("LL-12", line.g_s_m);
    check("LL-13", line.c_f_m);
}

#[test]
fn pozar_semi_rigid_cable() {
    let cable = CoaxGeometry {
        conductivity_s_per_m: 5.813e7,
        shield_conductivity_s_per_m: 5.813e7,
        ..CoaxGeometry::copper(0.91e-3, 3.02e-3, 2.08, 0.0004)
    };
    check("LL-14", cable.external_inductance_h_m());
    check("LL-15", cable.capacitance_f_m());
    check("LL-16", cable.strong_skin_resistance_ohm_m(1e9));
    check("LL-17", cable.primary(1e9).g_s_m);
    // The problem takes the strong-skin formula and leaves internal inductance out.
    let textbook = Primary {
        r_ohm_m: cable.strong_skin_resistance_ohm_m(1e9),
        l_h_m: cable.external_inductance_h_m(),
        ..cable.primary(1e9)
    };
    let low_loss = textbook.low_loss(1e9).unwrap();
    check("LL-18", low_loss.z0_ohm.re);
    check("LL-19", loss_law::db_of_neper(low_loss.alpha_np_m()));
    check_recomputed("LL-19", loss_law::db_of_neper(low_loss.alpha_np_m()));
}

#[test]
fn skin_depth_and_surface_resistance_of_copper() {
    check("LL-20", skin::skin_depth_m(10e9, 5.813e7));
    check("LL-21", skin::surface_resistance_ohm(1e9, 5.813e7));
}

#[test]
fn round_wire_from_direct_current_to_strong_skin_effect() {
    for (resistance, inductance, freq_hz) in [
        ("LL-22", "LL-22b", 1e3),
        ("LL-23", "LL-23b", 1e5),
        ("LL-24", "LL-24b", 1e6),
        ("LL-25", "LL-25b", 1e8),
    ] {
        let z = skin::round_wire_ohm_m(freq_hz, 0.90e-3, 5.8e7);
        check(resistance, z.re);
        check_recomputed(resistance, z.re);
        check(inductance, z.im / (TAU * freq_hz));
        check_recomputed(inductance, z.im / (TAU * freq_hz));
    }
}

#[test]
fn impedance_of_a_cable_from_a_kilohertz_up() {
    let cable = Primary {
        r_ohm_m: 0.1,
        l_h_m: 252e-9,
        g_s_m: 1e-9,
        c_f_m: 101e-12,
    };
    for (re, im, freq_hz) in [
        ("LL-26", "LL-26b", 1e3),
        ("LL-27", "LL-27b", 1e4),
        ("LL-28", "LL-28b", 1e6),
        ("LL-29", "LL-29b", 1e8),
    ] {
        let z0 = cable.z0_ohm(freq_hz).unwrap();
        check(re, z0.re);
        check_recomputed(re, z0.re);
        check(im, z0.im);
        check_recomputed(im, z0.im);
    }
}

// ------------------------------------------------------------------- input impedance: ZI, ZN

#[test]
fn pozar_load_through_three_tenths_of_a_wave() {
    let load = c(40.0, 70.0);
    let reflection = reflection_of_impedance(load, 100.0);
    check("ZI-01", reflection.norm());
    check("ZI-02", reflection.arg().to_degrees());
    check("ZI-03", mismatch::swr(reflection.norm()).unwrap());
    check(
        "ZI-04",
        mismatch::return_loss_db(reflection.norm()).unwrap(),
    );
    let gamma_l = c(0.0, 0.3 * TAU);
    let z = input_impedance_ohm(Termination::Impedance(load), real(100.0), gamma_l).unwrap();
    check("ZI-05", z.re);
    check("ZI-06", z.im);
    // The other way round the chart: turn the reflection, then convert.
    let turned = impedance_of_reflection(reflection_through_line(reflection, gamma_l), 100.0);
    check("ZI-05", turned.re);
    check("ZI-06", turned.im);
}

#[test]
fn sadiku_thirty_metres_at_two_megahertz() {
    let load = c(60.0, 40.0);
    let reflection = reflection_of_impedance(load, 50.0);
    check("ZI-07", reflection.norm());
    check("ZI-08", mismatch::swr(reflection.norm()).unwrap());
    let angle = TAU * 2e6 * 30.0 / (0.6 * TEXTBOOK_LIGHT_M_S);
    let end = Termination::Impedance(load);
    let z = input_impedance_ohm(end, real(50.0), c(0.0, angle)).unwrap();
    check("ZI-09", z.re);
    check("ZI-10", z.im);
}

#[test]
fn sadiku_lossy_line_of_complex_impedance() {
    let end = Termination::Impedance(c(20.0, 50.0));
    let gamma_l = c(nepers(8.0), 1.0) * 2.0;
    let z = input_impedance_ohm(end, c(60.0, 40.0), gamma_l).unwrap();
    check("ZI-11", z.re);
    check("ZI-12", z.im);
}

#[test]
fn reflections_of_exam_loads() {
    let exam = reflection_of_impedance(c(25.0, 25.0), 50.0);
    check("ZI-13", exam.norm());
    check("ZI-14", exam.arg().to_degrees());
    check("ZI-15", mismatch::swr(exam.norm()).unwrap());
    let ulaby = reflection_of_impedance(c(30.0, -50.0), 50.0);
    check("ZI-16", ulaby.norm());
    check("ZI-17", ulaby.arg().to_degrees());
    check("ZI-18", mismatch::swr(ulaby.norm()).unwrap());
}

#[test]
fn distributed_line_of_the_circuit_simulator() {
    let line = Primary {
        r_ohm_m: 0.2,
        l_h_m: 252e-9,
        g_s_m: 0.0,
        c_f_m: 101e-12,
    };
    let ends = [
        Termination::Open,
        Termination::Short,
        Termination::resistance(100.0),
    ];
    for (freq_hz, ids) in [
        (
            1e6,
            [
                ("ZN-1-open-re", "ZN-1-open-im"),
                ("ZN-1-short-re", "ZN-1-short-im"),
                ("ZN-1-100-re", "ZN-1-100-im"),
            ],
        ),
        (
            3e6,
            [
                ("ZN-3-open-re", "ZN-3-open-im"),
                ("ZN-3-short-re", "ZN-3-short-im"),
                ("ZN-3-100-re", "ZN-3-100-im"),
            ],
        ),
        (
            5e6,
            [
                ("ZN-5-open-re", "ZN-5-open-im"),
                ("ZN-5-short-re", "ZN-5-short-im"),
                ("ZN-5-100-re", "ZN-5-100-im"),
            ],
        ),
    ] {
        let secondary = line.secondary(freq_hz).unwrap();
        for (end, (re, im)) in ends.into_iter().zip(ids) {
            let z = input_impedance_ohm(end, secondary.z0_ohm, secondary.gamma_l(10.0)).unwrap();
            check(re, z.re);
            check(im, z.im);
        }
    }
}

// ------------------------------------------------------------------- quarter and eighth wave

#[test]
fn quarter_wave_as_a_transformer() {
    check("QW-02", matching::quarter_wave_z0_ohm(50.0, 100.0));
    check("QW-03", matching::quarter_wave_input_ohm(75.0, 50.0));
    let lossy = c(nepers(0.5), FRAC_PI_2);
    let z = input_impedance_ohm(Termination::resistance(100.0), real(50.0), lossy).unwrap();
    check("QW-04", z.re);
    check_recomputed("QW-04", z.re);
}

#[test]
fn open_eighth_wave_with_loss() {
    for (db, re, im, norm) in [
        (0.1, "EW-02-R", "EW-02-X", "EW-02-abs"),
        (1.0, "EW-03-R", "EW-03-X", "EW-03-abs"),
    ] {
        let z = open_ohm(real(50.0), c(nepers(db), FRAC_PI_4)).unwrap();
        check(re, z.re);
        check(im, z.im);
        check(norm, z.norm());
    }
}

#[test]
fn fringing_of_an_open_end() {
    let seconds = far_end::open_end_delay_s(50e-15, 50.0);
    check("EW-06", seconds * 1e12);
    let reflection = far_end::open_end_reflection(50e-15, 1e9, 50.0);
    check("EW-07", reflection.arg().to_degrees());
    let fringed = far_end::open_end(0.15e-12, 100e6);
    let z = input_impedance_ohm(fringed, real(50.0), c(0.0, FRAC_PI_4)).unwrap();
    check("EW-04", z.im);
}

#[test]
fn cheng_short_of_twice_the_length() {
    // Impedance and phase constant are those of the rows before, unrounded.
    let z0 = (54.6f64 * 103.0).sqrt();
    let angle = (103.0f64 / 54.6).sqrt().atan();
    let z = short_ohm(real(z0), c(0.0, 2.0 * angle)).unwrap();
    check("OS-03", z.im);
}

// ------------------------------------------------------------------- velocity and length: VF

#[test]
fn lengths_for_an_angle() {
    let feet = |freq_hz, vf| {
        matching::feet_of_metres(matching::length_for_angle_m(FRAC_PI_2, freq_hz, vf))
    };
    check("VF-01", feet(7.15e6, 0.66));
    check("VF-02", feet(7.15e6, 0.84));
    let quarter = |freq_hz, vf| matching::length_for_angle_m(FRAC_PI_2, freq_hz, vf);
    check("VF-03", quarter(14.1e6, 0.66));
    check("VF-04", 2.0 * quarter(14.10e6, 1.0));
    check("VF-05", quarter(7.2e6, 0.80));
    check("VF-08", quarter(7.1e6, 0.66));
}

#[test]
fn delays_and_velocity_factors() {
    check("VF-06", velocity::velocity_factor_of_dielectric(2.25));
    check("VF-07", velocity::one_way_delay_s(1.0, 0.66) * 1e9);
    let transmission = velocity::group_delay_s((-36f64).to_radians(), 10e6);
    check("VF-09", transmission * 1e9);
    let reflection = velocity::one_way_delay_of_reflection_s((-72f64).to_radians(), 10e6);
    check("VF-10", reflection * 1e9);
    check("VF-11", velocity::mean_z0_ohm(5.05e-9, 101e-12));
}

// ------------------------------------------------------------------- geometry: GE

#[test]
fn impedance_of_a_cross_section() {
    check("GE-01", geometry::z0_ohm(0.90e-3, 2.94e-3, 3.4));
    // ln(D/d) = 1 leaves the constant alone.
    check("GE-02", geometry::z0_ohm(1.0, 1f64.exp(), 1.0));
    let eccentric = geometry::eccentric_z0_ohm(3.0, 10.0, 1.0, 1.0).unwrap();
    check("GE-03", eccentric);
    check("GE-04", geometry::z0_ohm(3.04e-3, 7.00e-3, 1.0));
    check("GE-08", geometry::capacitance_f_m(50.0, 0.66) * 1e12);
    check("GE-09", geometry::strand_factor(7).unwrap() * 1.00);
}

#[test]
fn first_higher_mode() {
    let connector = |inner_mm: f64, outer_mm: f64| {
        geometry::te11_cutoff_hz(inner_mm * 1e-3, outer_mm * 1e-3, 1.0) / 1e9
    };
    check("GE-TE-3.5", connector(1.5199, 3.5));
    check_recomputed("GE-TE-3.5", connector(1.5199, 3.5));
    check("GE-TE-2.92", connector(1.27, 2.92));
    check_recomputed("GE-TE-2.92", connector(1.27, 2.92));
    // The table prints 56.5, 73.3 and 135.7 GHz for these three, 0.1 to 0.2 % below the exact
    // root: disagree.
    check_recomputed("GE-TE-2.4", connector(1.0423, 2.4));
    check_recomputed("GE-TE-1.85", connector(0.8036, 1.85));
    check_recomputed("GE-TE-1.00", connector(0.434, 1.0));
}

#[test]
fn pozar_higher_mode_of_a_semi_rigid_cable() {
    const INCH_M: f64 = 0.0254;
    let (inner, outer) = (0.0645 * INCH_M, 0.215 * INCH_M);
    // The book reads k·a = 0.45 from a chart and prints 549.4 per metre and 17.7 GHz; the exact
    // root gives 5 % more: disagree.
    let cutoff_hz = geometry::te11_cutoff_hz(inner, outer, 2.2);
    check_recomputed("GE-06", cutoff_hz / 1e9);
    let light = lineproof_core::constants::SPEED_OF_LIGHT_M_S;
    check_recomputed("GE-05", TAU * cutoff_hz * 2.2f64.sqrt() / light);
    // The note on this example takes 0.205 in.
    let approximate = geometry::te11_cutoff_approx_hz(inner, 0.205 * INCH_M, 2.2);
    check("GE-07", approximate / 1e9);
}

// ------------------------------------------------------------------- mismatch: SW, RL

#[test]
fn loss_with_swr_by_the_handbook() {
    let total =
        |db, swr| mismatch::handbook_total_loss_db(db, mismatch::reflection_of_swr(swr)).unwrap();
    check("SW-01", total(1.0, 3.0));
    check("SW-02", total(1.0, 3.0) - 1.0);
    check("SW-03", total(3.0, 10.0));
}

#[test]
fn swr_return_loss_and_mismatch_loss() {
    let at_input = mismatch::reflection_through_loss(mismatch::reflection_of_swr(3.0), 3.0);
    check("SW-04", mismatch::swr(at_input).unwrap());
    let of_two = mismatch::reflection_of_swr(2.0);
    check("SW-05", mismatch::mismatch_loss_db(of_two).unwrap());
    check("SW-06", mismatch::swr_of_voltages(100.0, 50.0).unwrap());
    let of_one_and_a_half = mismatch::reflection_of_swr(1.5);
    check(
        "SW-07",
        mismatch::return_loss_db(of_one_and_a_half).unwrap(),
    );
    check("RL-01", mismatch::near_return_loss_db(3.0, 6.0));
}

#[test]
fn voltage_current_and_power() {
    check("SW-08", mismatch::peak_voltage_v(100.0, 50.0, 3.0));
    check("SW-09", mismatch::peak_current_a(100.0, 50.0, 3.0));
    check(
        "SW-10",
        mismatch::voltage_limited_power_w(1000.0, 50.0, 2.0),
    );
}

#[test]
fn exact_loss_of_a_short_line_with_high_swr() {
    let line = Primary {
        r_ohm_m: 0.1,
        l_h_m: 252e-9,
        g_s_m: 0.0,
        c_f_m: 101e-12,
    };
    let secondary = line.secondary(1.8e6).unwrap();
    for (id, load_ohm) in [("SW-11", 5.0), ("SW-12", 500.0)] {
        let loss =
            mismatch::total_loss_db(real(load_ohm), secondary.z0_ohm, secondary.gamma_l(3.0));
        check(id, loss.unwrap());
        check_recomputed(id, loss.unwrap());
    }
}

// ------------------------------------------------------------------- matching, units: MA

#[test]
fn stubs_and_units() {
    check("MA-01", matching::shorted_stub_ohm(50.0, FRAC_PI_4));
    check("MA-02", matching::open_stub_ohm(50.0, 30f64.to_radians()));
    check("MA-03", loss_law::db_of_neper(1.0));
    check("MA-04", loss_law::db_100m_of_db_100ft(3.9));
    check("MA-05", loss_law::scaled_loss(10.0, 100e6, 25e6, 0.5));
}

// ------------------------------------------------------------------- range of a sweep: TD

#[test]
fn range_and_resolution_of_a_sweep() {
    let step_hz = sampling::step_hz(1e6, 2.001e9, 201).unwrap();
    check("TD-01", sampling::alias_free_time_s(step_hz) * 1e9);
    // The guide rounds the speed of light to 3e8 m/s.
    let guide = TEXTBOOK_LIGHT_M_S / lineproof_core::constants::SPEED_OF_LIGHT_M_S;
    check("TD-02", sampling::transmission_range_m(step_hz, guide));
    check("TD-03", sampling::reflection_range_m(step_hz, guide));
    let resolution = sampling::resolution_m(1e9, 0.66, sampling::KAISER_6_WIDTH);
    check("TD-04", resolution);
    check(
        "TD-05",
        sampling::step_for_reflection_range_hz(50.0, 0.66) / 1e6,
    );
    check("TD-09", impedance_of_reflection(real(0.2), 50.0).re);
}

// ------------------------------------------------------------------- uncertainty: UN

#[test]
fn limits_of_a_return_loss_reading() {
    let errors = ResidualErrors {
        directivity: mismatch::reflection_of_return_loss(35.0),
        source_match: mismatch::reflection_of_return_loss(30.0),
        ..ResidualErrors::default()
    };
    let (low, high) = errors.return_loss_limits_db(20.0);
    check("UN-01", low);
    check("UN-02", high.unwrap());
}

#[test]
fn residual_errors_of_a_reading() {
    let errors = ResidualErrors {
        directivity: 0.01,
        tracking: 0.005,
        source_match: 0.02,
        repeatability: 0.002,
    };
    check("UN-03", errors.root_sum_square(0.2));
    check("UN-04", errors.worst_case(0.2));
    check("UN-05", directivity_of_ripple(0.035, 0.025));
    check("UN-06", source_match_of_ripple(1.012, 0.992, 0.005));
}

#[test]
fn gum_example_h2_complex_impedance() {
    let correlation = [[1.0, -0.36, 0.86], [-0.36, 1.0, -0.65], [0.86, -0.65, 1.0]];
    let inputs = Correlated::new(
        [
            Uncertain::new(4.9990, 0.0032),
            Uncertain::new(19.661e-3, 0.0095e-3),
            Uncertain::new(1.04446, 0.00075),
        ],
        |i, j| correlation[i][j],
    );
    let z = propagate(&inputs, |&[v, i, phi]| {
        [v / i * phi.cos(), v / i * phi.sin(), v / i]
    });
    check("UN-H2-R", z.component(0).value);
    check("UN-H2-X", z.component(1).value);
    check("UN-H2-|Z|", z.component(2).value);
    check("UN-H2-u(R)", z.component(0).u);
    check("UN-H2-u(X)", z.component(1).u);
    check("UN-H2-u(|Z|)", z.component(2).u);
    check("UN-H2-r(R,X)", z.correlation(0, 1).unwrap());
    check("UN-H2-r(R,Z)", z.correlation(0, 2).unwrap());
    check("UN-H2-r(X,Z)", z.correlation(1, 2).unwrap());
}

#[test]
fn mean_square_of_a_small_reflection() {
    for (mean, spread, re) in [
        ("UN-101-0-y", "UN-101-0-u", 0.0),
        ("UN-101-0.01-y", "UN-101-0.01-u", 0.01),
        ("UN-101-0.05-y", "UN-101-0.05-u", 0.05),
    ] {
        let parts = [Uncertain::new(re, 0.005), Uncertain::new(0.0, 0.005)];
        let reflection = Correlated::new(parts, |_, _| 0.0);
        let square = propagate_second_order(&reflection, |&[re, im]| re * re + im * im);
        // The table is in units of 10⁻⁶.
        check(mean, square.value * 1e6);
        check(spread, square.u * 1e6);
    }
}
