//! The Touchstone reader: the standard's examples, and files as they occur.
//!
//! Sources. TS-1.1: Touchstone File Format Specification 1.1, EIA/IBIS Open Forum, 2002. TS-2.0:
//! version 2.0, IBIS Open Forum, 2009. TSIRD: the issue documents of version 2.1. Deviations with
//! no source named are common practice: they occur in files that people have.

use std::fmt::Write;

use lineproof_core::formats::{
    FrequencyUnit, Measurement, Network, NoticeCode, PairFormat, ReadError, ReadOptions, read,
    touchstone,
};
use lineproof_core::sweep::{Reverse, Sweep, ThroughSweep, impedance_of_reflection};
use num_complex::Complex64;
use proptest::prelude::*;

use crate::table::check;

/// Rounding of the conversions between formats.
const ROUNDING: f64 = 1e-12;

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

fn polar(magnitude: f64, deg: f64) -> Complex64 {
    Complex64::from_polar(magnitude, deg.to_radians())
}

fn read_as(name: &str, text: impl AsRef<[u8]>) -> Result<Measurement, ReadError> {
    read(text.as_ref(), name, &ReadOptions::default())
}

#[track_caller]
fn one_port(measurement: &Measurement) -> &Sweep {
    match &measurement.network {
        Network::OnePort(sweep) => sweep,
        Network::TwoPort(_) => panic!("read as two ports"),
    }
}

#[track_caller]
fn two_port(measurement: &Measurement) -> &ThroughSweep {
    match &measurement.network {
        Network::TwoPort(sweep) => sweep,
        Network::OnePort(_) => panic!("read as one port"),
    }
}

#[track_caller]
fn close(got: Complex64, wanted: Complex64) {
    assert!(
        (got - wanted).norm() < ROUNDING,
        "got {got}, wanted {wanted}"
    );
}

fn codes(measurement: &Measurement) -> Vec<NoticeCode> {
    measurement.notices.iter().map(|n| n.code).collect()
}

#[test]
fn one_port_examples_of_the_standard() {
    let ma = read_as("a.s1p", "# MHz S MA R 50\n2.000 0.894 -12.136\n").unwrap();
    let s11 = one_port(&ma).reflection()[0];
    assert_eq!(one_port(&ma).freq_hz(), [2e6]);
    check("TS-01", s11.re);
    check("TS-02", s11.im);

    let db = read_as("a.s1p", "# MHz S DB R 50\n2.000 -0.97 -12.136\n").unwrap();
    check("TS-03", one_port(&db).reflection()[0].re);

    let z = read_as("a.s1p", "# MHz Z MA R 75\n100 0.99 -4\n").unwrap();
    let sweep = one_port(&z);
    let ohm = impedance_of_reflection(sweep.reflection()[0], sweep.z_ref_ohm());
    check("TS-04", ohm.re);

    let text = "[Version] 2.0\n# MHz Z MA\n[Number of Ports] 1\n[Number of Frequencies] 1\n[Reference] 20.0\n[Network Data]\n100 74.25 -4\n[End]\n";
    let z = read_as("a.ts", text).unwrap();
    let sweep = one_port(&z);
    let ohm = impedance_of_reflection(sweep.reflection()[0], sweep.z_ref_ohm());
    check("TS-05", ohm.norm());
    assert_eq!((sweep.z_ref_ohm(), z.notices.len()), (20.0, 0));
}

#[test]
fn two_port_examples_of_the_standard() {
    // TS-1.1 example 8 as scattering parameters: S11 S21 S12 S22.
    let text = "# kHz S MA R 1\n2 .95 -26 3.57 157 .04 76 .66 -14\n";
    let s = read_as("a.s2p", text).unwrap();
    let sweep = two_port(&s);
    check("TS-07", sweep.s21()[0].norm());
    close(sweep.reverse().unwrap().s12[0], polar(0.04, 76.0));
    assert_eq!(
        (sweep.freq_hz(), sweep.z_ref_ohm()),
        ([2e3].as_slice(), 1.0)
    );

    // TS-1.1 example 8: hybrid parameters; back from S by h21 = −2 S21/((1−S11)(1+S22)+S12 S21)
    // and h11 = ((1+S11)(1+S22) − S12 S21)/(same).
    let h = read_as(
        "a.s2p",
        "# kHz H MA R 1\n2 .95 -26 3.57 157 .04 76 .66 -14\n",
    )
    .unwrap();
    let sweep = two_port(&h);
    let (s11, s21) = (sweep.s11()[0], sweep.s21()[0]);
    let (s12, s22) = (
        sweep.reverse().unwrap().s12[0],
        sweep.reverse().unwrap().s22[0],
    );
    let d = (1.0 - s11) * (1.0 + s22) + s12 * s21;
    close(-2.0 * s21 / d, polar(3.57, 157.0));
    close(2.0 * s12 / d, polar(0.04, 76.0));
    close(
        ((1.0 + s11) * (1.0 + s22) - s12 * s21) / d,
        polar(0.95, -26.0),
    );
    close(
        ((1.0 - s11) * (1.0 - s22) - s12 * s21) / d,
        polar(0.66, -14.0),
    );
}

