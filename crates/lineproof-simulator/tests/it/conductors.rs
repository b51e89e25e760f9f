//! Internal impedance and line constants against the check values.

use std::f64::consts::PI;

use lineproof_simulator::{Cable, round_wire_ohm_m};

use crate::table::check;

#[test]
fn round_wire_has_the_tabulated_resistance_and_inductance() {
    for (resistance, inductance, freq_hz) in [
        ("LL-22", "LL-22b", 1e3),
        ("LL-23", "LL-23b", 1e5),
        ("LL-24", "LL-24b", 1e6),
        ("LL-25", "LL-25b", 1e8),
    ] {
        let z = round_wire_ohm_m(freq_hz, 0.45e-3, 5.8e7);
        check(resistance, z.re);
        check(inductance, z.im / (2.0 * PI * freq_hz));
    }
}

#[test]
fn a_semi_rigid_cable_has_the_textbook_line_constants() {
    let cable = Cable {
        inner_diameter_m: 0.91e-3,
        outer_diameter_m: 3.02e-3,
        eps_r: 2.08,
        tan_delta: 4e-4,
        conductivity_s_per_m: 5.813e7,
        shield_thickness_m: 0.3e-3,
        braid_factor: 1.0,
        strand_factor: 1.0,
        corrosion_factor: 1.0,
        roughness: 0.0,
        tan_delta_exponent: 0.0,
        cladding_m: None,
    };
    let omega_rad_s = 2.0 * PI * 1e9;
    check("LL-15", cable.shunt_s_m(1e9).im / omega_rad_s);
    check("LL-16", cable.series_ohm_m(1e9).re);
    check("LL-17", cable.shunt_s_m(1e9).re);
    check("LL-18", cable.impedance_ohm(1e9).re);
    check("LL-19", cable.loss_db_m(1e9));
}
