//! Which sweep to take: start, stop and points for a cable of which only the rough length and the
//! kind of dielectric are known, and what that sweep cannot show.
//!
//! Sources of the rules: the quarter wave of an open cable is at 1/(4·τ) for the one-way delay τ;
//! two echoes are told apart if they are v/(2·span) apart, and echoes beyond v/(2·step) fold back
//! (both are properties of the discrete Fourier transform). The phase step of 60° a point is
//! common practice: a line through the points then follows the phase without doubt, and a
//! crossing interpolated between them is good to a small part of the step.

use thiserror::Error;

use crate::bench::Analyser;
use crate::constants::{DB_PER_NEPER, SPEED_OF_LIGHT_M_S};
use crate::quantity::{format_frequency, format_length};
use crate::uncertain::COVERAGE_FACTOR_95;

/// A quantity known only to lie between two values, ends included.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Range {
    /// Lowest value.
    pub low: f64,
    /// Highest value.
    pub high: f64,
}

impl Range {
    /// A range of one value.
    pub fn exactly(value: f64) -> Self {
        Self {
            low: value,
            high: value,
        }
    }

    /// From `value` less to `value` plus the relative part `relative`.
    pub fn about(value: f64, relative: f64) -> Self {
        Self {
            low: value * (1.0 - relative),
            high: value * (1.0 + relative),
        }
    }

    fn valid(self) -> bool {
        self.low > 0.0 && self.low <= self.high && self.high.is_finite()
    }
}

/// Dielectrics by the velocity factors that cables with them are sold with.
///
/// The solid ones follow from 1/√ε_r with ε_r 2.26 (polyethylene) and 2.07 (PTFE), the others are
/// the spread of catalogues; all widened, since pieces have been found 5 % off their data sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dielectric {
    /// Solid polyethylene.
    SolidPolyethylene,
    /// Foamed polyethylene.
    FoamedPolyethylene,
    /// Solid PTFE.
    Ptfe,
    /// Mostly air: discs, spiral or tube.
    Air,
    /// Not known: anything from solid to air-spaced.
    Unknown,
}

impl Dielectric {
    /// Velocity factors to be expected.
    pub fn velocity_factor(self) -> Range {
        let (low, high) = match self {
            Self::SolidPolyethylene => (0.63, 0.69),
            Self::FoamedPolyethylene => (0.74, 0.90),
            Self::Ptfe => (0.66, 0.73),
            Self::Air => (0.82, 0.96),
            Self::Unknown => (0.63, 0.92),
        };
        Range { low, high }
    }
}

/// What is known before the sweep, and what is wanted of it.
#[derive(Clone, Debug, PartialEq)]
pub struct PlanRequest {
    /// Physical length of the cable, m.
    pub length_m: Range,
    /// Velocity factor, 0 to 1.
    pub velocity_factor: Range,
    /// Points that one sweep of the analyser has.
    pub points: usize,
    /// Frequencies that the analyser reaches, Hz.
    pub analyser_hz: Range,
    /// Distance at which two faults must still be resolved, m.
    pub resolution_m: Option<f64>,
    /// Frequencies at which you need loss and impedance, Hz.
    pub frequencies_hz: Vec<f64>,
}

/// One sweep to take.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlannedSweep {
    /// Start frequency, Hz.
    pub start_hz: f64,
    /// Stop frequency, Hz.
    pub stop_hz: f64,
    /// Number of points, evenly spaced.
    pub points: usize,
    /// Frequency step, Hz.
    pub step_hz: f64,
    /// Phase step of the reflection from point to point for the longest cable of the range,
    /// degrees.
    pub phase_step_deg: f64,
}

/// Sweeps to take, why so, and what they leave open.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Deserialize, serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Plan {
    /// The sweeps, lowest first; one where one can do all.
    pub sweeps: Vec<PlannedSweep>,
    /// Where the first quarter wave of the open cable will be found, Hz.
    pub quarter_wave_hz: Range,
    /// Why start, stop and points are what they are, a sentence each.
    pub reasons: Vec<String>,
    /// What was wanted and can't be had with this analyser, a sentence each.
    pub shortfalls: Vec<String>,
    /// What these sweeps can't show, a sentence each.
    pub blind: Vec<String>,
}

