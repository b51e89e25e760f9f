//! Tables with a header. No standard covers them; the rows are forms that people have (common
//! practice). Every table of the first test holds the same two readings: 30 + 40j ohm at 100 MHz
//! and 50 ohm at 200 MHz. By hand, 30 + 40j in 50 ohm reflects (−20 + 40j)/(80 + 40j) = 0.5j.

use lineproof_core::formats::{
    FrequencyUnit, Measurement, Network, NoticeCode, ReadError, ReadOptions, delimited, read,
};
use lineproof_core::sweep::Sweep;
use num_complex::Complex64;

/// Half a unit of the last digit printed in the tables.
const PRINTED: f64 = 6e-4;

fn read_table(text: &str) -> Result<Measurement, ReadError> {
    read(text.as_bytes(), "a.csv", &ReadOptions::default())
}

#[track_caller]
fn one_port(measurement: &Measurement) -> &Sweep {
    match &measurement.network {
        Network::OnePort(sweep) => sweep,
        Network::TwoPort(_) => panic!("read as two ports"),
    }
}

/// What the table shows, and the table.
#[rustfmt::skip]
const SAME: &[(&str, &str)] = &[
    ("resistance and reactance, commas", "Frequency (MHz),R (ohm),X (ohm)\n100,30,40\n200,50,0\n"),
    ("blanks after commas", "Frequency (MHz), R (ohm), X (ohm)\n100, 30, 40\n200, 50, 0\n"),
    ("semicolons", "Frequency [MHz];R [ohm];X [ohm]\n100;30;40\n200;50;0\n"),
    ("semicolons at line ends", "Frequency [MHz];R [ohm];X [ohm];\n100;30;40;\n200;50;0;\n"),
    ("semicolons, decimal commas", "Frequency [MHz];R [ohm];X [ohm]\n100,0;30,0;40,0\n200,0;50,0;0,0\n"),
    ("tabs", "Freq/MHz\tRs\tXs\n100\t30\t40\n200\t50\t0\n"),
    ("tabs, decimal commas", "Freq/MHz\tRs\tXs\n100,0\t30\t40\n200\t50\t0,0\n"),
    ("blanks", "Frequency (MHz) R (ohm) X (ohm)\n100 30 40\n200 50 0\n"),
    ("aligned columns", "  freq MHz    Re(Z)    Im(Z)\n  100.0       30.0     40.0\n  200.0       50.0      0.0\n"),
    ("blanks, decimal commas", "f(MHz) R X\n100,0 30,0 40,0\n200,0 50,0 0,0\n"),
    ("hertz", "Frequency (Hz),R,X\n100000000,30,40\n200000000,50,0\n"),
    ("gigahertz and kilohm", "freq_ghz,R (kohm),X (kohm)\n0.1,0.03,0.04\n0.2,0.05,0\n"),
    ("unit that only one reading allows", "Frequency,R,X\n100000000,30,40\n200000000,50,0\n"),
    ("real and imaginary part", "Freq MHz,Re(S11),Im(S11)\n100,0,0.5\n200,0,0\n"),
    ("names in words", "Frequency MHz;Real;Imaginary\n100;0;0.5\n200;0;0\n"),
    ("magnitude and angle", "Freq MHz,|S11|,S11 phase (deg)\n100,0.5,90\n200,0,0\n"),
    ("angle in radians", "Freq MHz,Magnitude,Phase (rad)\n100,0.5,1.570796\n200,0,0\n"),
    ("decibels and angle", "Freq MHz,S11 (dB),S11 (deg)\n100,-6.0206,90\n200,-80,0\n"),
    ("return loss and phase", "Frequency (MHz),Return loss (dB),Phase\n100,6.0206,90\n200,80,0\n"),
    ("return loss with the sign of decibels", "Frequency (MHz),RL (dB),Phase\n100,-6.0206,90\n200,-80,0\n"),
    ("magnitude and angle of the impedance", "Frequency (MHz),|Z| (ohm),theta (deg)\n100,50,53.1301\n200,50,0\n"),
    ("more columns than needed", "Frequency (MHz),SWR,R (ohm),X (ohm),|Z|\n100,3,30,40,50\n200,1,50,0,50\n"),
    ("lines before the header", "Antenna analyser\nDate,2024-05-01\n\nFrequency (MHz),R,X\n100,30,40\n200,50,0\n"),
    ("header in a comment", "# Frequency (MHz), R (ohm), X (ohm)\n100, 30, 40\n200, 50, 0\n"),
    ("quoted", "\"Frequency (MHz)\",\"R, series\",\"X, series\"\n\"100\",\"30\",\"40\"\n\"200\",\"50\",\"0\"\n"),
    ("byte-order mark, CR LF", "\u{FEFF}Frequency (MHz),R,X\r\n100,30,40\r\n200,50,0\r\n"),
    ("falling", "Frequency (MHz),R,X\n200,50,0\n100,30,40\n"),
    ("cut off", "Frequency (MHz),R,X\n100,30,40\n200,50,0\n300,5"),
];

