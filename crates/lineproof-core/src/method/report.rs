//! What every method answers with: a report with its arithmetic, or why it can't serve.

use std::fmt;

use num_complex::Complex64;

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
    /// Two lengths of one cable behind the same plugs.
    TwoLengths,
    /// Slope of phase against frequency.
    GroupDelay,
    /// Low-frequency inductance and capacitance.
    InductanceCapacitance,
    /// Largest and smallest resistance with a resistor at the far end.
    ResistanceExtremes,
    /// Peak of the VSWR with the far end open or shorted.
    SwrPeak,
    /// Resistance at a resonance where it is low.
    LowResistance,
    /// Round trip of a pulse, or of an echo in a time-domain picture.
    PulseDelay,
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
            Self::TwoLengths => "two lengths",
            Self::GroupDelay => "group delay",
            Self::InductanceCapacitance => "inductance and capacitance",
            Self::ResistanceExtremes => "resistance extremes",
            Self::SwrPeak => "VSWR peak",
            Self::LowResistance => "low resistance at resonance",
            Self::PulseDelay => "pulse round trip (TDR)",
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
    /// Frequency that the delay holds at, Hz: skin effect makes it fall as frequency rises.
    pub delay_at_hz: Option<f64>,
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
    /// Why what was read can't be right; empty if it can.
    pub impossible: Vec<String>,
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
    pub reflection: Complex64,
}

impl Report {
    /// A report of `method` that holds nothing yet.
    pub fn new(method: Method) -> Self {
        Self {
            method,
            impedance_ohm: None,
            at_hz: None,
            one_way_delay_s: None,
            delay_at_hz: None,
            velocity_factor: None,
            length_m: None,
            loss_db: Vec::new(),
            working: Vec::new(),
            remarks: Vec::new(),
            impossible: Vec::new(),
            used: Vec::new(),
        }
    }

    /// The report, or the reason why its numbers are none: noise can drive a formula to infinity.
    pub(super) fn finished(self) -> Result<Self, Unserved> {
        let numbers = [
            self.impedance_ohm,
            self.one_way_delay_s,
            self.velocity_factor,
            self.length_m,
        ];
        let mut all = numbers
            .into_iter()
            .flatten()
            .chain(self.loss_db.iter().map(|&(_, loss)| loss));
        if all.all(|q| q.value.is_finite() && q.u.is_finite()) {
            Ok(self)
        } else {
            let reason = "the readings lead to no finite number";
            Err(Unserved::new(self.method, reason))
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

impl Unserved {
    /// A method that can't answer, and why.
    pub fn new(method: Method, reason: impl Into<String>) -> Self {
        Self {
            method,
            reason: reason.into(),
            would_do: None,
        }
    }

    /// Adds what would do.
    #[must_use]
    pub fn would_do(mut self, what: impl Into<String>) -> Self {
        self.would_do = Some(what.into());
        self
    }
}