/// Why there is no plan.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum PlanError {
    /// A range that is empty, not positive or not finite.
    #[error("{quantity} from {low} to {high} is not a range of positive numbers")]
    Range {
        /// Which quantity.
        quantity: &'static str,
        /// Its lowest value.
        low: f64,
        /// Its highest value.
        high: f64,
    },
    /// A velocity factor above 1.
    #[error("velocity factor {high} is impossible: nothing is faster than light")]
    VelocityFactor {
        /// The highest value.
        high: f64,
    },
    /// Too few points for any sweep.
    #[error("{points} points are too few, {MIN_POINTS} or more are needed")]
    Points {
        /// Points asked for.
        points: usize,
    },
    /// A wanted resolution or frequency that is not a positive number.
    #[error("{quantity} {value} is not a positive number")]
    NotPositive {
        /// Which quantity.
        quantity: &'static str,
        /// The value.
        value: f64,
    },
}

/// Fewest points that a plan is made for.
pub const MIN_POINTS: usize = 11;
/// Phase step of the reflection that is still comfortable, degrees a point.
pub const PHASE_STEP_DEG: f64 = 60.0;
/// Stop frequency over the highest quarter-wave frequency: the crossing lies well inside.
const QUARTER_WAVE_MARGIN: f64 = 1.5;
/// Quarter waves that a comfortable sweep holds, so that crossings can be averaged.
const COMFORTABLE_QUARTER_WAVES: f64 = 5.0;
/// Frequency that a comfortable sweep reaches, since data sheets and findings state 100 MHz, Hz.
const COMFORTABLE_HZ: f64 = 110e6;
/// Stop frequency over the highest wanted frequency.
const FREQUENCY_MARGIN: f64 = 1.1;

/// Largest step, Hz, at which the phase of the reflection of a cable of this one-way delay, s, is still comfortable to
/// follow: in whole steps of 10 kHz, as an analyser is set.
pub fn following_step_hz(one_way_s: f64) -> f64 {
    let step_hz = PHASE_STEP_DEG / 360.0 / (2.0 * one_way_s);
    (step_hz / 1e4).floor().max(1.0) * 1e4
}

/// Plans the sweeps.
///
/// # Errors
/// [`PlanError`] names what is not a length, velocity factor, number of points or frequency.
///
/// ```
/// # use lineproof_core::plan::{Dielectric, PlanRequest, Range, plan};
/// let plan = plan(&PlanRequest {
///     length_m: Range::about(1.5, 0.1),
///     velocity_factor: Dielectric::SolidPolyethylene.velocity_factor(),
///     points: 401,
///     analyser_hz: Range { low: 50e3, high: 900e6 },
///     resolution_m: None,
///     frequencies_hz: vec![],
/// })
/// .unwrap();
/// assert!(plan.sweeps[0].stop_hz > plan.quarter_wave_hz.high);
/// ```
pub fn plan(request: &PlanRequest) -> Result<Plan, PlanError> {
    check(request)?;
    let needs = Needs::of(request);
    let mut plan = Plan {
        sweeps: needs.sweeps(request),
        quarter_wave_hz: needs.quarter_wave_hz,
        reasons: Vec::new(),
        shortfalls: Vec::new(),
        blind: Vec::new(),
    };
    plan.reasons = reasons(request, &needs, &plan);
    plan.shortfalls = shortfalls(request, &needs, &plan);
    plan.blind = blind(request, &plan);
    Ok(plan)
}

/// What the request asks of a sweep, before the analyser's limits.
struct Needs {
    one_way_delay_s: Range,
    quarter_wave_hz: Range,
    stop_hz: f64,
    step_hz: f64,
    points: usize,
    /// How far the stop goes beyond what is needed because the points allow it.
    reach: Reach,
}

/// How far the points take a sweep.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Reach {
    /// No further than what was asked, or not even there in one sweep.
    Needed,
    /// As far as the phase can be followed, which is short of a comfortable sweep.
    Points,
    /// A comfortable sweep.
    Comfortable,
}

