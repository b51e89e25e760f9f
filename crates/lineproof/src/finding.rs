//! The result of an assay as others read it: what `--json` prints and what the text is made from.
//!
//! The key names are a contract. Keys may be added, never renamed; a quantity that the sweeps do
//! not determine is absent and a warning says why. `u95` is the half-width of a 95 % interval that
//! includes everything known: noise, calibration, load, tape. SI units, except where the key
//! says otherwise.

use lineproof_core::calibration::ripple::Residuals;
use lineproof_core::quantity::format_uncertain;
use lineproof_core::uncertain::Uncertain;
use serde::Serialize;
use utoipa::ToSchema;

use crate::report::number::significant;

/// Number of the layout below; it rises when a key changes its meaning.
pub const SCHEMA: u32 = 1;

/// What an assay found.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Finding {
    /// Number of this layout: [`SCHEMA`].
    pub schema: u32,
    /// Version of the program that made it.
    pub program_version: &'static str,
    /// The sweeps that went in.
    pub sweeps: Vec<SweepUsed>,
    /// Whether the cable is sound.
    pub condition: Condition,
    /// Why it is not.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub condition_reasons: Vec<String>,
    /// Faults along the cable.
    pub events: Vec<EventFound>,
    /// Explanations that were compared, the likeliest first; empty if nothing spoke against a whole
    /// cable.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub explanations: Vec<ExplanationFound>,
    /// What the calibration left, by the ripple of long lines at the plane.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub calibration: Vec<CalibrationFound>,
    /// Characteristic impedance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub impedance: Option<ImpedanceFound>,
    /// The same at the frequencies asked for.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub impedances: Vec<ImpedanceRow>,
    /// What the impedance tends to at high frequency: that without the conductors' internal inductance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub impedance_limit: Option<OhmFound>,
    /// One-way delay.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delay: Option<DelayFound>,
    /// Velocity factor; needs the length.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub velocity_factor: Option<RatioFound>,
    /// Length, and how it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length: Option<LengthFound>,
    /// Matched loss of the piece, one way, by rising frequency.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub loss: Vec<LossRow>,
    /// The parts of the loss.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub loss_parts: Option<LossPartsFound>,
    /// Impedance, delay and loss by the fitted law, over the whole sweep: for other questions about the
    /// same cable.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub law: Vec<LawRow>,
    /// Temperature of the cable while it was swept, °C, if it was given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub temperature_c: Option<f64>,
    /// Impedance along the cable; needs the length.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub profile: Option<ProfileFound>,
    /// What a caliper says beside the sweeps; needs both diameters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub geometry: Option<GeometryFound>,
    /// Each method of the trade by itself.
    pub methods: Vec<MethodFound>,
    /// The piece in a system whose impedance was named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub system: Option<SystemFound>,
    /// Comparison with what the jacket claims; absent if nothing is claimed.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marking: Option<MarkingFound>,
    /// What to do with it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub verdict: Option<VerdictFound>,
    /// Types of the catalogue that it may be, and "none of these", by falling probability.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub types: Vec<TypeFound>,
    /// What the reader must know before trusting a number.
    pub warnings: Vec<Warning>,
    /// Measurements that would narrow an interval by more than a fifth, from the posterior; for
    /// each quantity the most useful first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub helps: Vec<Help>,
    /// What to measure next.
    #[serde(serialize_with = "texts")]
    #[schema(value_type = Vec<String>)]
    pub advice: Vec<Advice>,
    /// Care to take, where it applies to this cable.
    pub cautions: Vec<String>,
}

/// Whether the cable is sound.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Condition {
    /// Nothing speaks against it.
    Sound,
    /// Something does, and is not sure.
    Suspect,
    /// It has a fault.
    Faulty,
    /// The sweeps do not say.
    Undetermined,
}

/// What an event is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EventKind {
    /// Crushed or kinked over a few centimetres.
    Dent,
    /// Water in it.
    Wet,
    /// Another cable joined on.
    Splice,
    /// Resistance in a joint.
    Joint,
    /// It ends here, open.
    Open,
    /// It ends here, short.
    Short,
    /// Something that no explanation is sure of.
    Unknown,
}

/// What to do with a cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// It is good for what it is meant for.
    Keep,
    /// It is sound, and not for this.
    UseElsewhere,
    /// Cut the fault out, or renew a plug.
    Repair,
    /// Nothing of it is worth the work.
    Discard,
    /// The sweeps do not say enough.
    MeasureAgain,
}

