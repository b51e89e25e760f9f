//! A known line as a two-port file of any length, and taken off a sweep of what is behind it.

use num_complex::Complex64;
use thiserror::Error;

use super::{CableError, KnownCable};
use crate::bench::Analyser;
use crate::fitness::{FarEndSeen, Line, remove_line};
use crate::formats::Network;
use crate::formats::touchstone;
use crate::network::{NetworkError, Scattering};
use crate::quantity::digits::pair;
use crate::sweep::{Reverse, Sweep, SweepError, ThroughSweep};
use crate::uncertain::Uncertain;

/// A two-port that is wanted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoPortAsked {
    /// Length of the run, m; the assayed piece if absent.
    pub run_m: Option<f64>,
    /// Lowest frequency, Hz.
    pub start_hz: f64,
    /// Highest frequency, Hz.
    pub stop_hz: f64,
    /// Points.
    pub points: usize,
    /// Reference of both ports, ohm.
    pub z_ref_ohm: f64,
}

/// A line as a file, with what it is known to.
#[derive(Clone, Debug, PartialEq)]
pub struct TwoPortFile {
    /// Touchstone text.
    pub text: String,
    /// What it is of.
    pub what: String,
    /// The line at a few of its frequencies, Hz.
    pub known: Vec<(f64, Line)>,
}

/// A sweep with a line taken off it.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Removed {
    /// How a sentence calls the line.
    #[cfg_attr(feature = "serde", serde(rename = "line"))]
    pub name: String,
    /// Reference of the reflections, ohm.
    #[cfg_attr(feature = "serde", serde(rename = "reference_ohm"))]
    pub z_ref_ohm: f64,
    /// Frequencies left out because the line's loss is not known there, or nothing gets through.
    pub left_out: usize,
    /// What is seen at the far end of the line, by rising frequency.
    #[cfg_attr(
        feature = "serde",
        serde(rename = "far_end", serialize_with = "printed")
    )]
    pub rows: Vec<BehindRow>,
}

/// One frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BehindRow {
    /// Frequency, Hz.
    pub freq_hz: f64,
    /// Reflection at the near end.
    pub near: Complex64,
    /// What is seen at the far end.
    pub far: FarEndSeen,
    /// Loss of the line, dB.
    pub loss_db: f64,
}

/// What is seen at one frequency.
#[cfg(feature = "serde")]
#[derive(Clone, Copy, Debug, serde::Serialize)]
struct BehindLine {
    /// Frequency, Hz.
    at_hz: f64,
    /// Loss of the line, one way, dB.
    line_loss_db: f64,
    /// Reflection, real and imaginary part.
    reflection: [f64; 2],
    /// 95 % half-widths of both.
    u95_reflection: [f64; 2],
    /// Lowest VSWR; null if the interval has none.
    swr_low: Option<f64>,
    /// Highest VSWR; null where the interval reaches total reflection.
    swr_high: Option<f64>,
}

#[cfg(feature = "serde")]
fn printed<S: serde::Serializer>(rows: &[BehindRow], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(rows.iter().map(|row| {
        let (reflection, (low, high)) = (row.far.reflection, row.far.swr);
        BehindLine {
            at_hz: row.freq_hz,
            line_loss_db: row.loss_db,
            reflection: [reflection.re, reflection.im],
            u95_reflection: row.far.u.map(|u| crate::uncertain::COVERAGE_FACTOR_95 * u),
            swr_low: low.is_finite().then_some(low),
            swr_high: high,
        }
    }))
}