impl Needs {
    fn of(request: &PlanRequest) -> Self {
        let (length, velocity) = (request.length_m, request.velocity_factor);
        let one_way_delay_s = Range {
            low: length.low / (velocity.high * SPEED_OF_LIGHT_M_S),
            high: length.high / (velocity.low * SPEED_OF_LIGHT_M_S),
        };
        let quarter_wave_hz = Range {
            low: 0.25 / one_way_delay_s.high,
            high: 0.25 / one_way_delay_s.low,
        };
        let start_hz = request.analyser_hz.low;
        let for_frequencies = highest(&request.frequencies_hz) * FREQUENCY_MARGIN;
        let for_resolution = request
            .resolution_m
            .map_or(0.0, |r| start_hz + span_for(r, velocity.high));
        let least_hz = (quarter_wave_hz.high * QUARTER_WAVE_MARGIN)
            .max(for_frequencies)
            .max(for_resolution)
            .max(start_hz * 2.0);
        let mut needs = Self {
            one_way_delay_s,
            quarter_wave_hz,
            stop_hz: 0.0,
            step_hz: PHASE_STEP_DEG / 360.0 / (2.0 * one_way_delay_s.high),
            points: 0,
            reach: Reach::Needed,
        };
        needs.stop_at(round_up(least_hz, 2), request);
        needs.reach_out(request);
        needs
    }

    /// Moves the stop from what is needed up to a comfortable sweep, or as far towards it as the
    /// points follow the phase: points that the sweep has anyway are not left on the first quarter wave.
    fn reach_out(&mut self, request: &PlanRequest) {
        if self.points > request.points {
            return;
        }
        let comfortable_hz =
            (self.quarter_wave_hz.high * COMFORTABLE_QUARTER_WAVES).max(COMFORTABLE_HZ);
        let followed_hz = request.analyser_hz.low + self.widest_hz(request);
        let (stop_hz, reach) = if comfortable_hz <= followed_hz {
            // Rounding up could ask for a point too many: the last digits are given up then.
            let stop_hz = round_up(comfortable_hz, 2).min(followed_hz);
            (stop_hz, Reach::Comfortable)
        } else {
            (round_down(followed_hz, 2), Reach::Points)
        };
        if stop_hz > self.stop_hz {
            self.reach = reach;
            self.stop_at(stop_hz, request);
        }
    }

    /// Widest sweep whose phase is followed, Hz.
    fn widest_hz(&self, request: &PlanRequest) -> f64 {
        self.step_hz * (request.points - 1) as f64
    }

    fn stop_at(&mut self, stop_hz: f64, request: &PlanRequest) {
        self.stop_hz = stop_hz;
        let reachable_hz = stop_hz.min(request.analyser_hz.high);
        let span_hz = reachable_hz - request.analyser_hz.low;
        // 1 part in 10⁹ is let pass, as in `round_up`.
        self.points = (span_hz / self.step_hz - 1e-9).ceil() as usize + 1;
    }

    /// One sweep where the points suffice; else one from the start and one up to the stop, both
    /// fine enough to follow the phase.
    fn sweeps(&self, request: &PlanRequest) -> Vec<PlannedSweep> {
        let start_hz = request.analyser_hz.low;
        let stop_hz = self.stop_hz.min(request.analyser_hz.high);
        if self.points <= request.points {
            return vec![self.sweep(start_hz, stop_hz, request.points)];
        }
        let widest = self.widest_hz(request);
        let low_stop = round_down(start_hz + widest, 2);
        let wanted = highest(&request.frequencies_hz);
        let high_stop = if wanted > low_stop {
            round_up(wanted + 0.45 * widest, 3).min(stop_hz)
        } else {
            stop_hz
        };
        let high_start = round_up(high_stop - widest, 4).max(low_stop);
        vec![
            self.sweep(start_hz, low_stop, request.points),
            self.sweep(high_start, high_stop, request.points),
        ]
    }

    fn sweep(&self, start_hz: f64, stop_hz: f64, points: usize) -> PlannedSweep {
        let step_hz = (stop_hz - start_hz) / (points - 1) as f64;
        PlannedSweep {
            start_hz,
            stop_hz,
            points,
            step_hz,
            phase_step_deg: 360.0 * 2.0 * self.one_way_delay_s.high * step_hz,
        }
    }
}