#[test]
fn noise_blocks_are_left_out_and_named() {
    // TS-1.1, example with a bare option line: GHz S MA R 50, two network points, two noise points.
    let text = "! NETWORK PARAMETERS\n#\n2 .95 -26 3.57 157 .04 76 .66 -14\n22 .60 -144 1.30 40 .14 40 .56 -85\n! NOISE PARAMETERS\n4 .7 .64 69 .38\n18 2.7 .46 -33 .40\n";
    let m = read_as("a.s2p", text).unwrap();
    assert_eq!(two_port(&m).freq_hz(), [2e9, 22e9]);
    assert_eq!(
        codes(&m),
        [NoticeCode::AboveOne, NoticeCode::Noise]
            .map(|c| c)
            .into_iter()
            .rev()
            .collect::<Vec<_>>()
    );
    assert_eq!(
        (m.notices[0].line, m.notices[0].text.as_str()),
        (Some(6), "2 rows of noise data are ignored")
    );

    // TS-2.0 examples 17 and 18: the same with [Noise Data].
    let text = "[Version] 2.0\n# GHz S MA R 50\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n[Number of Frequencies] 2\n[Number of Noise Frequencies] 2\n[Reference] 50 50\n[Network Data]\n2 .95 -26 3.57 157 .04 76 .66 -14\n22 .60 -144 1.30 40 .14 40 .56 -85\n[Noise Data]\n4 .7 .64 69 19\n18 2.7 .46 -33 20\n[End]\n";
    let v2 = read_as("a.ts", text).unwrap();
    assert_eq!(v2.network, m.network);
    assert!(codes(&v2).contains(&NoticeCode::Noise));
}

#[test]
fn version_2_data_orders_and_halves_of_the_matrix_agree() {
    let header = |order: &str, extra: &str| {
        format!(
            "[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 2\n[Two-Port Data Order] {order}\n[Number of Frequencies] 1\n{extra}[Network Data]\n"
        )
    };
    let full = format!(
        "{}100 0.1 0.0 0.9 -0.1 0.9 -0.1 0.2 0.0\n[End]\n",
        header("21_12", "")
    );
    let lower = format!(
        "{}100 0.1 0.0\n 0.9 -0.1 0.2 0.0\n[End]\n",
        header("12_21", "[Matrix Format] Lower\n")
    );
    let upper = format!(
        "{}100 0.1 0.0 0.9 -0.1\n 0.2 0.0\n[End]\n",
        header("12_21", "[matrix format] upper\n")
    );
    let full = read_as("a.s2p", full).unwrap();
    assert_eq!(full.notices, []);
    for half in [lower, upper] {
        let half = read_as("a.s2p", &half).unwrap();
        assert_eq!((half.network, half.notices), (full.network.clone(), vec![]));
    }
    // 12_21 means N11 N12 N21 N22 (TS-2.0; TSIRD 4.1).
    let text = format!(
        "{}100 0.1 0 0.8 0 0.9 0 0.2 0\n[End]\n",
        header("12_21", "")
    );
    let m = read_as("a.s2p", text).unwrap();
    assert_eq!(two_port(&m).s21(), [c(0.9, 0.0)]);
    assert_eq!(two_port(&m).reverse().unwrap().s12, [c(0.8, 0.0)]);
}

#[test]
fn two_references_are_brought_to_one() {
    // A direct connection between 50 and 75 ohm: Γ = 0.2, transmission 2√(50·75)/125 (textbook).
    let t = 2.0 * (50f64 * 75.0).sqrt() / 125.0;
    let text = format!("# MHz S RI R 50 75\n100 0.2 0 {t} 0 {t} 0 -0.2 0\n");
    let m = read_as("a.s2p", text).unwrap();
    let sweep = two_port(&m);
    close(sweep.s11()[0], c(0.0, 0.0));
    close(sweep.s21()[0], c(1.0, 0.0));
    assert_eq!(sweep.z_ref_ohm(), 50.0);
    assert_eq!(codes(&m), [NoticeCode::Reference]);

    // Impedances in ohm (version 2) need no reference to be read: Z = [100 50; 50 50] ohm.
    let text = "[Version] 2.1\n# MHz Z RI\n[Number of Ports] 2\n[Two-Port Data Order] 12_21\n[Number of Frequencies] 1\n[Reference]\n50\n 75\n[Network Data]\n100 100 0 50 0 50 0 50 0\n[End]\n";
    let m = read_as("a.ts", text).unwrap();
    // S11 in 50 ohm: input with 50 ohm at port 2 is 100 − 50²/100 = 75 ohm.
    close(two_port(&m).s11()[0], c(0.2, 0.0));
}

/// What the one-port table's files all say.
fn plain_one_port() -> Sweep {
    Sweep::new(vec![100e6, 200e6], vec![c(0.1, 0.2), c(0.3, -0.4)], 50.0)
        .expect("rising frequencies, finite values")
}

/// Deviation; file name; content; code of the notice (none: legal); whether the standard allows it.
type Odd<'a> = (&'a str, &'a str, Vec<u8>, Option<NoticeCode>, bool);

fn utf16(text: &str, big_endian: bool) -> Vec<u8> {
    let units = std::iter::once(0xFEFF).chain(text.encode_utf16());
    units
        .flat_map(|u| {
            if big_endian {
                u.to_be_bytes()
            } else {
                u.to_le_bytes()
            }
        })
        .collect()
}

