//! What was read: sets of readings, each by what ended the cable.

use num_complex::Complex64;

use crate::bench::{FarEnd, KnownPart};
use crate::calibration::Standard;

/// What a reading set is: one reflection sweep by its far end, or a through sweep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Kind {
    Open,
    Short,
    /// The load that the analyser was calibrated with.
    Load,
    /// An antenna, or anything else that nobody knows.
    Antenna,
    /// Any other load, a port included.
    OtherLoad,
    Through,
    /// The calibration's own standard at the plane, no cable.
    Check(FarEnd),
    /// Another part at the plane that is known, no cable.
    Part(AtPlane),
}

impl Kind {
    /// Whether it says anything about the cable by itself.
    pub(crate) fn is_of_cable(self) -> bool {
        !matches!(self, Self::Check(_) | Self::Part(_))
    }
}

/// A part at the plane that the calibration did not use, by its description.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct AtPlane {
    standard: Standard,
    z_ref_ohm: f64,
    /// Standard uncertainty of its reflection (complex rms over the sweep): the part's own error is
    /// as smooth as that of a connection, and is taken as more of it.
    pub(crate) u: f64,
}

impl AtPlane {
    pub(crate) fn of(part: &KnownPart) -> Self {
        let z_ref_ohm = part.sweep.z_ref_ohm();
        let square = |&f: &f64| {
            let spread = part.part.spread(f, z_ref_ohm);
            spread.iter().map(Complex64::norm_sqr).sum::<f64>()
        };
        let grid = part.sweep.freq_hz();
        let mean = grid.iter().map(square).sum::<f64>() / grid.len() as f64;
        Self {
            standard: part.part,
            z_ref_ohm,
            u: mean.sqrt(),
        }
    }

    /// Its reflection against the calibration load. A description without one is as good as none.
    pub(crate) fn reflection(&self, freq_hz: f64) -> Complex64 {
        let reflection = self.standard.reflection(freq_hz, self.z_ref_ohm);
        reflection.unwrap_or_default()
    }
}

/// One set of readings: a reflection sweep, or reflection and transmission of a through sweep.
#[derive(Clone, Debug)]
pub(crate) struct Readings {
    pub(crate) kind: Kind,
    pub(crate) freq_hz: Vec<f64>,
    pub(crate) reflection: Vec<Complex64>,
    pub(crate) transmission: Vec<Complex64>,
}

/// Lowest and highest frequency of all sweeps of the cable, Hz.
pub(crate) fn covered(readings: &[Readings]) -> (f64, f64) {
    let of_cable = || readings.iter().filter(|r| r.kind.is_of_cable());
    let all = || of_cable().flat_map(|r| r.freq_hz.iter().copied());
    (
        all().fold(f64::INFINITY, f64::min),
        all().fold(0.0, f64::max),
    )
}

pub(crate) fn kinds(readings: &[Readings]) -> Vec<Kind> {
    readings.iter().map(|r| r.kind).collect()
}

/// The same readings with other far ends.
pub(crate) fn with_kinds(readings: &[Readings], kinds: &[Kind]) -> Vec<Readings> {
    let ended = |(r, &kind): (&Readings, &Kind)| Readings { kind, ..r.clone() };
    readings.iter().zip(kinds).map(ended).collect()
}

/// The readings at these places.
pub(crate) fn picked(readings: &Readings, keep: &[usize]) -> Readings {
    let pick = |v: &[Complex64]| -> Vec<Complex64> {
        if v.is_empty() {
            Vec::new()
        } else {
            keep.iter().map(|&i| v[i]).collect()
        }
    };
    Readings {
        kind: readings.kind,
        freq_hz: keep.iter().map(|&i| readings.freq_hz[i]).collect(),
        reflection: pick(&readings.reflection),
        transmission: pick(&readings.transmission),
    }
}

/// Fewest points of a reading set in the first band.
const FEWEST: usize = 12;

/// At most `points` of the points up to `stop_hz` (never fewer than [`FEWEST`] of the lowest), not
/// quite evenly, so that a long cable's fringes are not folded.
pub(crate) fn thin(readings: &Readings, stop_hz: f64, points: usize) -> Readings {
    const GOLDEN: f64 = 0.618_033_988_749_895;
    let below = readings.freq_hz.partition_point(|&f| f <= stop_hz);
    let n = below.max(FEWEST).min(readings.freq_hz.len());
    let keep: Vec<usize> = if n <= points {
        (0..n).collect()
    } else {
        let spread = |i: usize| {
            // the golden ratio's multiples leave no common step that would fold fringes (low
            // discrepancy)
            let jitter = (i as f64 * GOLDEN).fract();
            ((i as f64 + jitter) * n as f64 / points as f64) as usize
        };
        (0..points).map(|i| spread(i).min(n - 1)).collect()
    };
    picked(readings, &keep)
}

/// At most so many points of each reading set.
pub(crate) fn thinned(readings: &[Readings], points: usize) -> Vec<Readings> {
    let thin = |r| thin(r, f64::INFINITY, points);
    readings.iter().map(thin).collect()
}
