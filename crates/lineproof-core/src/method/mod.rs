//! The trade's methods, one small module each.
//!
//! Every method has three layers: a formula in plain numbers with its corrections; a function from
//! typed readings; a function from a [`Bench`](crate::bench::Bench). The last two give a
//! [`Report`] with the arithmetic written out so that it can be checked by calculator, or
//! [`Unserved`] with the reason and, where there is one, what would do.

use std::fmt;

use crate::uncertain::Uncertain;

/// The methods, by the names that the trade uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Method {
    /// Resistance at the quarter wave with a known load.
    QuarterWave,
    /// Impedance magnitude at the eighth wave, far end open.
    EighthWaveOpen,
    /// Impedance magnitude at the eighth wave, far end shorted.
    EighthWaveShort,
    /// Geometric mean of open-end and short-end impedance.
    OpenShort,
    /// How far the loaded sweep is from a match.
    MatchAtCentre,
    /// Frequencies of resonance: order, spacing, delay.
    Resonance,
    /// Half of the open or short return loss.
    HalfReturnLoss,
    /// Eigenvalues of the two-port's chain matrix.
    TwoPort,
    /// Slope of phase against frequency.
    GroupDelay,
    /// Low-frequency inductance and capacitance.
    InductanceCapacitance,
    /// Largest and smallest resistance with a resistor at the far end.
    ResistanceExtremes,
    /// Peak of the SWR with the far end open or shorted.
    SwrPeak,
}

impl fmt::Display for Method {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::QuarterWave => "quarter wave",
            Self::EighthWaveOpen => "eighth wave, open",
            Self::EighthWaveShort => "eighth wave, short",
            Self::OpenShort => "open/short pair",
            Self::MatchAtCentre => "match at centre",
            Self::Resonance => "resonance",
            Self::HalfReturnLoss => "half return loss",
            Self::TwoPort => "two-port",
            Self::GroupDelay => "group delay",
            Self::InductanceCapacitance => "inductance and capacitance",
            Self::ResistanceExtremes => "resistance extremes",
            Self::SwrPeak => "SWR peak",
        })
    }
}

/// What a method found. Quantities that it does not give are absent.
#[derive(Clone, Debug)]
pub struct Report {
    /// Which method.
    pub method: Method,
    /// Characteristic impedance, ohm, at `at_hz`.
    pub impedance_ohm: Option<Uncertain>,
    /// Frequency that the impedance holds at, Hz; absent for typed readings that name none.
    pub at_hz: Option<f64>,
    /// One-way delay, s, connectors included.
    pub one_way_delay_s: Option<Uncertain>,
    /// Velocity factor, if a length is known.
    pub velocity_factor: Option<Uncertain>,
    /// Length, m, if a velocity factor is known and no length.
    pub length_m: Option<Uncertain>,
    /// One-way matched loss of the piece, dB, each at a frequency in Hz (absent if not named).
    pub loss_db: Vec<(Option<f64>, Uncertain)>,
    /// The arithmetic, one line a step, each checkable with a calculator.
    pub working: Vec<String>,
    /// What the reader should know about this result: biases, assumptions.
    pub remarks: Vec<String>,
    /// Points of the sweeps that the method used, for pictures.
    pub used: Vec<UsedPoint>,
}

/// A point of a sweep that a method used.
#[derive(Clone, Debug, PartialEq)]
pub struct UsedPoint {
    /// What the point is, for example "quarter wave".
    pub name: String,
    /// Label of the sweep it belongs to.
    pub sweep: String,
    /// Frequency, Hz, interpolated between readings.
    pub freq_hz: f64,
    /// Reflection there against the sweep's reference.
    pub reflection: num_complex::Complex64,
}

impl Report {
    /// A report of `method` that holds nothing yet.
    pub fn new(method: Method) -> Self {
        Self {
            method,
            impedance_ohm: None,
            at_hz: None,
            one_way_delay_s: None,
            velocity_factor: None,
            length_m: None,
            loss_db: Vec::new(),
            working: Vec::new(),
            remarks: Vec::new(),
            used: Vec::new(),
        }
    }
}

/// Why a method can't answer from these data.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{reason}")]
pub struct Unserved {
    /// Which method.
    pub method: Method,
    /// What is missing.
    pub reason: String,
    /// What would do, for example a stop frequency.
    pub would_do: Option<String>,
}