#[rustfmt::skip]
fn odd_one_ports() -> Vec<Odd<'static>> {
    use NoticeCode as N;
    let plain = "# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n";
    let b = |text: &str| text.as_bytes().to_vec();
    vec![
        ("plain", "a.s1p", b(plain), None, true),
        ("upper-case extension", "A.S1P", b(plain), None, true),
        ("extension .ts", "a.ts", b(plain), None, true),
        ("no extension", "a", b(plain), None, true),
        ("blanks before #", "a.s1p", b("   # MHz S RI R 50\n  100 0.1 0.2\n  200 0.3 -0.4\n"), None, true),
        ("extra blanks, odd case", "a.s1p", b("#  mhz   s   Ri   r     50\n100 0.1 0.2\n200 0.3 -0.4\n"), None, true),
        ("R 50.000000", "a.s1p", b("# MHz S RI R 50.000000\n100 0.1 0.2\n200 0.3 -0.4\n"), None, true),
        ("items in another order", "a.s1p", b("# R 50 RI S MHz\n100 0.1 0.2\n200 0.3 -0.4\n"), None, true),
        ("comments everywhere", "a.s1p", b("! x\n# MHz S RI R 50 ! y\n!z\n100 0.1 0.2 ! w\n\n!#\n200 0.3 -0.4\n! end"), None, true),
        ("lines starting !#", "a.s1p", b("!# GHz S MA R 75\n# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n"), None, true),
        ("CR LF", "a.s1p", b("# MHz S RI R 50\r\n100 0.1 0.2\r\n200 0.3 -0.4\r\n"), None, true),
        ("CR alone", "a.s1p", b("# MHz S RI R 50\r100 0.1 0.2\r200 0.3 -0.4\r"), None, true),
        ("mixed line ends", "a.s1p", b("# MHz S RI R 50\r\n100 0.1 0.2\n200 0.3 -0.4"), None, true),
        ("tabs", "a.s1p", b("#\tMHz\tS\tRI\tR\t50\n100\t0.1\t0.2\n200\t0.3\t-0.4\n"), None, true),
        ("numbers in other forms", "a.s1p", b("# MHz S RI R 50\n1.e2 .1 2E-1\n+200.0 3.0e-01 -.4\n"), None, true),
        ("default unit by hand", "a.s1p", b("# RI\n.1 0.1 0.2\n.2 0.3 -0.4\n"), None, true),
        ("two option lines, equal", "a.s1p", b("# MHz S RI R 50\n# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n"), Some(N::OptionLine), false),
        ("two option lines, different", "a.s1p", b("# MHz S RI R 50\n100 0.1 0.2\n# GHz S MA R 75\n200 0.3 -0.4\n"), Some(N::OptionLine), false),
        ("#MHz and R50 without blanks", "a.s1p", b("#MHz S RI R50\n100 0.1 0.2\n200 0.3 -0.4\n"), Some(N::OptionLine), false),
        ("block header and BEGIN, END", "a.s1p", b("BEGIN\n#48109! bench analyser\n# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\nEND\n"), Some(N::Wrapping), false),
        ("block header before the option line", "a.s1p", b("#245# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n"), Some(N::Wrapping), false),
        ("byte-order mark", "a.s1p", b("\u{FEFF}# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n"), Some(N::Encoding), false),
        ("UTF-16, little end first", "a.s1p", utf16(plain, false), Some(N::Encoding), false),
        ("UTF-16, big end first", "a.s1p", utf16(plain, true), Some(N::Encoding), false),
        ("Windows-1252 in a comment", "a.s1p", b"! 20 \xB0C, Kabel f\xFCr Funk\n# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n".to_vec(), Some(N::Encoding), false),
        ("commas between numbers", "a.s1p", b("# MHz S RI R 50\n100.0, 0.1, 0.2\n200.0,0.3,-0.4\n"), Some(N::NumberStyle), false),
        ("decimal commas, blanks", "a.s1p", b("# MHz S RI R 50\n100 0,1 0,2\n200 0,3 -0,4\n"), Some(N::NumberStyle), false),
        ("decimal commas, semicolons", "a.s1p", b("# MHz S RI R 50\n100;0,1;0,2\n200;0,3;-0,4\n"), Some(N::NumberStyle), false),
        ("decimal commas, tabs", "a.s1p", b("# MHz S RI R 50\n100,000\t0,100\t0,200\n200,000\t0,300\t-0,400\n"), Some(N::NumberStyle), false),
        ("Fortran exponents", "a.s1p", b("# MHz S RI R 50\n1.0D+02 1.0D-01 2.0d-01\n2.0D+02 3.0D-01 -4.0D-01\n"), Some(N::NumberStyle), false),
        ("text after data", "a.s1p", b("# MHz S RI R 50\n100 0.1 0.2 first\n200 0.3 -0.4\n"), Some(N::Surplus), false),
        ("surplus columns throughout", "a.s1p", b("# MHz S RI R 50\n100 0.1 0.2 7 8\n200 0.3 -0.4 7 8\n"), Some(N::Surplus), false),
        ("one port in a .s2p", "a.s2p", b(plain), Some(N::PortCount), true),
        ("one port in a .s4p", "a.s4p", b(plain), Some(N::PortCount), true),
        ("one port as two with zeros", "a.s2p", b("# MHz S RI R 50\n100 0.1 0.2 0 0 0 0 0 0\n200 0.3 -0.4 0 0 0 0 0 0\n"), Some(N::OnePath), true),
        ("equal duplicate", "a.s1p", b("# MHz S RI R 50\n100 0.1 0.2\n100 0.1 0.2\n200 0.3 -0.4\n"), Some(N::Duplicate), false),
        ("different duplicate", "a.s1p", b("# MHz S RI R 50\n100 0.1 0.2\n200 0.2 -0.5\n200 0.4 -0.3\n"), Some(N::Duplicate), false),
        ("falling", "a.s1p", b("# MHz S RI R 50\n200 0.3 -0.4\n100 0.1 0.2\n"), Some(N::Sorted), false),
        ("port impedance in a comment, another", "a.s1p", b("# MHz S RI R 50\n! Port Impedance 75 0\n100 0.1 0.2\n200 0.3 -0.4\n"), Some(N::Reference), true),
        ("port impedance in a comment, glued", "a.s1p", b("# MHz S RI R 50\n! Port Impedance75.5 0.1\n100 0.1 0.2\n200 0.3 -0.4\n"), Some(N::Reference), true),
        ("port impedance in a comment, the same", "a.s1p", b("# MHz S RI R 50\n! Port Impedance 50 0\n100 0.1 0.2\n200 0.3 -0.4\n"), None, true),
        ("magnitude slightly above 1 is kept", "a.s1p", b("# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n300 1.002 0\n"), Some(N::AboveOne), true),
        ("truncated in the last line", "a.s1p", b("# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n300 0.5"), Some(N::Truncated), false),
        ("one port over two lines", "a.s1p", b("# MHz S RI R 50\n100\n 0.1 0.2\n200\n 0.3 -0.4\n"), Some(N::Layout), false),
        ("end mark of old systems", "a.s1p", b("# MHz S RI R 50\n100 0.1 0.2\n200 0.3 -0.4\n\u{1A}"), None, true),
        ("version 2 without [Version]", "a.ts", b("# MHz S RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Network Data]\n100 0.1 0.2\n200 0.3 -0.4\n[End]\n"), Some(N::Keyword), false),
        ("version 2 with [Version] 1.0", "a.ts", b("[Version] 1.0\n# MHz S RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Network Data]\n100 0.1 0.2\n200 0.3 -0.4\n[End]\n"), Some(N::Keyword), false),
        ("keywords in another order", "a.ts", b("[Version] 2.0\n# MHz S RI R 50\n[Number of Frequencies] 2\n[Number of Ports] 1\n[Network Data]\n100 0.1 0.2\n200 0.3 -0.4\n[End]\n"), Some(N::Keyword), false),
        ("no [End]", "a.ts", b("[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Network Data]\n100 0.1 0.2\n200 0.3 -0.4\n"), Some(N::Keyword), false),
        ("wrong number of frequencies", "a.ts", b("[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 3\n[Network Data]\n100 0.1 0.2\n200 0.3 -0.4\n[End]\n"), Some(N::Keyword), false),
        ("information block", "a.ts", b("[Version] 2.1\n# MHz S RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Begin Information]\n[Manufacturer] nobody\n100 bananas\n[End Information]\n[Network Data]\n100 0.1 0.2\n200 0.3 -0.4\n[End]\n"), None, true),
        ("odd case and blanks in keywords", "a.ts", b(" [VERSION]  2.0\n# MHz S RI R 50\n[number  of ports]1\n[Number of Frequencies] 2\n[network data]\n100 0.1 0.2\n200 0.3 -0.4\n[END]\n"), None, true),
        ("version 2 over several lines", "a.ts", b("[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Network Data]\n100\n0.1 0.2\n200 0.3\n-0.4\n[End]\n"), None, true),
        ("unknown keyword", "a.ts", b("[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Colour] grey\n[Network Data]\n100 0.1 0.2\n200 0.3 -0.4\n[End]\n"), Some(N::Keyword), false),
    ]
}

