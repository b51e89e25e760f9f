//! Check values of the one-port calibration: rows CA.
//!
//! Each row's source stands in `testdata/reference/check-values.csv`.

use lineproof_core::calibration::error_terms::{Equation, ErrorTerms, Solution, solve};
use lineproof_core::calibration::standard::{Cubic, End, Offset, Standard};
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;

use crate::table::check;

/// The open of the rows: type N, coefficients as they are printed.
const OPEN: Standard = Standard {
    end: End::Open(Cubic {
        coefficients: [89.939e-15, 2536.8e-27, -264.99e-36, 13.4e-45],
        u: 0.0,
    }),
    offset: offset(40.856e-12, 50.0, 0.93e9),
};

/// The short of the rows.
const SHORT: Standard = Standard {
    end: End::Short(Cubic {
        coefficients: [3.3998e-12, -496.4808e-24, 34.8314e-33, -0.7847e-42],
        u: 0.0,
    }),
    offset: offset(45.955e-12, 49.992, 1.087e9),
};

const fn offset(delay_s: f64, ohm: f64, loss_ohm_per_s: f64) -> Offset {
    Offset {
        one_way_delay_s: Uncertain {
            value: delay_s,
            u: 0.0,
        },
        impedance_ohm: Uncertain { value: ohm, u: 0.0 },
        loss_ohm_per_s,
    }
}

#[test]
fn described_standards() {
    let rows = [
        (OPEN, 1e8, "CA-open-100M-re", "CA-open-100M-im"),
        (OPEN, 1e9, "CA-open-1000M-re", "CA-open-1000M-im"),
        (OPEN, 3e9, "CA-open-3000M-re", "CA-open-3000M-im"),
        (SHORT, 1e8, "CA-short-100M-re", "CA-short-100M-im"),
        (SHORT, 1e9, "CA-short-1000M-re", "CA-short-1000M-im"),
        (SHORT, 3e9, "CA-short-3000M-re", "CA-short-3000M-im"),
    ];
    for (standard, freq_hz, re, im) in rows {
        let reflection = standard.reflection(freq_hz, 50.0).unwrap();
        check(re, reflection.re);
        check(im, reflection.im);
    }
}

/// Standards and raw readings of the rows CA-3T.
const THREE: [(Complex64, Complex64); 3] = [
    (
        Complex64::new(0.841113749809, -0.540774644355),
        Complex64::new(0.337319658519, -0.990779787495),
    ),
    (
        Complex64::new(-0.834794536189, 0.547028679217),
        Complex64::new(-0.192233179809, 0.751439995667),
    ),
    (
        Complex64::new(0.003, -0.002),
        Complex64::new(0.0509115111185, -0.0231156983987),
    ),
];

/// Those of the rows CA-LS.
const FIVE: [(Complex64, Complex64); 5] = [
    (
        Complex64::new(0.841113749809, -0.540774644355),
        Complex64::new(0.338319658519, -0.990779787495),
    ),
    (
        Complex64::new(-0.834794536189, 0.547028679217),
        Complex64::new(-0.192233179809, 0.750939995667),
    ),
    (
        Complex64::new(0.003, -0.002),
        Complex64::new(0.0512115111185, -0.0227156983987),
    ),
    (
        Complex64::new(0.362357754477, -0.932039085967),
        Complex64::new(-0.3397678091, -0.917339735119),
    ),
    (
        Complex64::new(0.0, 0.5),
        Complex64::new(0.315163000591, 0.329846975057),
    ),
];

fn solved(pairs: &[(Complex64, Complex64)]) -> Solution {
    let equations: Vec<Equation> = pairs
        .iter()
        .map(|&(reflection, raw)| Equation {
            reflection,
            raw,
            weight: 1.0,
        })
        .collect();
    solve(&equations).expect("standards that differ")
}

fn check_terms(terms: &ErrorTerms, rows: [[&str; 2]; 3]) {
    let found = [terms.directivity, terms.source_match, terms.tracking];
    for (found, [re, im]) in found.into_iter().zip(rows) {
        check(re, found.re);
        check(im, found.im);
    }
}

#[test]
fn three_standards() {
    let terms = solved(&THREE).terms;
    check_terms(
        &terms,
        [
            ["CA-3T-e00-re", "CA-3T-e00-im"],
            ["CA-3T-e11-re", "CA-3T-e11-im"],
            ["CA-3T-e10e01-re", "CA-3T-e10e01-im"],
        ],
    );
    let device = Complex64::new(0.191891991113, -0.13661515289);
    let corrected = terms.correct(device).unwrap();
    check("CA-3T-dut", corrected.re);
    assert!(corrected.im.abs() < 1e-9, "got {corrected}");
    let ideal = [1.0, -1.0, 0.0].map(Complex64::from);
    let pairs: Vec<_> = ideal.into_iter().zip(THREE.map(|(_, raw)| raw)).collect();
    let as_ideal = solved(&pairs).terms.correct(device).unwrap();
    check("CA-3T-ideal", (as_ideal - 0.2).norm());
}

#[test]
fn five_standards_by_least_squares() {
    check_terms(
        &solved(&FIVE).terms,
        [
            ["CA-LS-e00-re", "CA-LS-e00-im"],
            ["CA-LS-e11-re", "CA-LS-e11-im"],
            ["CA-LS-e10e01-re", "CA-LS-e10e01-im"],
        ],
    );
}
