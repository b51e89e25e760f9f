//! Every reader takes any bytes without panic or hang: it reads them or says why not, and its
//! errors point into the text.

use lineproof_core::formats::{
    FrequencyUnit, Network, PairFormat, ReadOptions, decode, delimited, read, touchstone,
};
use proptest::prelude::*;

const NAMES: [&str; 6] = ["a.s1p", "a.s2p", "a.s3p", "a.ts", "a.csv", ""];

/// Real pieces of files, odd and broken ones among them; random bytes alone never get far.
const PIECES: &[&str] = &[
    "# MHz S RI R 50",
    "# GHz Z MA R 75 50",
    "#",
    "#48109!",
    "# THz",
    "!",
    "! Port Impedance75",
    "[Version] 2.0",
    "[Number of Ports] 2",
    "[Number of Ports] 1",
    "[Number of Frequencies] 2",
    "[Number of Frequencies] 18446744073709551615",
    "[Two-Port Data Order] 12_21",
    "[Two-Port Data Order] 21_12",
    "[Matrix Format] Lower",
    "[Matrix Format] Upper",
    "[Reference] 50",
    "[Begin Information]",
    "[End Information]",
    "[Network Data]",
    "[Noise Data]",
    "[End]",
    "[",
    "]",
    "BEGIN",
    "END",
    "Frequency (MHz),R,X",
    "Frequency;SWR",
    "f re im",
    "freq\tRL\tphase",
    "\n",
    "\r",
    "\r\n",
    "\t",
    " ",
    ",",
    ";",
    "\"",
    "1",
    "100 0.1 0.2",
    "200 0.3 -0.4",
    "100,0.1,0.2",
    "100;0,1;0,2",
    "1 .95 -26 3.57 157 .04 76 .66 -14",
    "4 .7 .64 69 .38",
    "1e999",
    "-inf",
    "nan",
    "1.0D-3",
    "1.0-103",
    "1e-400",
    "-1",
    "0",
    "99999999999999999999999",
    ".",
    "-",
    "°",
    "\u{FEFF}",
    "é",
    "0.5 0.5",
    "5o",
    "-999 0",
];

fn all_options() -> [ReadOptions; 3] {
    let default = ReadOptions::default();
    let strict = ReadOptions {
        strict: true,
        ..default
    };
    let stated = ReadOptions {
        freq_unit: Some(FrequencyUnit::MHz),
        pair_format: Some(PairFormat::RealImaginary),
        z_ref_ohm: Some(75.0),
        ..default
    };
    [default, strict, stated]
}

/// Reads with every reader and checks what holds for any outcome.
fn check_all(bytes: &[u8]) {
    let length = decode(bytes).map_or(0, |d| d.text.len());
    for options in all_options() {
        for name in NAMES {
            let outcomes = [
                read(bytes, name, &options),
                touchstone::read(bytes, name, &options),
                delimited::read(bytes, &options),
            ];
            for outcome in outcomes {
                match outcome {
                    Ok(m) => {
                        let points = match &m.network {
                            Network::OnePort(s) => s.len(),
                            Network::TwoPort(s) => s.freq_hz().len(),
                        };
                        assert!(points > 0 && points <= bytes.len());
                        assert!(m.notices.iter().all(|n| !n.text.is_empty()));
                    }
                    Err(e) => {
                        assert!(e.to_string().len() < 500, "{e}");
                        if let Some(at) = e.position() {
                            assert!(at.line >= 1 && at.column >= 1);
                            assert!(at.span.start <= at.span.end && at.span.end <= length);
                        }
                        let _ = e.help();
                    }
                }
            }
        }
    }
}

proptest! {
    #[test]
    fn bytes_at_random(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        check_all(&bytes);
    }

    #[test]
    fn text_at_random(text in "\\PC{0,120}") {
        check_all(text.as_bytes());
    }

    #[test]
    fn pieces_of_files_in_any_order(
        pieces in prop::collection::vec((prop::sample::select(PIECES), any::<bool>()), 0..40),
    ) {
        let text: String = pieces.iter().flat_map(|&(piece, newline)| [piece, if newline { "\n" } else { " " }]).collect();
        check_all(text.as_bytes());
    }

    #[test]
    fn valid_files_with_some_bytes_changed(
        which in 0..VALID.len(),
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 0..6),
        cut in any::<prop::sample::Index>(),
        is_cut: bool,
    ) {
        let mut bytes = VALID[which].as_bytes().to_vec();
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if is_cut {
            bytes.truncate(cut.index(bytes.len()));
        }
        check_all(&bytes);
    }
}

const VALID: &[&str] = &[
    include_str!("../data/touchstone/v1-noise.s2p"),
    include_str!("../data/touchstone/v2-noise.ts"),
    include_str!("../data/touchstone/v2-lower.ts"),
    include_str!("../data/touchstone/v1-z-ma.s1p"),
    "Frequency (MHz);R (ohm);X (ohm)\n100,5;30,25;-40,5\n200,5;50,25;0,5\n300,5;50,25;0,5\n",
    "freq MHz,S11 re,S11 im,S21 dB,S21 deg\n1,0.1,0.2,-6.0206,-90\n2,0.1,0.2,-6.0206,-95\n",
];

/// Work grows with the size of a file, not with its square: megabytes of the worst kind of line.
#[test]
fn large_hostile_files_end() {
    let rows = 100_000;
    let hostile = [
        "#\n".repeat(rows),
        format!("# Hz S RI R 50\n{}", "# GHz\n".repeat(rows)),
        format!("# Hz S RI R 50\n{}", "1 0 0 x\n".repeat(rows)),
        format!("# Hz S RI R 50\n{}", "1.0D0 0 0\n".repeat(rows)),
        format!("# Hz S RI R 50\n{}", "1,0 0,1 0,2\n".repeat(rows)),
        format!("[Version] 2.0\n# Hz S RI R 50\n{}", "[x]\n".repeat(rows)),
        format!("# Hz S RI R 50\n{}", "nan 0 0\n".repeat(rows)),
        format!("# Hz S RI R 50\n{}", "1 0 0\n1 0\n".repeat(rows)),
        format!("# Hz S RI R 50\n1 {}\n", "0 ".repeat(rows)),
        "\"".repeat(rows),
        "a".repeat(1_000_000),
        format!("Frequency (MHz),R,X\n{}", "1,2,3\n".repeat(rows)),
        format!("Frequency (MHz);R;X\n{}", "1,5;2,5;3,5\n".repeat(rows)),
        format!("f {}\n1 2\n", "r ".repeat(rows)),
    ];
    for text in hostile {
        for name in ["a.s1p", "a.csv"] {
            let _ = read(text.as_bytes(), name, &ReadOptions::default());
        }
    }
}