#[test]
fn odd_files_with_one_sensible_reading_are_read_and_named() {
    for (what, name, bytes, code, allowed) in odd_one_ports() {
        let m = read_as(name, &bytes).unwrap_or_else(|e| panic!("{what}: {e}"));
        let plain = plain_one_port();
        let sweep = one_port(&m);
        assert_eq!(sweep.freq_hz()[..2], *plain.freq_hz(), "{what}");
        for (got, wanted) in sweep.reflection().iter().zip(plain.reflection()) {
            assert!(
                (got - wanted).norm() < ROUNDING,
                "{what}: got {got}, wanted {wanted}"
            );
        }
        assert_eq!(sweep.z_ref_ohm(), 50.0, "{what}");
        match code {
            Some(code) => assert!(codes(&m).contains(&code), "{what}: {:?}", m.notices),
            None => assert_eq!(m.notices, [], "{what}"),
        }
        let strict = ReadOptions {
            strict: true,
            ..ReadOptions::default()
        };
        let strictly = read(&bytes, name, &strict);
        assert_eq!(strictly.is_ok(), allowed, "{what}, strictly: {strictly:?}");
    }
}

#[test]
fn a_notice_names_the_line_and_what_was_done() {
    let rows = [
        (
            "# MHz S RI R 50\n100 0.1 0.2\n100 0.2 0.2\n200 0 0\n",
            Some(3),
            "points repeat the frequency before them (line 3); their values differ and were averaged",
        ),
        (
            "# MHz S RI R 50\n200 0.1 0.2\n100 0.2 0.2\n",
            Some(3),
            "the frequencies do not rise from here on; the points were sorted",
        ),
        (
            "# MHz S RI R50\n100 0.1 0.2\n",
            Some(1),
            "`R50` on the option line is read as `R 50`",
        ),
        (
            "# MHz S RI R 50\n100 1.01 0\n",
            Some(2),
            "S11 exceeds 1 by up to 0.0864 dB (at 100000000 Hz); kept as it is",
        ),
        (
            "# MHz S RI R 50\n# Hz\n100 1 0\n",
            Some(2),
            "a second option line differs from the one on line 1; the first counts",
        ),
    ];
    for (text, line, wanted) in rows {
        let m = read_as("a.s1p", text).unwrap();
        let got = &m.notices[0];
        assert_eq!((got.line, got.text.as_str()), (line, wanted));
    }
}