fn check(request: &PlanRequest) -> Result<(), PlanError> {
    let ranges = [
        ("length", request.length_m),
        ("velocity factor", request.velocity_factor),
        ("analyser frequency", request.analyser_hz),
    ];
    if let Some(&(quantity, Range { low, high })) = ranges.iter().find(|(_, r)| !r.valid()) {
        return Err(PlanError::Range {
            quantity,
            low,
            high,
        });
    }
    if request.analyser_hz.low >= request.analyser_hz.high {
        return Err(PlanError::Range {
            quantity: "analyser frequency",
            low: request.analyser_hz.low,
            high: request.analyser_hz.high,
        });
    }
    let high = request.velocity_factor.high;
    if high > 1.0 {
        return Err(PlanError::VelocityFactor { high });
    }
    if request.points < MIN_POINTS {
        return Err(PlanError::Points {
            points: request.points,
        });
    }
    check_wanted("resolution", request.resolution_m.iter())?;
    check_wanted("frequency", request.frequencies_hz.iter())
}

fn check_wanted<'a>(
    quantity: &'static str,
    mut values: impl Iterator<Item = &'a f64>,
) -> Result<(), PlanError> {
    match values.find(|v| !(v.is_finite() && **v > 0.0)) {
        Some(&value) => Err(PlanError::NotPositive { quantity, value }),
        None => Ok(()),
    }
}

fn reasons(request: &PlanRequest, needs: &Needs, plan: &Plan) -> Vec<String> {
    let quarter = needs.quarter_wave_hz;
    let mut reasons = vec![
        format!(
            "start as low as the analyser goes, {}: the far end shows itself there, and R, L and C",
            format_frequency(request.analyser_hz.low)
        ),
        format!(
            "the first quarter wave, far end open, lies at {}; the stop leaves room above it",
            span_text(quarter)
        ),
    ];
    if let Some(resolution) = request.resolution_m {
        reasons.push(format!(
            "faults {} apart need a span of {}",
            format_length(resolution),
            format_frequency(span_for(resolution, request.velocity_factor.high))
        ));
    }
    if !request.frequencies_hz.is_empty() {
        reasons.push(format!(
            "the highest frequency asked for is {}",
            format_frequency(highest(&request.frequencies_hz))
        ));
    }
    match needs.reach {
        Reach::Needed => {}
        Reach::Points => reasons.push(format!(
            "the stop is as high as {} points follow the phase of this length: more crossings to average, and loss that shows",
            request.points
        )),
        Reach::Comfortable => reasons.push(format!(
            "the points allow {COMFORTABLE_QUARTER_WAVES} quarter waves or 100 MHz, whichever is higher: more crossings to average, and loss that shows"
        )),
    }
    let largest = largest_phase_step(plan);
    reasons.push(format!(
        "from point to point the phase turns {largest:.0}° at most; up to {PHASE_STEP_DEG:.0}° it is followed without doubt"
    ));
    if plan.sweeps.len() > 1 {
        reasons.push(format!(
            "one sweep would need {} points where {} are available, so it takes two",
            needs.points, request.points
        ));
    }
    reasons
}

fn shortfalls(request: &PlanRequest, needs: &Needs, plan: &Plan) -> Vec<String> {
    let reach = request.analyser_hz;
    let mut shortfalls = Vec::new();
    if needs.quarter_wave_hz.high > reach.high {
        shortfalls.push(format!(
            "the quarter wave may lie at {}, above the analyser's {}: use a longer piece",
            format_frequency(needs.quarter_wave_hz.high),
            format_frequency(reach.high)
        ));
    }
    for &f in &request.frequencies_hz {
        let within = |s: &PlannedSweep| (s.start_hz..=s.stop_hz).contains(&f);
        if !plan.sweeps.iter().any(within) {
            shortfalls.push(format!("{} is not covered", format_frequency(f)));
        }
    }
    if let Some(wanted) = request.resolution_m {
        let had = resolution_m(request, plan);
        if had > wanted * 1.001 {
            shortfalls.push(format!(
                "faults {} apart are not told apart: {} is the best these sweeps give",
                format_length(wanted),
                format_length(had)
            ));
        }
    }
    shortfalls
}

fn blind(request: &PlanRequest, plan: &Plan) -> Vec<String> {
    let (low, high) = (plan.sweeps[0], plan.sweeps[plan.sweeps.len() - 1]);
    let step_hz = low.step_hz.max(high.step_hz);
    let mut blind = vec![
        format!(
            "two faults closer together than {} look like one",
            format_length(resolution_m(request, plan))
        ),
        format!(
            "an echo from beyond {} would fold back and appear nearer",
            format_length(request.velocity_factor.low * SPEED_OF_LIGHT_M_S / (2.0 * step_hz))
        ),
        loss_limit(&[low.stop_hz.min(100e6), high.stop_hz]),
    ];
    if high.start_hz > low.stop_hz {
        blind.push(format!(
            "nothing is recorded from {} to {}",
            format_frequency(low.stop_hz),
            format_frequency(high.start_hz)
        ));
    }
    if low.start_hz > plan.quarter_wave_hz.low {
        blind.push(
            "the sweep starts above the first quarter wave: impedance along the cable is relative"
                .to_owned(),
        );
    }
    blind
}

