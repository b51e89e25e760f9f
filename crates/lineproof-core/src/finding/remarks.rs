//! What the reader must know, and what to measure next.

use std::borrow::Cow;

use super::marking::Quantity;
use super::words::{codes, words};
use crate::formats::NoticeCode;

/// Something that the reader must know.
#[derive(Clone, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Warning {
    /// Fixed word for programs.
    #[cfg_attr(feature = "schema", schema(value_type = String))]
    pub code: WarningCode,
    /// Sentence for people.
    pub text: String,
}

codes! {
    /// What a warning is about.
    pub enum WarningCode {
        /// The calibration load's value is taken, not measured.
        LoadNotMeasured = "load-not-measured",
        /// No length was given.
        LengthNotGiven = "length-not-given",
        /// More comes back than was sent.
        ReflectionAboveOne = "reflection-above-one",
        /// The phase turns too far between points.
        StepTooCoarse = "step-too-coarse",
        /// The piece is too short for its loss to show.
        LossBelowVisible = "loss-below-visible",
        /// A uniform line leaves more unexplained than calibration does.
        LineNotUniform = "line-not-uniform",
        /// There is no estimate at all.
        NoEstimate = "no-estimate",
        /// A frequency asked for lies beyond the sweeps.
        FrequencyNotCovered = "frequency-not-covered",
        /// The length makes a velocity that no cable has.
        VelocityImpossible = "velocity-impossible",
        /// The length is off by a factor that a slip explains.
        TapeSlip = "tape-slip",
        /// The fit has not come to rest.
        NotConverged = "not-converged",
        /// The sweeps themselves show another insertion loss than the cable that explains them best.
        NotOneCable = "not-one-cable",
        /// The sweeps show the bare port, or a part of the kit.
        NoCable = "no-cable",
        /// The sweeps show too little of a cable to claim one, or something that is none.
        CableNotSeen = "cable-not-seen",
        /// Loaded sweeps are not of one cable in one state.
        LoadedSweepsDiffer = "loaded-sweeps-differ",
        /// A sweep looks otherwise than its far end was declared.
        FarEndContradicted = "far-end-contradicted",
        /// The sweeps can't be of one cable in one state.
        SweepsContradict = "sweeps-contradict",
        /// Other delays would be as good; faults stand all the same.
        DelayAmbiguous = "delay-ambiguous",
        /// A conductor whose resistance levels off where that of copper would not.
        SteelCore = "steel-core",
        /// Open looks like short and short like open.
        StandardsSwapped = "standards-swapped",
        /// Two sweeps each look like the other's far end, and were taken so.
        NamesSwapped = "names-swapped",
        /// Points off the curve, from a transmitter nearby.
        Interference = "interference",
        /// Contact came and went during a sweep.
        ContactLost = "contact-lost",
        /// Something resonant is at the far end.
        AntennaOn = "antenna-on",
        /// An antenna is at the far end, as was said, and its own loss counts as the line's.
        AntennaLossCounts = "antenna-loss-counts",
        /// Two sweeps with one far end differ.
        RepeatsDiffer = "repeats-differ",
        /// The load at the far end is not the stated one.
        FarLoadDiffers = "far-load-differs",
        /// A loss that does not fall with frequency.
        LossConstant = "loss-constant",
        /// Found and claimed loss differ by the factor of a unit.
        UnitSlip = "unit-slip",
        /// In a narrow band the sweeps leave the curve of any line.
        KinkInBand = "kink-in-band",
        /// A regular defect along the cable.
        PeriodicDamage = "periodic-damage",
        /// S21 and S12 differ, though a cable passes both ways alike.
        DirectionsDiffer = "directions-differ",
        /// Port 2's match ripples on the transmission.
        PortMismatch = "port-mismatch",
        /// An adapter counts as cable.
        AdapterInLength = "adapter-in-length",
        /// The dielectric loses more than that of any sound cable.
        DielectricLossy = "dielectric-lossy",
        /// A method and all sweeps together disagree.
        MethodsDisagree = "methods-disagree",
        /// A far end was judged by data and name.
        FarEndGuessed = "far-end-guessed",
        /// A far end that was judged fits its name badly.
        FarEndMismatch = "far-end-mismatch",
        /// Points that could not be used.
        PointsLeftOut = "points-left-out",
        /// Of a two-port sweep only the first port is used.
        SecondPortIgnored = "second-port-ignored",
        /// The calibration is old.
        CalibrationOld = "calibration-old",
        /// The calibration left much.
        CalibrationPoor = "calibration-poor",
        /// Something could not be compared.
        NotCompared = "not-compared",
        /// The calibration kit is not described.
        KitNotDescribed = "kit-not-described",
        /// A stored finding that cannot be read.
        NotReadable = "not-readable",
        /// A standard whose limits are not known.
        StandardWithoutLimits = "standard-without-limits",
    }
}

impl From<NoticeCode> for WarningCode {
    fn from(notice: NoticeCode) -> Self {
        Self::from(Cow::Borrowed(notice.as_str()))
    }
}

/// What to measure next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Advice {
    /// The sentence, in words for any surface.
    pub text: String,
    /// What is then to be said besides the sweeps; each surface has its own way to say it.
    pub gives: Option<Gives>,
}

/// A value that a person can say besides the sweeps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gives {
    /// Resistance of the calibration load by ohmmeter.
    LoadByOhmmeter,
    /// Length of the cable by tape.
    Length,
}

/// What a further measurement would do for one quantity.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Help {
    /// `impedance` (ohm), `delay` (s) or `loss` (dB).
    pub quantity: Quantity,
    /// The measurement.
    pub measure: Measurement,
    /// 95 % half-width now, in the quantity's unit.
    pub u95_now: f64,
    /// 95 % half-width with it; of a longer piece in proportion.
    pub u95_then: f64,
    /// The same for people.
    pub text: String,
}

words! {
    /// A measurement that would narrow an interval.
    pub enum Measurement {
        /// A sweep with the far end open.
        Open = "open",
        /// A sweep with the far end shorted.
        Short = "short",
        /// A sweep with the load at the far end.
        Load = "load",
        /// The open sweep again, connected anew.
        RepeatOpen = "repeat-open",
        /// The shorted sweep again, connected anew.
        RepeatShort = "repeat-short",
        /// The loaded sweep again, connected anew.
        RepeatLoad = "repeat-load",
        /// The calibration's open at the plane.
        CheckOpen = "check-open",
        /// The calibration's short at the plane.
        CheckShort = "check-short",
        /// The calibration's load at the plane.
        CheckLoad = "check-load",
        /// The calibration load by ohmmeter.
        LoadByOhmmeter = "load-by-ohmmeter",
        /// The same sweeps to twice the frequency.
        HigherStop = "higher-stop",
        /// The same sweeps with more points.
        MorePoints = "more-points",
        /// The same sweeps of a longer piece.
        LongerPiece = "longer-piece",
        /// One that this version has no word for.
        #[cfg_attr(feature = "serde", serde(other))]
        Other = "other",
    }
}

impl Warning {
    /// A warning with its code.
    pub fn new(code: impl Into<WarningCode>, text: impl Into<String>) -> Self {
        Self {
            code: code.into(),
            text: text.into(),
        }
    }
}

impl From<String> for Advice {
    fn from(text: String) -> Self {
        Self { text, gives: None }
    }
}

#[cfg(feature = "serde")]
impl serde::Serialize for Advice {
    /// Programs get the sentence.
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

#[cfg(feature = "serde")]
impl<'de> serde::Deserialize<'de> for Advice {
    fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        <String as serde::Deserialize>::deserialize(deserializer).map(Self::from)
    }
}