#[test]
fn two_port_oddities() {
    let one_path = read_as(
        "a.s2p",
        "# MHz S RI R 50\n100 0.1 0.2 0.9 0\n200 0.3 -0.4 0.8 0\n",
    )
    .unwrap();
    assert_eq!(two_port(&one_path).reverse(), None);
    assert_eq!(codes(&one_path), [NoticeCode::OnePath]);

    let zeros = read_as(
        "a.s2p",
        "# MHz S RI R 50\n100 0.1 0.2 0.9 0 0 0 0 0\n200 0.3 -0.4 0.8 0 0 0 0 0\n",
    )
    .unwrap();
    assert_eq!(zeros.network, one_path.network);
    assert_eq!(codes(&zeros), [NoticeCode::OnePath]);

    let copy = read_as(
        "a.s2p",
        "# MHz S RI R 50\n100 0.1 0.2 0.9 0 0.9 0 0.1 0.2\n",
    )
    .unwrap();
    assert!(copy.reverse_is_copy && two_port(&copy).reverse().is_some());
    assert_eq!(codes(&copy), [NoticeCode::Copy]);

    let wrong_name = read_as(
        "a.s1p",
        "# MHz S RI R 50\n100 0.1 0.2 0.9 0 0.8 0 0.1 0.3\n",
    )
    .unwrap();
    assert_eq!(codes(&wrong_name), [NoticeCode::PortCount]);
    assert!(!wrong_name.reverse_is_copy);

    let wrapped = read_as(
        "a.s2p",
        "# MHz S RI R 50\n100 0.1 0.2 0.9 0\n 0.8 0 0.1 0.3\n",
    )
    .unwrap();
    assert_eq!(wrapped.network, wrong_name.network);
    assert_eq!(codes(&wrapped), [NoticeCode::Layout]);

    let eleven = read_as(
        "a.s2p",
        "# MHz S RI R 50\n100 0.1 0.2 0.9 0 0.8 0 0.1 0.3 5 6\n",
    )
    .unwrap();
    assert_eq!(eleven.network, wrong_name.network);
    assert_eq!(codes(&eleven), [NoticeCode::Surplus]);

    let falling = read_as(
        "a.s2p",
        "# MHz S RI R 50\n200 0 0 1 0 1 0 0.1 0\n100 0 0 1 0 1 0 0 0.1\n",
    )
    .unwrap();
    assert_eq!(codes(&falling), [NoticeCode::Sorted]);
}

#[test]
fn points_without_a_value_are_left_out_and_counted() {
    let spellings = ["nan nan", "NaN 0", "1.#QNAN -1.#IND", "inf 0", "1e999 0"];
    for spelling in spellings {
        let mut text = "# MHz S RI R 50\n".to_owned();
        for i in 1..=100 {
            let value = if i == 50 { spelling } else { "0.1 0.2" };
            writeln!(text, "{i} {value}").unwrap();
        }
        let m = read_as("a.s1p", &text).unwrap();
        assert_eq!(one_port(&m).len(), 99, "{spelling}");
        assert_eq!(
            m.notices[0].text,
            "1 of 100 points have no value and are left out (line 51)"
        );
    }
    let mut without_last = "1 0 0\n".repeat(99);
    without_last += "100 nan 0\n";
    let refused = [
        (
            "1 nan 0\n2 0 0\n3 0 0\n",
            "1 of 3 points have no value (line 2), more than 3 %",
        ),
        (
            &without_last,
            "the last point has no value, so the range of the sweep is not known",
        ),
    ];
    for (rows, message) in refused {
        let error = read_as("a.s1p", format!("# MHz S RI R 50\n{rows}")).unwrap_err();
        assert_eq!(error.to_string(), message);
        assert!(error.position().is_some());
    }
}

#[test]
fn a_magnitude_of_zero_in_decibels() {
    for zero in ["-inf", "-999", "-1000.0", "-1.#INF"] {
        let m = read_as(
            "a.s1p",
            format!("# MHz S DB R 50\n1 -3 0\n2 {zero} nan\n3 -6 90\n"),
        )
        .unwrap();
        assert_eq!(one_port(&m).reflection()[1], c(0.0, 0.0), "{zero}");
        assert_eq!(codes(&m), [NoticeCode::ZeroMagnitude]);
    }
}

#[test]
fn frequencies_of_all_kinds() {
    let m = read_as(
        "a.s1p",
        "# Hz S RI R 50\n0 1 0\n10e6 1 0\n50e6 0.9 0\n1066666666.6667 0.9 0\n",
    )
    .unwrap();
    assert_eq!(one_port(&m).freq_hz(), [0.0, 10e6, 50e6, 1066666666.6667]);
    assert_eq!(m.notices, []);
    let one = read_as("a.s1p", "# Hz S RI R 50\n0 1 0").unwrap();
    assert_eq!(one_port(&one).len(), 1);
    for (unit, hertz) in [("Hz", 1.0), ("kHz", 1e3), ("MHz", 1e6), ("GHz", 1e9)] {
        let m = read_as("a.s1p", format!("# {unit} S RI R 50\n2 1 0\n")).unwrap();
        assert_eq!(one_port(&m).freq_hz(), [2.0 * hertz]);
    }
}

/// Name, content, message, line and column, help.
type Refused<'a> = (
    &'a str,
    &'a str,
    &'a str,
    Option<(usize, usize)>,
    Option<&'a str>,
);

