//! A caliper beside the sweeps: Z0/VF = 59.96 ln(D/d) (line theory), with D over the dielectric and
//! 1.5 wires of a braid of 0 to 0.18 mm (trade formula, from memory).

use serde_json::Value;

use crate::support::{GOOD_75, run_in, sweeps_of};

fn assay(name: &str, options: &[&str]) -> Value {
    let common = ["assay", "--json", "open.s1p", "load.s1p"];
    run_in(&sweeps_of(name, GOOD_75), &[&common, options].concat())
        .has_code(0)
        .json()
}

/// 0.62 mm in 4.00 mm and a braid of 0.09 mm: 113.8 ohm, which is 75.4 ohm at a velocity factor of 0.663.
const RIGHT: [&str; 6] = [
    "--seen-inner-diameter",
    "0.62mm",
    "--seen-dielectric-diameter",
    "4.00mm",
    "--seen-inner",
    "solid",
];

#[test]
fn a_caliper_that_agrees_says_that_the_diameters_make_the_impedance() {
    let finding = assay("caliper", &[&RIGHT[..], &["--length", "1.497m"]].concat());
    let geometry = &finding["geometry"];
    let by_caliper = geometry["impedance_over_velocity_ohm"].as_f64().unwrap();
    assert!(
        (by_caliper - 59.96 * (4.135_f64 / 0.62).ln()).abs() < 0.01,
        "{geometry}"
    );
    assert_eq!(geometry["agrees"], true, "{geometry}");
}

#[test]
fn a_wider_conductor_does_not_agree() {
    let wide = ["--seen-inner-diameter", "0.80mm", "--length", "1.497m"];
    let finding = assay("wider", &[&wide[..], &RIGHT[2..]].concat());
    assert_eq!(finding["geometry"]["agrees"], false, "{finding:#}");
}

#[test]
fn without_a_tape_the_diameters_give_the_length() {
    let finding = assay("no-tape", &RIGHT);
    let length = &finding["length"];
    assert_eq!(length["basis"], "caliper");
    let (m, u95_m) = (
        length["m"].as_f64().unwrap(),
        length["u95_m"].as_f64().unwrap(),
    );
    assert!((m - 1.497).abs() < u95_m && u95_m < 0.06, "{length}");
    assert!(finding["geometry"].get("agrees").is_none());
}