#[test]
fn tables_of_all_kinds_say_the_same() {
    for &(what, text) in SAME {
        let m = read_table(text).unwrap_or_else(|e| panic!("{what}: {e}"));
        let sweep = one_port(&m);
        for (got, wanted) in sweep.freq_hz().iter().zip([100e6, 200e6]) {
            assert!(
                (got - wanted).abs() < 1.0,
                "{what}: got {got}, wanted {wanted}"
            );
        }
        let wanted = [Complex64::new(0.0, 0.5), Complex64::ZERO];
        for (got, wanted) in sweep.reflection().iter().zip(wanted) {
            assert!(
                (got - wanted).norm() < PRINTED,
                "{what}: got {got}, wanted {wanted}"
            );
        }
    }
}

#[test]
fn what_was_assumed_is_said() {
    let rows = [
        (
            "Freq MHz,re,im\n1,0,0.5\n",
            NoticeCode::Reference,
            "reflections are taken as referred to 50 ohm",
        ),
        (
            "Freq MHz,RL,Phase deg\n1,-6,90\n",
            NoticeCode::Columns,
            "by their sign the numbers in `RL` are decibels of the magnitude (negative when passive)",
        ),
        (
            "Freq MHz,SWR,R,X\n1,3,30,40\n",
            NoticeCode::Columns,
            "read from `R`, `X`; not used: `SWR`",
        ),
        (
            "Freq MHz;R;X\n1;30,5;40\n",
            NoticeCode::NumberStyle,
            "commas are read as decimal points",
        ),
    ];
    for (text, code, message) in rows {
        let m = read_table(text).unwrap();
        let found = m
            .notices
            .iter()
            .any(|n| n.code == code && n.text == message);
        assert!(found, "{text:?}: {:?}", m.notices);
    }
    assert_eq!(read_table(SAME[0].1).unwrap().notices, []);
}

#[test]
fn two_ports() {
    let m = read_table("freq MHz,S11 re,S11 im,S21 dB,S21 deg\n1,0.1,0.2,-6.0206,-90\n").unwrap();
    let Network::TwoPort(through) = &m.network else {
        panic!("read as one port")
    };
    assert!((through.s21()[0] - Complex64::new(0.0, -0.5)).norm() < PRINTED);
    assert_eq!(through.reverse(), None);
}

/// Content, message, line and column.
type Refused<'a> = (&'a str, &'a str, Option<(usize, usize)>);