/// Half of an error of the reflection of an open end is an error of the one-way loss.
fn loss_limit(freq_hz: &[f64]) -> String {
    let mut freq_hz = freq_hz.to_vec();
    freq_hz.dedup();
    let parts: Vec<String> = freq_hz
        .iter()
        .map(|&f| {
            let u = DB_PER_NEPER / 2.0 * Analyser::POCKET.residual(f);
            format!(
                "{:.2} dB at {}",
                COVERAGE_FACTOR_95 * u,
                format_frequency(f)
            )
        })
        .collect();
    format!(
        "from a single far end, loss below about {} is lost in what a kit calibration leaves",
        parts.join(" and ")
    )
}

/// Distance of two faults that are just told apart, m: of all sweeps joined where they meet, of
/// the widest where they do not.
fn resolution_m(request: &PlanRequest, plan: &Plan) -> f64 {
    let (first, last) = (plan.sweeps[0], plan.sweeps[plan.sweeps.len() - 1]);
    let span_hz = if last.start_hz <= first.stop_hz {
        last.stop_hz - first.start_hz
    } else {
        (first.stop_hz - first.start_hz).max(last.stop_hz - last.start_hz)
    };
    request.velocity_factor.high * SPEED_OF_LIGHT_M_S / (2.0 * span_hz)
}

/// Span that tells two faults `resolution_m` apart, Hz.
fn span_for(resolution_m: f64, velocity_factor: f64) -> f64 {
    velocity_factor * SPEED_OF_LIGHT_M_S / (2.0 * resolution_m)
}

fn largest_phase_step(plan: &Plan) -> f64 {
    plan.sweeps
        .iter()
        .map(|s| s.phase_step_deg)
        .fold(0.0, f64::max)
}

fn highest(values: &[f64]) -> f64 {
    values.iter().copied().fold(0.0, f64::max)
}

/// Next number above with so many significant digits, easy to set; 1 part in 10⁹ is let pass, so
/// that rounding twice changes nothing.
fn round_up(value: f64, digits: i32) -> f64 {
    let unit = last_digit(value, digits);
    (value / unit - 1e-9).ceil() * unit
}

/// Next number below with so many significant digits.
fn round_down(value: f64, digits: i32) -> f64 {
    let unit = last_digit(value, digits);
    (value / unit + 1e-9).floor() * unit
}

fn round(value: f64, digits: i32) -> f64 {
    let unit = last_digit(value, digits);
    (value / unit).round() * unit
}

fn last_digit(value: f64, digits: i32) -> f64 {
    10f64.powi(value.log10().floor() as i32 + 1 - digits)
}