#[rustfmt::skip]
const REFUSED: &[Refused<'_>] = &[
    ("a.s1p", "", "the file is empty", None, None),
    ("a.s1p", "! only comments\n", "no data: expected rows of numbers after the option line", None, None),
    ("a.s1p", "# MHz S RI R 50\n", "no data: expected rows of numbers after the option line", None, None),
    ("a.s1p", "100000000 0.1 0.2\n", "no option line before the data: `100000000` can be a frequency in Hz or kHz", Some((1, 1)), Some("put a line such as `# Hz S RI R 50` or `# kHz S MA R 50` before the data")),
    ("a.s1p", "! x\n 100 0.1 0.2\n", "no option line before the data: `100` can be a frequency in MHz or GHz", Some((2, 2)), Some("put a line such as `# MHz S RI R 50` or `# GHz S MA R 50` before the data")),
    ("a.s1p", "# THz S MA R 50\n1 0.1 0\n", "`THz` is not understood on the option line: expected a unit (Hz, kHz, MHz, GHz), a parameter (S, Y, Z, H, G), a format (DB, MA, RI), or R and a number", Some((1, 3)), None),
    ("a.s1p", "# HZ S RI RS11r S11i\n1 0.1 0\n", "`RS11r` is not understood on the option line: expected a unit (Hz, kHz, MHz, GHz), a parameter (S, Y, Z, H, G), a format (DB, MA, RI), or R and a number", Some((1, 11)), Some("names of columns belong on a line of their own that starts with `!`")),
    ("a.s1p", "# MHz S RI R\n1 0.1 0\n", "expected a positive number of ohm as reference, found `# MHz S RI R`", Some((1, 12)), None),
    ("a.s1p", "# MHz S RI R 0\n1 0.1 0\n", "expected a positive number of ohm as reference, found `0`", Some((1, 14)), None),
    ("a.s1p", "# MHz S RI R -50\n1 0.1 0\n", "expected a positive number of ohm as reference, found `-50`", Some((1, 14)), None),
    ("a.s1p", "# MHz S RI R inf\n1 0.1 0\n", "expected a positive number of ohm as reference, found `inf`", Some((1, 14)), None),
    ("a.s1p", "# MHz S RI R 50+j10\n1 0.1 0\n", "reference impedance `50+j10` is not real: only real references can be written in a Touchstone file", Some((1, 14)), None),
    ("a.s1p", "# MHz GHz S RI R 50\n1 0.1 0\n", "`GHz` contradicts `MHz` on the same option line", Some((1, 7)), None),
    ("a.s1p", "# MHz S RI R 50 75\n1 0.1 0\n", "2 reference impedances for 1 ports: expected one, or one for each port", Some((1, 1)), None),
    ("a.s2p", "# MHz Z RI R 50 75\n1 1 0 1 0 1 0 2 0\n", "Z parameters normalised to two different references (50 and 75 ohm): the standard does not say how", Some((1, 1)), None),
    ("a.s1p", "# MHz H RI R 50\n1 0.1 0\n", "H parameters exist for two ports only, and each row has one", Some((1, 1)), None),
    ("a.s2p", "# MHz Z RI R 50\n1 1 0 1 0\n", "cannot convert Z parameters without S12 and S22", Some((1, 1)), None),
    ("a.s2p", "# MHz S RI R 50 75\n1 1 0 1 0\n", "cannot convert two different references without S12 and S22", Some((1, 1)), None),
    ("a.s1p", "# MHz S MA R 50\n1.2045  0.9412  -31.x2\n", "expected a number, found `-31.x2`", Some((2, 17)), None),
    ("a.s1p", "# MHz S MA R 50\n1 0.9 -30\n1.2045  0.9412  -31.x2\n", "expected a number, found `-31.x2`", Some((3, 17)), Some("a row has frequency and one pair: three numbers on each line")),
    ("a.s1p", "# MHz S RI R 50\n1 1.0-103 0\n", "expected a number, found `1.0-103`", Some((2, 3)), Some("the letter before the exponent got lost; write it as in `1.0e-103`")),
    ("a.s1p", "# MHz S RI R 50\n1 0.1 \u{B0}\n", "expected a number, found `°`", Some((2, 7)), None),
    ("a.s1p", "# MHz S RI R 50\nsome words\n", "expected a number, found `some`", Some((2, 1)), None),
    ("a.s1p", "# MHz S RI R 50\n1 0.1 0\n2 0.1\n3 0.1 0\n", "a row of 2 numbers: expected 3", Some((3, 1)), None),
    ("a.s1p", "# MHz S RI R 50\n1 0.1 0\n2 0.1 0 7 8\n3 0.1 0\n", "a row of 5 numbers: expected 3", Some((3, 1)), None),
    ("a.txt", "# MHz S RI R 50\n1 0.1 0 0 0\n2 0.1 0 0 0\n", "rows of 5 numbers: S11 and S21 of a one-path measurement, or one port with two columns too many", Some((2, 1)), Some("name the file .s1p or .s2p, or leave only the columns of one or two ports")),
    ("a.s2p", "# MHz S RI R 50\n1 0.1 0 0 0 0 0\n2 0.1 0 0 0 0 0\n", "rows of 7 numbers: one port with columns too many, or two ports with columns missing", Some((2, 1)), None),
    ("a.s3p", "# MHz S RI R 50\n1 0 0 0 0 0 0\n 0 0 0 0 0 0\n 0 0 0 0 0 0\n2 0 0 0 0 0 0\n 0 0 0 0 0 0\n 0 0 0 0 0 0\n", "a network of 3 ports: a cable has two ends, so expected 1 or 2 ports", Some((2, 1)), None),
    ("a.s4p", "# MHz S RI R 50\n1 0 0 0 0 0 0 0 0\n 0 0 0 0 0 0 0 0\n 0 0 0 0 0 0 0 0\n 0 0 0 0 0 0 0 0\n", "a network of 4 ports: a cable has two ends, so expected 1 or 2 ports", Some((2, 1)), None),
    ("a.ts", "[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 4\n", "a network of 4 ports: a cable has two ends, so expected 1 or 2 ports", Some((3, 19)), None),
    ("a.s1p", "# MHz S RI R 50\n100.5 0,1 0,2\n", "`100.5 0,1 0,2` can be read with decimal commas or with commas between the numbers", Some((2, 1)), Some("write points as decimals and blanks between the numbers")),
    ("a.s1p", "# MHz S MA R 50\n1 -0.9 -30\n", "magnitude -0.9 is negative, which format MA does not allow: the pairs are RI or DB", Some((2, 1)), None),
    ("a.s1p", "# MHz S RI R 50\n1 0.9 -30\n2 0.8 -40\n", "reflection of magnitude 40.008, and 2 of 2 points are above 1.5: no passive cable reflects more than 1", Some((3, 1)), None),
    ("a.s1p", "# MHz S RI R 50\n-1 0.9 0\n2 0.8 0\n", "frequency -1000000 Hz is negative", Some((2, 1)), None),
    ("a.ts", "[Version] 3.0\n# MHz S RI R 50\n", "`3.0` after [Version]: expected 2.0 or 2.1", Some((1, 11)), None),
    ("a.ts", "[Version 2.0\n# MHz S RI R 50\n", "expected a keyword in square brackets, found `[Version 2.0`", Some((1, 1)), None),
    ("a.ts", "[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] two\n", "`two` after [Number of Ports]: expected a whole number from 1 on", Some((3, 19)), None),
    ("a.ts", "[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 2\n[Mixed-Mode Order] D2,3\n", "[Mixed-Mode Order] is not supported: a coaxial cable has no modes to mix; export single-ended parameters", Some((4, 20)), None),
    ("a.ts", "[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 2\n[Number of Frequencies] 1\n[Network Data]\n1 0 0 0.1 0 0.2 0 0 0\n[End]\n", "[Two-Port Data Order] is missing: each row can be N11 N21 N12 N22 (21_12) or N11 N12 N21 N22 (12_21)", Some((2, 1)), None),
    ("a.ts", "[Version] 2.0\n[Number of Ports] 1\n[Number of Frequencies] 1\n[Network Data]\n1 0 0\n[End]\n", "no option line before the data: `1` can be a frequency in GHz or MHz", Some((5, 1)), None),
    ("photo.png", "\u{89}PNG\r\n\u{1}\0\0", "byte 0x01 at offset 7 does not occur in a text file", None, None),
    ("notes.txt", "dear diary\n", "expected a Touchstone file or a table with a header, found `dear diary`", Some((1, 1)), None),
];

