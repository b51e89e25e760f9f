//! Check values of the methods: rows QW, EW, OS, RL, TP and the phase slopes of VF.
//!
//! Each row's source stands in `testdata/reference/check-values.csv`.

use std::f64::consts::{FRAC_PI_4, PI, TAU};

use lineproof_core::bench::FarEnd;
use lineproof_core::constants::{DB_PER_NEPER, SPEED_OF_LIGHT_M_S};
use lineproof_core::method::two_port;
use lineproof_core::method::{
    eighth_wave, group_delay, half_return_loss, open_short, quarter_wave, velocity,
};
use lineproof_core::network::{Scattering, length_difference};
use lineproof_core::sweep::impedance_of_reflection;
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;

use crate::table::check;

fn complex(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

#[test]
fn quarter_wave_rows() {
    check("QW-01", quarter_wave::impedance_ohm(300.0, 75.0, 0.0));
    check("QW-02", quarter_wave::impedance_ohm(50.0, 100.0, 0.0));
    check("QW-03", quarter_wave::input_impedance_ohm(75.0, 50.0, 0.0));
    let loss_np = 0.5 / DB_PER_NEPER;
    let z_in_ohm = quarter_wave::input_impedance_ohm(50.0, 100.0, loss_np);
    check("QW-04", z_in_ohm);
    check("QW-05", quarter_wave::impedance_ohm(z_in_ohm, 100.0, 0.0));
    check(
        "QW-06",
        quarter_wave::impedance_ohm(27.09603024, 100.0, loss_np),
    );
}

#[test]
fn eighth_wave_rows() {
    let delay_s = 0.25 * 1.767384 / SPEED_OF_LIGHT_M_S;
    let found = velocity::velocity_factor(Uncertain::exact(0.314), Uncertain::exact(delay_s));
    check("EW-01", found.value);
    for (row, loss_db) in [("EW-02", 0.1), ("EW-03", 1.0)] {
        let loss_np = loss_db / DB_PER_NEPER;
        let z = eighth_wave::input_impedance_ohm(50.0, loss_np, FarEnd::Open);
        check(&format!("{row}-X"), z.im);
        check(&format!("{row}-R"), z.re);
        check(&format!("{row}-abs"), z.norm());
        let back = eighth_wave::impedance_of_reactance_ohm(z.im, loss_np);
        assert!((back - 50.0).abs() < 1e-9, "{row}: {back}");
    }
    let longer_rad = eighth_wave::fringing_angle_rad(100e6, 0.15e-12, 50.0);
    let reactance_ohm = -50.0 / (FRAC_PI_4 + longer_rad).tan();
    check("EW-04", reactance_ohm);
    check("EW-05", 100.0 * (-reactance_ohm / 50.0 - 1.0));
    let low_hz = 1e3;
    let fringing_rad = eighth_wave::fringing_angle_rad(low_hz, 50e-15, 50.0);
    check("EW-06", 1e12 * fringing_rad / (TAU * low_hz));
    let open_rad = -2.0 * eighth_wave::fringing_angle_rad(1e9, 50e-15, 50.0);
    check("EW-07", open_rad.to_degrees());
}

#[test]
fn open_short_rows() {
    let lossless = open_short::solve(complex(0.0, -54.6), complex(0.0, 103.0)).unwrap();
    check("OS-01", lossless.z0_ohm.re);
    let beta_rad_m = lossless.principal_turn_rad() / 1.5;
    check("OS-02", beta_rad_m);
    check("OS-03", lossless.z0_ohm.re * (beta_rad_m * 3.0).tan());
    check("OS-04", 0.5 * PI / beta_rad_m);

    let ten_metres = open_short::solve(
        complex(0.7588395798, -35.65000033),
        complex(4.434511042, 69.89297054),
    )
    .unwrap();
    check("OS-05", ten_metres.z0_ohm.re);
    check("OS-06", ten_metres.z0_ohm.im);
    check("OS-07", ten_metres.loss_np() * DB_PER_NEPER);
    check("OS-08", ten_metres.principal_turn_rad().to_degrees());

    let thirty_metres = open_short::solve(
        complex(92.73578494, -259.0108801),
        complex(3.111012578, 8.519129817),
    )
    .unwrap();
    // The rough length that settles the branch: 30 m of solid polyethylene.
    let rough_rad = TAU * 20e6 * 30.0 / (0.66 * SPEED_OF_LIGHT_M_S);
    check("OS-09", thirty_metres.turn_near_rad(rough_rad).to_degrees());
    check("OS-10", thirty_metres.loss_np() * DB_PER_NEPER);
}

#[test]
fn return_loss_rows() {
    check("RL-01", half_return_loss::return_loss_through_db(3.0, 6.0));
    let open = complex(-0.4453837475, 0.5834749868);
    let short = complex(0.7755833876, -0.3495459184);
    let return_loss_db = |g: Complex64| -20.0 * g.norm().log10();
    let mean =
        half_return_loss::one_way_loss_db(Some(return_loss_db(open)), Some(return_loss_db(short)));
    check("RL-02", mean.unwrap());
    let z = |g| impedance_of_reflection(g, 50.0);
    let pair = open_short::solve(z(open), z(short)).unwrap();
    check("RL-03", pair.loss_np() * DB_PER_NEPER);
    let matched = Complex64::from_polar((-2.0 / DB_PER_NEPER).exp(), -1.1);
    let mean = half_return_loss::one_way_loss_db(
        Some(return_loss_db(matched)),
        Some(return_loss_db(-matched)),
    );
    check("RL-04", mean.unwrap());
}

#[test]
fn the_bias_of_half_return_loss_covers_the_worked_example() {
    // 75 ohm in 50 ohm, 1 dB: the open end of RL-03 by itself reads 1.34 dB.
    let open_db = -10.0 * complex(-0.4453837475, 0.5834749868).norm().log10();
    let bias_db = half_return_loss::bias_db(1.0 / DB_PER_NEPER, 0.2);
    assert!(
        (open_db - 1.0).abs() <= bias_db,
        "{open_db} dB read, bias {bias_db} dB"
    );
}

#[test]
fn two_port_rows() {
    let s11 = complex(0.178143375358, 0.151715003191);
    let s21 = complex(0.641029732582, -0.573190238861);
    let s = Scattering {
        s11,
        s21,
        s12: s21,
        s22: s11,
        z_ref_ohm: [50.0; 2],
    };
    let line = two_port::solve(s).unwrap();
    check("TP-01", line.z0_ohm.re);
    check("TP-02", line.loss_np() * DB_PER_NEPER);
    check("TP-03", line.principal_turn_rad().to_degrees());
    check("TP-04", -20.0 * s21.norm().log10());
    let trace = complex(-1.994476486, -0.001730456724);
    let (loss_np, phase_rad) = length_difference(trace, complex(1.0, 0.0)).unwrap();
    check("TP-05", loss_np * DB_PER_NEPER);
    check("TP-06", phase_rad.to_degrees());
}

#[test]
fn phase_slope_rows() {
    let degrees = |d: f64| d.to_radians();
    let delay_s = group_delay::transmission_delay_s(degrees(-36.0), 10e6);
    check("VF-09", 1e9 * delay_s);
    check(
        "VF-10",
        1e9 * group_delay::reflection_delay_s(degrees(-72.0), 10e6),
    );
}
