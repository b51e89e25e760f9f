//! Our reading of every file in `testdata/sweeps` and `testdata/touchstone` against that of
//! scikit-rf, kept in `testdata/reference/read-by-scikit-rf.csv` with its version.
//!
//! Left out: normalised Y parameters of version 1, which scikit-rf 2.2.0 multiplies by R instead
//! of dividing.

use std::collections::BTreeMap;
use std::path::PathBuf;

use lineproof_core::formats::{Measurement, Network, ReadOptions, read};
use num_complex::Complex64;

/// Rounding of two programs that convert formats in different orders.
const ROUNDING: f64 = 1e-12;

fn testdata(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/data")
        .join(name)
}

#[expect(
    clippy::disallowed_methods,
    reason = "tests read files, the core does not"
)]
fn measurement(name: &str) -> Measurement {
    let bytes = std::fs::read(testdata(name)).expect(name);
    read(&bytes, name, &ReadOptions::default()).unwrap_or_else(|e| panic!("{name}: {e}"))
}

/// Frequencies, reference, and columns in the order 11, 21, 12, 22.
fn columns(network: &Network) -> (&[f64], f64, Vec<&[Complex64]>) {
    match network {
        Network::OnePort(s) => (s.freq_hz(), s.z_ref_ohm(), vec![s.reflection()]),
        Network::TwoPort(s) => {
            let reverse = s.reverse().expect("the kept files are full two-ports");
            let columns = vec![s.s11(), s.s21(), &reverse.s12, &reverse.s22];
            (s.freq_hz(), s.z_ref_ohm(), columns)
        }
    }
}

#[test]
fn scikit_rf_reads_the_same() {
    let kept = include_str!("../data/reference/read-by-scikit-rf.csv");
    let mut files: BTreeMap<&str, Measurement> = BTreeMap::new();
    let mut compared = 0;
    for row in kept.lines().skip(3) {
        let (name, rest) = row.split_once(',').expect("a name comes first");
        let m = files.entry(name).or_insert_with(|| measurement(name));
        let (freq_hz, z_ref_ohm, columns) = columns(&m.network);
        let numbers: Vec<f64> = rest.split(',').map(|n| n.parse().expect(row)).collect();
        let (points, index) = (numbers[0] as usize, numbers[1] as usize);
        assert_eq!(freq_hz.len(), points, "{name}");
        assert!(
            (freq_hz[index] - numbers[2]).abs() <= 1e-12 * numbers[2],
            "{name}, point {index}"
        );
        assert_eq!(z_ref_ohm, numbers[3], "{name}");
        for (column, pair) in columns.iter().zip(numbers[4..].chunks_exact(2)) {
            let (got, wanted) = (column[index], Complex64::new(pair[0], pair[1]));
            let difference = (got - wanted).norm();
            assert!(
                difference < ROUNDING,
                "{name}, point {index}: got {got}, wanted {wanted}"
            );
            compared += 1;
        }
    }
    assert_eq!(
        (files.len(), compared > 300),
        (17, true),
        "{compared} values"
    );
}

#[test]
fn measured_sweeps_give_only_the_notices_that_they_deserve() {
    let cable = measurement("sweeps/paramrf/10m_cable.s2p");
    assert_eq!(cable.notices, []);
    // The opens read up to 0.001 dB above total reflection (their data set's note).
    let open = measurement("sweeps/srm-calibration/open_f.s1p");
    let texts: Vec<&str> = open.notices.iter().map(|n| n.text.as_str()).collect();
    assert!(
        texts
            .iter()
            .all(|t| t.starts_with("S11 exceeds 1 by up to 0.00")),
        "{texts:?}"
    );
    assert!(!measurement("sweeps/srm-calibration/thru_ff.s2p").reverse_is_copy);
}