#[test]
fn what_has_two_readings_or_none_is_refused_with_its_place() {
    for &(name, text, message, place, help) in REFUSED {
        let error = read_as(name, text).expect_err(text);
        assert_eq!(error.to_string(), message, "for {text:?}");
        let at = error.position();
        assert_eq!(
            at.as_ref().map(|p| (p.line, p.column)),
            place,
            "for {text:?}"
        );
        if let Some(at) = at {
            assert!(text.get(at.span).is_some(), "span outside {text:?}");
        }
        if let Some(help) = help {
            assert_eq!(error.help().as_deref(), Some(help), "for {text:?}");
        }
    }
}

#[test]
fn a_missing_option_line_can_be_supplied() {
    let mhz = ReadOptions {
        freq_unit: Some(FrequencyUnit::MHz),
        ..ReadOptions::default()
    };
    // Angles beyond 1.1 are no imaginary parts of a passive cable: magnitude and angle.
    let m = read(b"100 0.9 -30\n200 0.8 -60\n", "a.s1p", &mhz).unwrap();
    close(one_port(&m).reflection()[0], polar(0.9, -30.0));
    assert_eq!(
        m.notices[0].text,
        "no option line; read as `# MHz S MA R 50`"
    );
    // Negative first numbers with angles: decibels.
    let m = read(b"100 -0.9 -30\n200 -0.8 -60\n", "a.s1p", &mhz).unwrap();
    close(
        one_port(&m).reflection()[0],
        polar(10f64.powf(-0.045), -30.0),
    );
    // Small numbers throughout may be either.
    let text = b"100 0.9 0.1\n200 0.8 0.2\n";
    let error = read(text, "a.s1p", &mhz).unwrap_err();
    assert_eq!(
        error.to_string(),
        "no option line, and the pairs of numbers can be real and imaginary part (RI) or magnitude and angle (MA)"
    );
    let ri = ReadOptions {
        pair_format: Some(PairFormat::RealImaginary),
        ..mhz
    };
    assert_eq!(
        one_port(&read(text, "a.s1p", &ri).unwrap()).reflection()[0],
        c(0.9, 0.1)
    );
}