/// What to do, why, and by which criteria.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct VerdictFound {
    /// What to do.
    pub action: Action,
    /// Why, and how.
    pub reasons: Vec<String>,
    /// Every criterion that could be checked.
    pub criteria: Vec<CriterionFound>,
}

/// One criterion with what was found.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CriterionFound {
    /// Its name in a criteria file.
    pub name: &'static str,
    /// What was found and what was wanted.
    pub text: String,
    /// Whether it is kept.
    pub passed: bool,
    /// Whether a criteria file set the limit to something else than the default.
    pub set: bool,
    /// Where the default comes from.
    pub source: &'static str,
}

/// Something at a place along the cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct EventFound {
    /// What it is.
    pub kind: EventKind,
    /// Where its middle is, from the near end of the cable, m.
    pub at_m: f64,
    /// 95 % half-width, m.
    pub u95_m: f64,
    /// How long it is, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length_m: Option<f64>,
    /// Impedance there; of a splice, of the other cable, ohm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub impedance_ohm: Option<f64>,
    /// 95 % half-width, ohm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_impedance_ohm: Option<f64>,
    /// Resistance in series, ohm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub series_ohm: Option<f64>,
    /// 95 % half-width, ohm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_series_ohm: Option<f64>,
    /// One-way delay of sound cable to it, s.
    pub one_way_s: f64,
    /// Where its middle is, from the far end, m; absent where that end is not seen.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub from_far_m: Option<f64>,
    /// Its share of the way to the far end, 0 to 1, which needs no length; absent as `from_far_m`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub share: Option<f64>,
    /// Of a splice: the end that the other cable reaches to.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reaches: Option<End>,
    /// What physics says of its cause.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cause: Option<String>,
    /// What else would explain it nearly as well.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub or: Vec<EventKind>,
    /// Whether only the tape speaks for it: the far end is nearer than it should be.
    #[serde(skip_serializing_if = "is_false")]
    pub by_tape_alone: bool,
}

/// An end of the cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum End {
    /// Where the analyser is.
    Near,
    /// The other one.
    Far,
}

impl End {
    /// Its name in a sentence.
    pub fn name(self) -> &'static str {
        match self {
            Self::Near => "near",
            Self::Far => "far",
        }
    }
}

/// Impedance along the cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct ProfileFound {
    /// Distance below which two places look like one, m.
    pub resolution_m: f64,
    /// From the near end to the far one.
    pub points: Vec<ProfilePointFound>,
    /// Length of the dent that `least_dents` is stated for, m.
    pub least_dent_length_m: f64,
    /// The least dent that would have shown, from the near end to the far one.
    pub least_dents: Vec<LeastDentFound>,
}

/// The least dent that would have shown at a place.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct LeastDentFound {
    /// Distance from the near end, m.
    pub at_m: f64,
    /// Relative change of the impedance.
    pub relative: f64,
}

/// Impedance at a place.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct ProfilePointFound {
    /// Distance from the near end, m.
    pub at_m: f64,
    /// One-way delay of sound cable to it, s.
    pub one_way_s: f64,
    /// High-frequency impedance, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm; it holds the load's part, which all points share.
    pub u95_ohm: f64,
}

/// An explanation with the evidence for it.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct ExplanationFound {
    /// What is wrong; absent for a whole cable.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<EventKind>,
    /// ln of the evidence, against that of the one that was chosen.
    pub ln_evidence: f64,
}

/// One sweep that went in.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SweepUsed {
    /// Name of the file.
    pub file: String,
    /// `open`, `short`, `load` or `through`; of a check `open at the plane` and so on.
    pub far_end: String,
    /// Whether the far end was judged by data and name, not declared.
    pub guessed: bool,
    /// Number of points.
    pub points: usize,
    /// Lowest frequency, Hz.
    pub start_hz: f64,
    /// Highest frequency, Hz.
    pub stop_hz: f64,
    /// Of a check: rms difference from what the calibration took its standard for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub off_rms: Option<f64>,
}

/// What a calibration left, by the ripple of one long line.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct CalibrationFound {
    /// Name of the file.
    pub file: String,
    /// Residual directivity, rms over the band.
    pub directivity: f64,
    /// Residual source match, rms over the band; absent if the line's end does not show it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub source_match: Option<f64>,
    /// Half of the largest peak to peak of |Γ| within a turn: directivity and source match together
    /// at their worst.
    pub half_peak_to_peak: f64,
    /// Turns of the end's reflection over the sweep.
    pub turns: f64,
    /// The same for people.
    pub text: String,
}