fn span_text(range: Range) -> String {
    if range.low == range.high {
        format_frequency(range.low)
    } else {
        // Three digits: a rough length deserves no more.
        let short = |f: f64| format_frequency(round(f, 3));
        format!("{} to {}", short(range.low), short(range.high))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn request(length_m: Range, points: usize) -> PlanRequest {
        PlanRequest {
            length_m,
            velocity_factor: Range::exactly(0.66),
            points,
            analyser_hz: Range {
                low: 50e3,
                high: 900e6,
            },
            resolution_m: None,
            frequencies_hz: Vec::new(),
        }
    }

    #[test]
    fn two_metres_of_solid_polyethylene_have_their_quarter_wave_near_24_mhz() {
        // practice-cases.csv PC36: 2 m of 75-ohm cable, half turn of the chart at 24 MHz, which
        // is a velocity factor of 0.64.
        let mut asked = request(Range::exactly(2.0), 401);
        asked.velocity_factor = Range::exactly(0.64);
        let got = plan(&asked).unwrap();
        assert!((got.quarter_wave_hz.low - 24e6).abs() < 0.1e6, "{got:?}");
        assert_eq!(got.sweeps.len(), 1);
        assert!(got.sweeps[0].stop_hz >= 36e6);
        assert!(got.shortfalls.is_empty());
    }

    #[test]
    fn the_phase_step_is_kept_and_the_points_too() {
        for (length, points) in [(0.3, 51), (10.0, 101), (60.0, 401), (300.0, 101)] {
            let mut asked = request(Range::about(length, 0.1), points);
            asked.frequencies_hz = vec![145e6];
            let got = plan(&asked).unwrap();
            for s in &got.sweeps {
                assert!(
                    s.phase_step_deg <= PHASE_STEP_DEG + 1e-6,
                    "{length} m: {s:?}"
                );
                assert_eq!(s.points, points);
                assert!(s.stop_hz > s.start_hz);
            }
            assert!(got.shortfalls.is_empty(), "{:?}", got.shortfalls);
            assert!(covers(&got, 145e6), "{length} m: {:?}", got.sweeps);
        }
    }

    /// At velocity factor 0.66 the stop fell from 110 MHz (50 m) to 1.4 MHz (60 m).
    /// Points that are there are used: a longer cable takes the stop down in proportion to its
    /// delay, never by more.
    #[test]
    fn a_longer_cable_takes_the_stop_down_in_proportion() {
        for points in [101, 201, 401] {
            let mut before: Option<(f64, f64)> = None;
            for step in 0..80 {
                let length_m = 10.0 * 1.05f64.powi(step);
                let got = plan(&request(Range::exactly(length_m), points)).unwrap();
                assert_eq!(got.sweeps.len(), 1, "{length_m} m: {got:?}");
                let stop_hz = got.sweeps[0].stop_hz;
                assert!(got.sweeps[0].phase_step_deg <= PHASE_STEP_DEG + 1e-6);
                if let Some((shorter_m, stop_before_hz)) = before {
                    // Two significant digits round by up to a tenth.
                    let least = stop_before_hz * shorter_m / length_m * 0.9;
                    assert!(
                        stop_hz >= least,
                        "{length_m} m, {points} points: {stop_hz} Hz after {stop_before_hz} Hz"
                    );
                }
                before = Some((length_m, stop_hz));
            }
        }
        let long = plan(&request(Range::exactly(60.0), 201)).unwrap();
        assert!(long.reasons.iter().any(|r| r.contains("201 points follow")));
    }

    fn covers(plan: &Plan, freq_hz: f64) -> bool {
        let within = |s: &PlannedSweep| (s.start_hz..=s.stop_hz).contains(&freq_hz);
        plan.sweeps.iter().any(within)
    }

    #[test]
    fn a_long_cable_and_a_high_frequency_take_two_sweeps_and_leave_a_gap() {
        let mut asked = request(Range::exactly(60.0), 201);
        asked.frequencies_hz = vec![430e6];
        let got = plan(&asked).unwrap();
        assert_eq!(got.sweeps.len(), 2);
        assert!(got.sweeps[1].stop_hz >= 430e6);
        assert!(
            got.blind
                .iter()
                .any(|b| b.starts_with("nothing is recorded"))
        );
    }

    #[test]
    fn resolution_sets_the_span() {
        // Own check of v/(2·span): 0.66·c/(2·0.1 m) = 989 MHz, more than the analyser has.
        let mut asked = request(Range::exactly(5.0), 1001);
        asked.resolution_m = Some(0.1);
        let got = plan(&asked).unwrap();
        assert_eq!(got.sweeps[0].stop_hz, 900e6);
        assert_eq!(got.shortfalls.len(), 1, "{:?}", got.shortfalls);
        asked.resolution_m = Some(0.2);
        assert!(plan(&asked).unwrap().shortfalls.is_empty());
    }

    #[test]
    fn nonsense_is_refused() {
        let bad = request(
            Range {
                low: 3.0,
                high: 2.0,
            },
            401,
        );
        assert!(matches!(plan(&bad), Err(PlanError::Range { .. })));
        let bad = request(Range::exactly(f64::NAN), 401);
        assert!(matches!(plan(&bad), Err(PlanError::Range { .. })));
        let bad = request(Range::exactly(2.0), 2);
        assert_eq!(plan(&bad), Err(PlanError::Points { points: 2 }));
        let mut bad = request(Range::exactly(2.0), 401);
        bad.velocity_factor = Range::exactly(1.2);
        assert_eq!(plan(&bad), Err(PlanError::VelocityFactor { high: 1.2 }));
    }
}