/// Why there is no result.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum LineFileError {
    /// The line is not known well enough.
    #[error(transparent)]
    Cable(#[from] CableError),
    /// A range that is none.
    #[error("frequencies from {start_hz} to {stop_hz} Hz: expected a rising range above zero")]
    Range {
        /// Start, Hz.
        start_hz: f64,
        /// Stop, Hz.
        stop_hz: f64,
    },
    /// A reference that is none.
    #[error(transparent)]
    Network(#[from] NetworkError),
    /// Points that make no sweep.
    #[error(transparent)]
    Sweep(#[from] SweepError),
}

/// Frequencies at which a file says how well its line is known.
const STATED: usize = 7;

/// The line as Touchstone text.
///
/// # Errors
/// [`LineFileError`] if the line is not known at one of the frequencies.
pub fn two_port_file(
    cable: &KnownCable,
    asked: &TwoPortAsked,
) -> Result<TwoPortFile, LineFileError> {
    let TwoPortAsked {
        start_hz,
        stop_hz,
        points,
        ..
    } = *asked;
    if !(start_hz > 0.0 && stop_hz > start_hz) {
        return Err(LineFileError::Range { start_hz, stop_hz });
    }
    let step_hz = (stop_hz - start_hz) / (points - 1) as f64;
    let freq_hz: Vec<f64> = (0..points).map(|i| start_hz + step_hz * i as f64).collect();
    let (mut s11, mut s21) = (Vec::new(), Vec::new());
    for &f in &freq_hz {
        let line = cable.line(f, asked.run_m)?;
        let matrix = Scattering::line(line.z0(f), line.gamma_l(f), asked.z_ref_ohm)?.matrix();
        s11.push(matrix.0[0][0]);
        s21.push(matrix.0[1][0]);
    }
    // A uniform line looks the same from both ends.
    let reverse = Reverse {
        s12: s21.clone(),
        s22: s11.clone(),
    };
    let sweep = ThroughSweep::new(freq_hz, s11, s21, Some(reverse), asked.z_ref_ohm)?;
    let length = asked
        .run_m
        .map_or_else(|| "the piece as swept".to_owned(), |m| format!("{m} m"));
    let what = format!("{length} of {}", cable.name);
    let known = stated_hz(start_hz, stop_hz)
        .map(|f| Ok((f, cable.line(f, asked.run_m)?)))
        .collect::<Result<Vec<_>, CableError>>()?;
    let mut comments = vec![
        format!("computed, not measured: {what}"),
        "known to (95 %); each error has the same sign over the whole band:".to_owned(),
    ];
    comments.extend(known.iter().map(|(f, line)| known_to(*f, line)));
    let lines: Vec<&str> = comments.iter().map(String::as_str).collect();
    Ok(TwoPortFile {
        text: touchstone::two_port(&sweep, &lines),
        what,
        known,
    })
}

/// Evenly spaced in logarithms, both ends included.
fn stated_hz(start_hz: f64, stop_hz: f64) -> impl Iterator<Item = f64> {
    let ratio = stop_hz / start_hz;
    (0..STATED).map(move |i| match i {
        0 => start_hz,
        _ if i + 1 == STATED => stop_hz,
        _ => start_hz * ratio.powf(i as f64 / (STATED - 1) as f64),
    })
}

/// Impedance, loss and phase with their 95 % half-widths, in a line.
fn known_to(freq_hz: f64, line: &Line) -> String {
    let degrees = line.one_way_delay_s.scaled(360.0 * freq_hz);
    format!(
        "{} Hz: {} ohm, {} dB, {} deg",
        freq_hz.round(),
        in_plain(line.z0_ohm),
        in_plain(line.loss_db),
        in_plain(degrees)
    )
}

fn in_plain(quantity: Uncertain) -> String {
    let (value, u95) = pair(quantity.value, quantity.u95());
    format!("{value} +- {u95}")
}

/// What the far end of the line shows, from a sweep at its near end.
///
/// # Errors
/// [`LineFileError`] if the line is not known at any frequency of the sweep.
pub fn removed(
    cable: &KnownCable,
    network: &Network,
    run_m: Option<f64>,
) -> Result<Removed, LineFileError> {
    let (freq_hz, reflections, z_ref_ohm) = match network {
        Network::OnePort(sweep) => (sweep.freq_hz(), sweep.reflection(), sweep.z_ref_ohm()),
        Network::TwoPort(sweep) => (sweep.freq_hz(), sweep.s11(), sweep.z_ref_ohm()),
    };
    let mut rows = Vec::new();
    let mut refused = None;
    for (&f, &near) in freq_hz.iter().zip(reflections) {
        let line = match cable.line(f, run_m) {
            Ok(line) => line,
            Err(error) => {
                refused = Some(error);
                continue;
            }
        };
        let u_input = Analyser::POCKET.residual(f);
        rows.extend(
            remove_line(&line, f, near, z_ref_ohm, u_input).map(|far| BehindRow {
                freq_hz: f,
                near,
                far,
                loss_db: line.loss_db.value,
            }),
        );
    }
    match refused {
        Some(error) if rows.is_empty() => Err(error.into()),
        _ => Ok(Removed {
            name: cable.name.clone(),
            z_ref_ohm,
            left_out: freq_hz.len() - rows.len(),
            rows,
        }),
    }
}

/// The Touchstone text of the far end.
///
/// # Errors
/// [`LineFileError::Sweep`] if no point is left.
pub fn far_end_file(removed: &Removed) -> Result<String, LineFileError> {
    let freq_hz = removed.rows.iter().map(|r| r.freq_hz).collect();
    let reflections = removed.rows.iter().map(|r| r.far.reflection).collect();
    let sweep = Sweep::new(freq_hz, reflections, removed.z_ref_ohm)?;
    let what = format!(
        "computed: the far end of {}, de-embedded from a sweep",
        removed.name
    );
    Ok(touchstone::one_port(&sweep, &[&what]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;
    use crate::formats::{ReadOptions, read};

    fn cable() -> KnownCable {
        KnownCable::of_type(Catalogue::built_in().find("RG-213").unwrap())
    }

    fn asked() -> TwoPortAsked {
        TwoPortAsked {
            run_m: Some(20.0),
            start_hz: 50e6,
            stop_hz: 500e6,
            points: 46,
            z_ref_ohm: 50.0,
        }
    }

    /// The file read again is the line; Belden 8267 prints 1.9 dB/100 ft at 100 MHz, 1.247 dB for
    /// 20 m; the law may miss its points by 5.4 % (`loss.csv`).
    #[test]
    fn the_file_reads_again_with_the_catalogue_s_loss() {
        let text = two_port_file(&cable(), &asked()).unwrap().text;
        let read = read(text.as_bytes(), "x.s2p", &ReadOptions::default()).unwrap();
        let Network::TwoPort(sweep) = read.network else {
            panic!("one port")
        };
        let loss = -20.0 * sweep.s21()[5].norm().log10();
        assert_eq!(sweep.freq_hz()[5], 100e6);
        assert!((loss / 1.247 - 1.0).abs() < 0.054, "{loss}");
    }

    #[test]
    fn what_is_put_behind_the_line_is_seen_again() {
        let load = Complex64::new(0.3, -0.2);
        let freq_hz: Vec<f64> = (1..=10).map(|i| 50e6 * f64::from(i)).collect();
        let near = freq_hz.iter().map(|&f| {
            let line = cable().line(f, Some(20.0)).unwrap();
            let s = Scattering::line(line.z0(f), line.gamma_l(f), 50.0).unwrap();
            s.input_reflection(load).unwrap()
        });
        let sweep = Sweep::new(freq_hz.clone(), near.collect(), 50.0).unwrap();
        let asked = Some(20.0);
        let got = removed(&cable(), &Network::OnePort(sweep), asked).unwrap();
        for row in &got.rows {
            assert!((row.far.reflection - load).norm() < 1e-9, "{row:?}");
        }
        let width = |row: &BehindRow| row.far.magnitude.high - row.far.magnitude.low;
        assert!(width(&got.rows[9]) > width(&got.rows[0]));
        assert!(far_end_file(&got).unwrap().contains("computed"));
    }

    #[test]
    fn a_range_that_falls_is_refused() {
        let wrong = TwoPortAsked {
            stop_hz: 1e6,
            ..asked()
        };
        assert!(matches!(
            two_port_file(&cable(), &wrong),
            Err(LineFileError::Range { .. })
        ));
        let far = TwoPortAsked {
            stop_hz: 30e9,
            ..asked()
        };
        let error = two_port_file(&cable(), &far).unwrap_err().to_string();
        assert!(error.contains("beyond the catalogue's figures"), "{error}");
    }
}