impl CalibrationFound {
    /// What a line shows, for the file it is from.
    pub fn of(file: String, seen: &Residuals) -> Self {
        let size = |x: f64| format!("{} ({:.0} dB)", significant(x, 2), -20.0 * x.log10());
        let (directivity, source_match) = (seen.directivity(), seen.source_match());
        let text = format!(
            "`{file}`: the calibration left a directivity of {}{}, rms over {:.1} turns of the line; |Γ| \
             ripples by ± {}",
            size(directivity),
            source_match.map_or_else(String::new, |m| format!(", source match {}", size(m))),
            seen.turns,
            significant(seen.half_peak_to_peak, 2)
        );
        Self {
            file,
            directivity,
            source_match,
            half_peak_to_peak: seen.half_peak_to_peak,
            turns: seen.turns,
            text,
        }
    }
}

/// The piece between a source and a load of a system's impedance.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct SystemFound {
    /// Impedance of the system, ohm.
    pub ohm: f64,
    /// By rising frequency.
    pub rows: Vec<SystemRow>,
}

/// The same at one frequency. Values hold for the 95 % intervals of impedance, delay and loss.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct SystemRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Highest SWR at the input of this piece with the system's load at its end.
    pub highest_swr: f64,
    /// The return loss with that SWR, dB.
    pub least_return_loss_db: f64,
    /// Highest SWR at the worst length near this one.
    pub swr_at_worst_length: f64,
    /// The return loss with that, dB.
    pub return_loss_db_at_worst_length: f64,
    /// Loss beyond that of the same cable matched, dB, at most.
    pub most_extra_loss_db: f64,
}

/// Characteristic impedance, real part.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct ImpedanceFound {
    /// Value, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// Frequency it holds at, Hz.
    pub at_hz: f64,
    /// Largest part of the interval.
    pub limited_by: &'static str,
}

/// Characteristic impedance at a frequency that was asked for.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct ImpedanceRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Value, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// Whether the frequency lies outside of the sweeps, where the line's law carries the value on.
    #[serde(skip_serializing_if = "is_false")]
    pub extrapolated: bool,
}

/// A characteristic impedance, real part.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct OhmFound {
    /// Value, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
}

/// The piece between its plugs at one frequency, by the fitted law; a fault along it is not part of it.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct LawRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Characteristic impedance, real part, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// One-way phase delay, s.
    pub one_way_s: f64,
    /// 95 % half-width, s.
    pub u95_s: f64,
    /// Matched loss, one way, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
    /// The dielectric's part of the loss, 0 to 1.
    pub dielectric_part: f64,
}

/// What loses how much. A part that its own interval hides is absent, and `reason` says so.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct LossPartsFound {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// The conductors, dB, growing as √f.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub conductor_db: Option<f64>,
    /// 95 % half-width of it, dB.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_conductor_db: Option<f64>,
    /// The dielectric, dB, growing as f.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dielectric_db: Option<f64>,
    /// 95 % half-width of it, dB.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_dielectric_db: Option<f64>,
    /// Why a part is absent.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
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

impl From<String> for Advice {
    fn from(text: String) -> Self {
        Self { text, gives: None }
    }
}

/// Programs are told the sentences.
fn texts<S: serde::Serializer>(advice: &[Advice], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(advice.iter().map(|a| &a.text))
}

/// What a further measurement would do for one quantity.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Help {
    /// `impedance` (ohm), `delay` (s) or `loss` (dB).
    pub quantity: &'static str,
    /// `open`, `short`, `load`, `repeat-…`, `check-…`, `load-by-ohmmeter`, `higher-stop`, `more-points`
    /// or `longer-piece`.
    pub measure: &'static str,
    /// 95 % half-width now, in the quantity's unit.
    pub u95_now: f64,
    /// 95 % half-width with it; of a longer piece in proportion.
    pub u95_then: f64,
    /// The same for people.
    pub text: String,
}

/// One-way delay of the piece.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct DelayFound {
    /// Value with the plugs, s.
    pub one_way_s: f64,
    /// 95 % half-width, s.
    pub u95_s: f64,
    /// Frequency it holds at, Hz.
    pub at_hz: f64,
    /// Value without the plugs, s; less sure, since a sweep hardly tells plug from cable.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub between_plugs_s: Option<f64>,
    /// 95 % half-width of it, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_between_plugs_s: Option<f64>,
}