#[rustfmt::skip]
const REFUSED: &[Refused<'_>] = &[
    ("Frequency,R,X\n100,30,40\n200,50,0\n", "the header does not say the unit of frequency, and the highest can be 200 kHz or 200 MHz", Some((1, 1))),
    ("R,Frequency,X\n1,50,40\n", "the header does not say the unit of frequency, and the highest can be 50 MHz or 50 GHz", Some((1, 3))),
    ("R (ohm),X (ohm)\n30,40\n", "no column of frequencies in the header `R (ohm),X (ohm)`", Some((1, 1))),
    ("Frequency (MHz),Freq (kHz),R,X\n1,1,30,40\n", "`Frequency (MHz)` and `Freq (kHz)` can both be the frequency", Some((1, 1))),
    ("Frequency (MHz),SWR\n100,3\n", "the columns `Frequency (MHz),SWR` determine no reflection: VSWR is a magnitude alone; without the angle it can't tell impedance, length or velocity factor", Some((1, 1))),
    ("Frequency (MHz),Return loss (dB)\n100,3\n", "the columns `Frequency (MHz),Return loss (dB)` determine no reflection: a magnitude needs its angle", Some((1, 1))),
    ("Frequency (MHz),R,|X|\n100,30,40\n", "the columns `Frequency (MHz),R,|X|` determine no reflection: the reactance has no sign, so inductive and capacitive cannot be distinguished", Some((1, 1))),
    ("Frequency (MHz),|Z|\n100,30\n", "the columns `Frequency (MHz),|Z|` determine no reflection: the magnitude of an impedance needs its angle", Some((1, 1))),
    ("Frequency (MHz),apples,pears\n100,3,4\n", "the columns `Frequency (MHz),apples,pears` determine no reflection: expected R and X, real and imaginary part, or magnitude and angle", Some((1, 1))),
    ("Frequency (MHz),Magnitude,Phase\n100,0.5,1.5\n", "the angles in `Phase` can be degrees or radians: all are within 3.15 of zero", Some((1, 1))),
    ("Frequency (MHz),Magnitude,Phase (deg)\n100,-0.5,1.5\n", "magnitude -0.5 in `Magnitude` is negative", Some((1, 1))),
    ("Frequency (MHz),R,X\n100,30,40\n200,5o,0\n", "expected a number, found `5o`", Some((3, 5))),
    ("Frequency (MHz),R,X\n100,30,40\n200,50\n300,1,1\n", "a row of 2 fields under a header of 3", Some((3, 1))),
    ("Frequency (MHz);R;X\n145,000;49,123;12,345\n", "`145,000` can be read as 145.000 or 145000", Some((2, 1))),
    ("Frequency (MHz),Re,Im\n100,30,40\n", "reflection of magnitude 50.000, and 1 of 1 points are above 1.5: no passive cable reflects more than 1", Some((2, 1))),
    ("Frequency (MHz),R,X\n100,,40\n200,50,0\n", "1 of 2 points have no value (line 2), more than 3 %", Some((2, 1))),
    ("100,30,40\n200,50,0\n", "expected a Touchstone file or a table with a header, found `100,30,40`", Some((1, 1))),
];

#[test]
fn what_has_two_readings_or_none_is_refused_with_its_place() {
    for &(text, message, place) in REFUSED {
        let error = read_table(text).expect_err(text);
        assert_eq!(error.to_string(), message, "for {text:?}");
        assert!(error.help().is_some() || place.is_some(), "for {text:?}");
        let at = error.position().map(|p| (p.line, p.column));
        assert_eq!(at, place, "for {text:?}");
    }
}

#[test]
fn options_supply_what_the_header_lacks() {
    let options = ReadOptions {
        freq_unit: Some(FrequencyUnit::MHz),
        z_ref_ohm: Some(75.0),
        ..ReadOptions::default()
    };
    let m = read(b"f,re,im\n100,0,0.5\n", "a.txt", &options).unwrap();
    assert_eq!(one_port(&m).freq_hz(), [100e6]);
    assert_eq!(one_port(&m).z_ref_ohm(), 75.0);
    assert_eq!(m.notices, []);
    let error = delimited::read(b"1 2 3\n", &options).unwrap_err();
    assert_eq!(
        error.to_string(),
        "no header before the numbers `1 2 3`: expected names of the columns"
    );
}