/// The 29 odd files on which a general reader was tried: those that it got wrong without an error,
/// those that it refused, and those whose oddity it did not notice. True: read; false: refused.
#[rustfmt::skip]
#[test]
fn twenty_nine_odd_files() {
    let two = "100 0.1 0 0.9 0 0.8 0 0.1 0.3\n";
    let v2 = |body: &str| format!("[Version] 2.0\n# MHz S RI R 50\n[Number of Ports] 2\n[Two-Port Data Order] 21_12\n[Number of Frequencies] 1\n{body}");
    let rows: Vec<(&str, &str, Vec<u8>, bool)> = vec![
        ("unit THz", "a.s1p", b"# THz S RI R 50\n1 0 0\n".to_vec(), false),
        ("one-port rows in a .s2p", "a.s2p", b"# MHz S RI R 50\n1 0 0\n2 0 0\n3 0 0\n".to_vec(), true),
        ("R 50 75", "a.s2p", format!("# MHz S RI R 50 75\n{two}").into(), true),
        ("R 50 1 for one port", "a.s1p", b"# MHz S RI R 50 1\n1 0 0\n".to_vec(), false),
        ("CR line ends", "a.s1p", b"# MHz S RI R 50\r1 0 0\r2 0 0\r".to_vec(), true),
        ("empty", "a.s1p", b"".to_vec(), false),
        ("NaN", "a.s1p", b"# MHz S RI R 50\n1 nan 0\n2 0 0\n".to_vec(), false),
        ("infinity", "a.s1p", b"# MHz S RI R 50\n1 0 0\n2 inf 0\n".to_vec(), false),
        ("byte-order mark", "a.s1p", b"\xEF\xBB\xBF# MHz S RI R 50\n1 0 0\n".to_vec(), true),
        ("Latin-1 comment", "a.s1p", b"! \xB0\n# MHz S RI R 50\n1 0 0\n".to_vec(), true),
        ("UTF-16", "a.s1p", utf16("# MHz S RI R 50\n1 0 0\n", false), true),
        ("#MHz and R50", "a.s1p", b"#MHz S RI R50\n1 0 0\n".to_vec(), true),
        ("decimal comma", "a.s1p", b"# MHz S RI R 50\n1,5 0,25 0,5\n".to_vec(), true),
        ("1.0D-1", "a.s1p", b"# MHz S RI R 50\n1 1.0D-1 0\n".to_vec(), true),
        ("noise block, version 1", "a.s2p", format!("# MHz S RI R 50\n{two}50 .7 .64 69 .38\n").into(), true),
        ("noise block, version 2", "a.s2p", v2(&format!("[Number of Noise Frequencies] 1\n[Network Data]\n{two}[Noise Data]\n50 .7 .64 69 19\n[End]\n")).into(), true),
        ("lower matrix", "a.s2p", v2("[Matrix Format] Lower\n[Network Data]\n100 0.1 0 0.9 0 0.1 0.3\n[End]\n").into(), true),
        (".ts", "a.ts", b"# MHz S RI R 50\n1 0 0\n".to_vec(), true),
        (".S1P", "A.S1P", b"# MHz S RI R 50\n1 0 0\n".to_vec(), true),
        ("falling", "a.s1p", b"# MHz S RI R 50\n2 0 0\n1 0 0\n".to_vec(), true),
        ("repeated", "a.s1p", b"# MHz S RI R 50\n1 0 0\n1 0 0\n".to_vec(), true),
        ("a plain file", "a.s2p", format!("# MHz S RI R 50\n{two}").into(), true),
        ("version 2", "a.s2p", v2(&format!("[Network Data]\n{two}[End]\n")).into(), true),
        ("two option lines", "a.s1p", b"# MHz S RI R 50\n# GHz\n1 0 0\n".to_vec(), true),
        ("no option line", "a.s1p", b"1 0 0\n".to_vec(), false),
        ("header glued to R", "a.s1p", b"# HZ S RI RS11r S11i\n1 0 0\n".to_vec(), false),
        ("block header", "a.s1p", b"#16! abcd\n# MHz S RI R 50\n1 0 0\n".to_vec(), true),
        ("cut off", "a.s1p", b"# MHz S RI R 50\n1 0 0\n2 0".to_vec(), true),
        ("letters", "a.s1p", b"# MHz S RI R 50\n1 0 zero\n".to_vec(), false),
    ];
    assert_eq!(rows.len(), 29);
    for (what, name, bytes, is_read) in rows {
        let got = read_as(name, bytes);
        assert_eq!(got.is_ok(), is_read, "{what}: {got:?}");
    }
}

#[test]
fn a_million_points() {
    let mut text = "# Hz S RI R 50\n".to_owned();
    for i in 0..1_000_000 {
        writeln!(text, "{} 0.5 -0.25", 1000 * i).unwrap();
    }
    let m = read_as("a.s1p", text).unwrap();
    assert_eq!((one_port(&m).len(), m.notices.len()), (1_000_000, 0));
    assert_eq!(one_port(&m).stop_hz(), 999_999_000.0);
}

fn complex() -> impl Strategy<Value = Complex64> {
    (-1.0f64..1.0, -1.0f64..1.0).prop_map(|(re, im)| c(re, im) / 2f64.sqrt())
}

proptest! {
    #[test]
    fn one_ports_read_back_as_written(
        values in prop::collection::vec((1.0f64..1e9, complex()), 1..40),
        z_ref_ohm in 1.0f64..1000.0,
        comment in ".{0,30}",
    ) {
        let mut freq_hz = 0.0;
        let (f, s): (Vec<f64>, Vec<Complex64>) = values.iter().map(|(step, s)| { freq_hz += step; (freq_hz, *s) }).unzip();
        let sweep = Sweep::new(f, s, z_ref_ohm).unwrap();
        let text = touchstone::one_port(&sweep, &[&comment]);
        prop_assert!(text.is_ascii());
        let strict = ReadOptions { strict: true, ..ReadOptions::default() };
        let back = read(text.as_bytes(), "a.s1p", &strict).unwrap();
        prop_assert_eq!(one_port(&back), &sweep);
    }

    #[test]
    fn two_ports_read_back_as_written(
        values in prop::collection::vec((1.0f64..1e9, [complex(), complex(), complex(), complex()]), 1..20),
        has_reverse: bool,
    ) {
        let mut freq_hz = 0.0;
        let f = values.iter().map(|(step, _)| { freq_hz += step; freq_hz }).collect();
        let column = |i: usize| -> Vec<Complex64> { values.iter().map(|(_, s)| s[i]).collect() };
        let reverse = has_reverse.then(|| Reverse { s12: column(2), s22: column(3) });
        let sweep = ThroughSweep::new(f, column(0), column(1), reverse, 50.0).unwrap();
        let back = read_as("a.s2p", touchstone::two_port(&sweep, &[])).unwrap();
        prop_assert_eq!(two_port(&back), &sweep);
    }

    /// One network in all three formats.
    #[test]
    fn formats_agree(magnitude in 0.001f64..1.0, deg in -180.0f64..180.0) {
        let s = polar(magnitude, deg);
        let texts = [
            format!("# MHz S RI R 50\n1 {} {}\n", s.re, s.im),
            format!("# MHz S MA R 50\n1 {magnitude} {deg}\n"),
            format!("# MHz S DB R 50\n1 {} {deg}\n", 20.0 * magnitude.log10()),
        ];
        for text in texts {
            let m = read_as("a.s1p", text).unwrap();
            prop_assert!((one_port(&m).reflection()[0] - s).norm() < ROUNDING);
        }
    }
}