/// A ratio.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct RatioFound {
    /// Value.
    pub ratio: f64,
    /// 95 % half-width.
    pub u95: f64,
}

/// Length of the piece.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct LengthFound {
    /// Value, m.
    pub m: f64,
    /// 95 % half-width, m.
    pub u95_m: f64,
    /// Where it comes from.
    pub basis: LengthBasis,
}

/// Where a length comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LengthBasis {
    /// The tape measure.
    Tape,
    /// The delay, the impedance and a caliper's diameters.
    Caliper,
    /// The delay and the velocity factor that the jacket claims.
    MarkedVelocityFactor,
}

/// Z0/VF, which depends on the diameters alone, by caliper and by the sweeps.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct GeometryFound {
    /// By the diameters, ohm.
    pub impedance_over_velocity_ohm: f64,
    /// 95 % half-width, ohm.
    pub u95_ohm: f64,
    /// By sweeps and tape, ohm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by_sweeps_ohm: Option<f64>,
    /// 95 % half-width, ohm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_by_sweeps_ohm: Option<f64>,
    /// Whether the two agree; absent without a tape.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub agrees: Option<bool>,
    /// The same for people, with what it means.
    pub text: String,
}

/// Matched loss at one frequency.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct LossRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Loss of the piece, one way, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
    /// The same for 100 m of it, dB; needs the length.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub db_per_100m: Option<f64>,
    /// 95 % half-width of it, dB.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_db_per_100m: Option<f64>,
    /// Loss of the piece at 20 °C, dB; needs the temperature.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub db_at_20c: Option<f64>,
    /// 95 % half-width of it, dB.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_db_at_20c: Option<f64>,
    /// Whether the frequency lies outside of the sweeps, where the line's law carries the loss on.
    #[serde(skip_serializing_if = "is_false")]
    pub extrapolated: bool,
}

#[allow(
    clippy::trivially_copy_pass_by_ref,
    reason = "serde passes a reference"
)]
fn is_false(value: &bool) -> bool {
    !value
}

/// What one method found, or why it can't answer.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct MethodFound {
    /// Name of the method.
    pub name: String,
    /// Characteristic impedance, ohm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ohm: Option<f64>,
    /// Its 95 % half-width, ohm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_ohm: Option<f64>,
    /// Frequency that the impedance holds at, Hz.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_hz: Option<f64>,
    /// One-way delay, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub one_way_s: Option<f64>,
    /// Its 95 % half-width, s.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_s: Option<f64>,
    /// Frequency that the delay holds at, Hz.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delay_at_hz: Option<f64>,
    /// Velocity factor.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub velocity_factor: Option<RatioFound>,
    /// Length, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length_m: Option<f64>,
    /// Its 95 % half-width, m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub u95_m: Option<f64>,
    /// Matched loss of the piece, one way.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub loss: Vec<MethodLoss>,
    /// The arithmetic in one line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub working: Option<String>,
    /// The same, a step each.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<String>,
    /// Biases and assumptions.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
    /// Why it can't answer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// What would do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub would_do: Option<String>,
}

/// A loss that a method found.
#[derive(Clone, Copy, Debug, Serialize, ToSchema)]
pub struct MethodLoss {
    /// Frequency, Hz; absent for typed readings that name none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at_hz: Option<f64>,
    /// Loss of the piece, one way, dB.
    pub db: f64,
    /// 95 % half-width, dB.
    pub u95_db: f64,
}

/// What the jacket claims against what was found.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct MarkingFound {
    /// Type designation as given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub designation: Option<String>,
    /// Whether nothing speaks against the claim; absent if nothing could be compared.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub agrees: Option<bool>,
    /// What does not agree.
    pub differences: Vec<Difference>,
    /// What agrees with a remark, and what could not be compared.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub remarks: Vec<String>,
    /// Why the cable may differ from its marking.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub explanation: Vec<String>,
}

/// A type that the cable may be.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct TypeFound {
    /// Name; of types that are one cable electrically the likeliest, or `none of these`.
    pub designation: String,
    /// Probability of all of them together.
    pub probability: f64,
    /// The others that are the same cable electrically.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub same_as: Vec<String>,
}

/// One quantity in which the cable differs from its marking.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub struct Difference {
    /// `impedance`, `velocity factor` or `loss`.
    pub quantity: &'static str,
    /// Claimed value, in `unit`.
    pub marked: f64,
    /// Found value, in `unit`.
    pub found: f64,
    /// 95 % half-width of the found value, in `unit`.
    pub u95: f64,
    /// Unit of the three; empty for a ratio.
    pub unit: &'static str,
    /// The same for people.
    pub text: String,
}

/// Something that the reader must know.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct Warning {
    /// Fixed word for programs.
    pub code: &'static str,
    /// Sentence for people.
    pub text: String,
}

impl Warning {
    /// A warning with its code.
    pub fn new(code: &'static str, text: impl Into<String>) -> Self {
        Self {
            code,
            text: text.into(),
        }
    }
}

impl EventKind {
    /// The kind of this name in JSON.
    pub fn named(name: &str) -> Option<Self> {
        const ALL: [EventKind; 7] = [
            EventKind::Dent,
            EventKind::Wet,
            EventKind::Splice,
            EventKind::Joint,
            EventKind::Open,
            EventKind::Short,
            EventKind::Unknown,
        ];
        ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// Its name in JSON.
    pub fn name(self) -> &'static str {
        match self {
            Self::Dent => "dent",
            Self::Wet => "wet",
            Self::Splice => "splice",
            Self::Joint => "joint",
            Self::Open => "open",
            Self::Short => "short",
            Self::Unknown => "unknown",
        }
    }

    /// The kind with its article.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Dent => "a dent",
            Self::Wet => "a wet stretch",
            Self::Splice => "a splice",
            Self::Joint => "a bad joint",
            Self::Open => "a break",
            Self::Short => "a short",
            Self::Unknown => "something unknown",
        }
    }
}

impl EventFound {
    /// The event in a sentence.
    pub fn sentence(&self) -> String {
        let at = format_uncertain(from_u95(self.at_m, self.u95_m), "m");
        let z = self
            .impedance_ohm
            .map_or_else(String::new, |z| format!(", {z:.0} ohm there"));
        let what = match self.kind {
            EventKind::Dent => format!("dented or kinked at {at}{z}"),
            EventKind::Wet => format!(
                "wet around {at}, over {:.2} m{z}",
                self.length_m.unwrap_or(0.0)
            ),
            EventKind::Splice => self.splice(&at),
            EventKind::Joint => format!(
                "bad joint at {at}, {:.1} ohm in series",
                self.series_ohm.unwrap_or(0.0)
            ),
            EventKind::Open => format!("broken, open at {at}"),
            EventKind::Short => format!("shorted at {at}"),
            EventKind::Unknown => format!("uneven, most of all at {at}{z}"),
        };
        if self.or.is_empty() {
            return what;
        }
        let others: Vec<&str> = self.or.iter().map(|kind| kind.noun()).collect();
        format!(
            "{what} (these sweeps can't tell it from {})",
            others.join(" or ")
        )
    }
}

impl EventFound {
    fn splice(&self, at: &str) -> String {
        let ohm = self
            .impedance_ohm
            .map_or_else(String::new, |z| format!(" of {z:.0} ohm"));
        let reach = match self.reaches {
            Some(End::Near) => ", from the near end to there",
            Some(End::Far) => ", from there to the far end",
            None => "",
        };
        format!("another cable{ohm} joined on at {at}{reach}")
    }
}

impl ImpedanceFound {
    /// The value with its standard uncertainty.
    pub fn uncertain(&self) -> Uncertain {
        from_u95(self.ohm, self.u95_ohm)
    }
}

impl From<Uncertain> for OhmFound {
    fn from(impedance_ohm: Uncertain) -> Self {
        Self {
            ohm: impedance_ohm.value,
            u95_ohm: impedance_ohm.u95(),
        }
    }
}

impl From<Uncertain> for RatioFound {
    fn from(ratio: Uncertain) -> Self {
        Self {
            ratio: ratio.value,
            u95: ratio.u95(),
        }
    }
}

impl LossRow {
    /// The value with its standard uncertainty.
    pub fn uncertain(&self) -> Uncertain {
        from_u95(self.db, self.u95_db)
    }
}

/// A value with the standard uncertainty that belongs to a 95 % half-width.
pub fn from_u95(value: f64, u95: f64) -> Uncertain {
    Uncertain::new(value, u95 / lineproof_core::uncertain::COVERAGE_FACTOR_95)
}
