//! Match at centre: does the loaded curve shrink to the centre of the chart?
//!
//! A line that equals its load reads its load at every frequency. Any other line of impedance Zc
//! draws a circle between Γ of the load and about 2ρ, ρ = (Zc − ZL)/(Zc + ZL), widest at the
//! quarter wave, where it reads Zc²/ZL. Below a quarter wave one point gives two equations for Zc
//! and the electrical length, with the solution
//! Zc² = R ZL + X² ZL/(R − ZL) (lossless input-impedance formula solved for Zc).
//!
//! The far-end load counts with its own value, and whether it is the calibration load. The verdict
//! compares with the usual tolerance of ±5 % about the nominal impedance (50 ± 2 ohm is the rule
//! of type sheets).

use num_complex::Complex64;

use crate::bench::{Bench, EndedSweep, FarEnd};
use crate::constants::SPEED_OF_LIGHT_M_S;
use crate::sweep::impedance_of_reflection;
use crate::uncertain::{Uncertain, propagate};

use super::budget::{far_load_ratio, far_load_shares_scale, open_or_short, reflection_u, scale};
use super::text::{hertz, metres, number, ohm, plain};
use super::{Method, Report, Unserved, UsedPoint, loss, quarter_wave};

const METHOD: Method = Method::MatchAtCentre;

/// Relative tolerance within which a cable counts as matched.
pub const TOLERANCE_REL: f64 = 0.05;

/// Probability above which the verdict is stated without reserve.
const SURE: f64 = 0.95;

/// Largest reflection that still is a match: 20 dB of return loss, VSWR 1.22. A cable within the tolerance
/// draws a circle of 0.05, and good plugs add about as much. Common practice.
const MATCHED: f64 = 0.1;

/// Impedances that cables are made for, ohm.
const USUAL_OHM: [f64; 7] = [25.0, 50.0, 60.0, 75.0, 93.0, 100.0, 125.0];

/// Electrical length assumed where neither a sweep nor a tape tells it, rad: 30 degrees.
const ASSUMED_LINE_RAD: f64 = std::f64::consts::FRAC_PI_6;

/// Both parts of a chord must be this many times their uncertainty: the formula divides by one.
const RESOLVED: f64 = 5.0;

/// Points looked at; a finer grid shows nothing more of a curve that spans a few turns.
const MOST_POINTS: usize = 400;

/// The answer to "is it 50 ohm?" (or whatever the reference is).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Within the tolerance, sure.
    Match,
    /// Outside the tolerance, sure.
    NotAMatch,
    /// The sweep can't tell.
    Undetermined,
}

/// How far the loaded curve is from the centre and what that says.
#[derive(Clone, Debug)]
pub struct Assessment {
    /// The answer.
    pub verdict: Verdict,
    /// Probability that the impedance lies within the tolerance of the reference.
    pub probability: f64,
    /// Nominal impedance that it was compared with, ohm.
    pub nominal_ohm: f64,
    /// Characteristic impedance, ohm.
    pub impedance_ohm: Uncertain,
    /// Frequency of the point that gave it, Hz.
    pub at_hz: f64,
    /// Largest reflection against the reference.
    pub largest_reflection: f64,
    /// Frequency of the largest reflection, Hz.
    pub largest_at_hz: f64,
    /// Sentence for people.
    pub text: String,
    working: Vec<String>,
    condition: Option<String>,
}

/// Zc from one point of a loaded line without loss, ohm; absent where the point lies on the load.
pub fn impedance_ohm(z_in_ohm: Complex64, z_load_ohm: f64) -> Option<f64> {
    let (r, x) = (z_in_ohm.re, z_in_ohm.im);
    // tan y from real and imaginary part of Zin = Zc(ZL + jZc tan y)/(Zc + jZL tan y), put back in
    let square = z_load_ohm * (r + x * x / (r - z_load_ohm));
    (square.is_finite() && square > 0.0).then(|| square.sqrt())
}

/// Judges the loaded sweep.
///
/// # Errors
/// [`Unserved`] if there is no sweep with a load at the far end.
pub fn assess(bench: &Bench) -> Result<Assessment, Unserved> {
    let loaded = bench
        .first(FarEnd::Load)
        .ok_or_else(|| Unserved::new(METHOD, "no sweep with a load at the far end"))?;
    let curve = LoadedCurve::of(bench, loaded);
    let (largest_at_hz, largest) = curve.largest();
    let (impedance, at_hz, working, condition) = by_quarter_wave(bench)
        .or_else(|| by_best_point(bench, &curve))
        .unwrap_or_else(|| bounded(bench, &curve));
    let nominal_ohm = nominal(loaded.sweep.z_ref_ohm());
    let probability = probability_within(impedance, nominal_ohm);
    let mut assessment = Assessment {
        verdict: verdict(probability),
        probability,
        nominal_ohm,
        impedance_ohm: impedance,
        at_hz,
        largest_reflection: largest,
        largest_at_hz,
        text: String::new(),
        working,
        condition,
    };
    assessment.text = sentence(&assessment);
    Ok(assessment)
}

/// The assessment as a report; its first remark is the sentence for people.
///
/// # Errors
/// As [`assess`].
pub fn from_bench(bench: &Bench) -> Result<Report, Unserved> {
    let found = assess(bench)?;
    let mut report = Report::new(METHOD);
    report.impedance_ohm = Some(found.impedance_ohm);
    report.at_hz = Some(found.at_hz);
    report.working.push(format!(
        "|Γ| reaches {} at {}",
        number(found.largest_reflection),
        hertz(found.largest_at_hz)
    ));
    report.working.extend(found.working);
    report.working.push(format!(
        "probability of lying within {} % of {}: {:.3}",
        plain(100.0 * TOLERANCE_REL, 3),
        ohm(found.nominal_ohm),
        found.probability
    ));
    report.remarks.push(found.text);
    report.remarks.extend(found.condition);
    let loaded = bench.first(FarEnd::Load);
    if let Some((loaded, index)) = loaded.and_then(|l| {
        let at = l
            .sweep
            .freq_hz()
            .iter()
            .position(|&f| f == found.largest_at_hz)?;
        Some((l, at))
    }) {
        report.used.push(UsedPoint {
            name: "farthest from the centre".to_owned(),
            sweep: loaded.label.clone(),
            freq_hz: found.largest_at_hz,
            reflection: loaded.sweep.reflection()[index],
        });
    }
    report.finished()
}

/// The loaded curve with what each point may be off by.
struct LoadedCurve {
    z_ref_ohm: f64,
    z_load_ohm: f64,
    stop_hz: f64,
    /// Frequency, reflection, uncertainty.
    points: Vec<(f64, Complex64, f64)>,
}

type Found = (Uncertain, f64, Vec<String>, Option<String>);

impl LoadedCurve {
    fn of(bench: &Bench, loaded: &EndedSweep) -> Self {
        let sweep = &loaded.sweep;
        // every so many points, so that thousands cost no more than hundreds
        let step = sweep.len().div_ceil(MOST_POINTS);
        let points = (0..sweep.len())
            .step_by(step)
            .map(|k| {
                let f = sweep.freq_hz()[k];
                let u = reflection_u(&bench.analyser, f, sweep.z_ref_ohm(), 1.0);
                (f, sweep.reflection()[k], u)
            })
            .collect();
        Self {
            z_ref_ohm: sweep.z_ref_ohm(),
            z_load_ohm: bench.far_load.ohm.value,
            stop_hz: sweep.stop_hz(),
            points,
        }
    }

    fn largest(&self) -> (f64, f64) {
        self.points
            .iter()
            .map(|&(f, g, _)| (f, g.norm()))
            .fold((0.0, -1.0), |a, b| if b.1 > a.1 { b } else { a })
    }

    fn chord(&self, reflection: Complex64) -> Complex64 {
        let load = (self.z_load_ohm - self.z_ref_ohm) / (self.z_load_ohm + self.z_ref_ohm);
        reflection - load
    }
}

/// A curve that hardly leaves its load: |chord| = 2ρ sin y bounds ρ where y is large enough.
fn bounded(bench: &Bench, curve: &LoadedCurve) -> Found {
    let (rad_per_hz, basis) = line_per_hz(bench, curve.stop_hz);
    let (mut largest, mut at_hz, mut bound) = (0.0, 0.0, f64::INFINITY);
    for &(freq_hz, g, u) in &curve.points {
        // Past the quarter wave the curve comes back; its largest chord so far counts.
        largest = curve.chord(g).norm().max(largest);
        let line_rad = (freq_hz * rad_per_hz).min(std::f64::consts::FRAC_PI_2);
        // what the curve may have been within 95 %, over what a reflection ρ would make of it at this length
        let here = (largest + 2.0 * u) / (2.0 * line_rad.sin()).max(1e-3);
        if here < bound {
            (at_hz, bound) = (freq_hz, here);
        }
    }
    let z_load_ohm = curve.z_load_ohm;
    // the cable is as unsure as the load that it is compared with
    let load = far_load_ratio(bench)
        .relative()
        .hypot(scale(bench).relative());
    // ±2ρ is a 95 % bound of the relative deviation.
    let z0 = Uncertain::new(z_load_ohm, z_load_ohm * bound.min(1.0).hypot(load));
    let working = vec![format!(
        "the curve stays at its load within 2ρ sin y: ρ below {} at {}, so Zc = {} ± {}",
        number(bound),
        hertz(at_hz),
        ohm(z_load_ohm),
        ohm(2.0 * z_load_ohm * bound)
    )];
    (z0, at_hz, working, basis)
}

/// Electrical length per hertz, rad, as other sweeps or the tape tell it.
fn line_per_hz(bench: &Bench, stop_hz: f64) -> (f64, Option<String>) {
    if let Ok(trace) = open_or_short(bench, METHOD) {
        return (std::f64::consts::PI * trace.round_trip_delay_s, None);
    }
    if let Some(length) = bench.length_m {
        // The least delay that the length allows, air dielectric.
        let delay_s = length.value / SPEED_OF_LIGHT_M_S;
        return (std::f64::consts::TAU * delay_s, None);
    }
    let per_hz = ASSUMED_LINE_RAD / stop_hz.max(1.0);
    // stated for solid polyethylene; what it assumes is said with it
    let length_m = 0.66 * SPEED_OF_LIGHT_M_S * per_hz / std::f64::consts::TAU;
    let condition = format!(
        "holds for a piece longer than {}; a shorter one would not show",
        metres(length_m)
    );
    (per_hz, Some(condition))
}

fn by_quarter_wave(bench: &Bench) -> Option<Found> {
    let report = quarter_wave::from_bench(bench).ok()?;
    Some((report.impedance_ohm?, report.at_hz?, report.working, None))
}

/// The point of the curve that tells most; none if all lie too near the load.
fn by_best_point(bench: &Bench, curve: &LoadedCurve) -> Option<Found> {
    let best = curve
        .points
        .iter()
        .filter_map(|&(f, g, u)| Some((f, g, at_point(bench, curve, f, g, u)?)))
        .min_by(|a, b| a.2.relative().total_cmp(&b.2.relative()))?;
    let (freq_hz, g, z0) = best;
    let z = impedance_of_reflection(g, curve.z_ref_ohm);
    let working = vec![format!(
        "at {}: sqrt({} × {} + {}² × {} / ({} − {})) = {}",
        hertz(freq_hz),
        number(z.re),
        number(curve.z_load_ohm),
        number(z.im),
        number(curve.z_load_ohm),
        number(z.re),
        number(curve.z_load_ohm),
        ohm(z0.value)
    )];
    Some((z0, freq_hz, working, None))
}

fn at_point(
    bench: &Bench,
    curve: &LoadedCurve,
    freq_hz: f64,
    g: Complex64,
    u: f64,
) -> Option<Uncertain> {
    // Half the imaginary part of Zc relative to it bends the curve like an error of the reading.
    let u = u.hypot(0.5 * loss::typical(freq_hz, 1.0).np.value);
    let chord = curve.chord(g);
    if chord.re.abs() < RESOLVED * u || chord.im.abs() < RESOLVED * u {
        return None;
    }
    let shares = far_load_shares_scale(bench);
    let inputs = [
        scale(bench),
        far_load_ratio(bench),
        Uncertain::new(0.0, u),
        Uncertain::new(0.0, u),
    ];
    let z0 = propagate(inputs, |[unit, ratio, re, im]| {
        let g = g + Complex64::new(re, im);
        let z = impedance_of_reflection(g, curve.z_ref_ohm) * unit;
        let z_load = curve.z_load_ohm * ratio * if shares { unit } else { 1.0 };
        impedance_ohm(z, z_load).unwrap_or(f64::NAN)
    });
    // tan y = Zc (R − ZL)/(X ZL), from the real and imaginary part of the input impedance
    let z = impedance_of_reflection(g, curve.z_ref_ohm);
    let line_rad = (z0.value * (z.re - curve.z_load_ohm) / (z.im * curve.z_load_ohm)).atan();
    // the point itself shows the turn less whole ones; other sweeps or the tape know of those
    let (rad_per_hz, assumed) = line_per_hz(bench, curve.stop_hz);
    let known_rad = if assumed.is_none() {
        freq_hz * rad_per_hz
    } else {
        0.0
    };
    let x = loss::typical(freq_hz, known_rad.max(line_rad.abs()))
        .np
        .value;
    let lossy = 0.5 * x * (z.re - curve.z_load_ohm) / z0.value;
    let found = z0.widened(z0.value * lossy);
    (found.value.is_finite() && found.u.is_finite() && found.value > 0.0).then_some(found)
}

fn probability_within(z0: Uncertain, nominal_ohm: f64) -> f64 {
    let below = |limit: f64| {
        // normal distribution function by erf(x/√2)
        let distance = (limit - z0.value) / (z0.u.max(1e-9) * 2f64.sqrt());
        0.5 * (1.0 + libm::erf(distance))
    };
    below(nominal_ohm * (1.0 + TOLERANCE_REL)) - below(nominal_ohm * (1.0 - TOLERANCE_REL))
}

fn verdict(probability: f64) -> Verdict {
    if probability > SURE {
        Verdict::Match
    } else if probability < 1.0 - SURE {
        Verdict::NotAMatch
    } else {
        Verdict::Undetermined
    }
}

/// The usual impedance within 4 % of a value, or the value itself.
fn nominal(z_ohm: f64) -> f64 {
    let near = |n: &f64| (z_ohm / n - 1.0).abs() < 0.04;
    USUAL_OHM.into_iter().find(near).unwrap_or(z_ohm)
}

fn sentence(a: &Assessment) -> String {
    let nominal_ohm = plain(a.nominal_ohm, 3);
    let reaches = reflection_text(a.largest_reflection);
    match a.verdict {
        Verdict::Match if a.largest_reflection <= MATCHED => {
            format!("a match to {nominal_ohm} ohm: |Γ| stays below {reaches}")
        }
        Verdict::Match => format!(
            "the cable is {nominal_ohm} ohm, but the line is no match as it is: |Γ| reaches {reaches} at {}, which \
             plugs, an adapter or a fault make, not the cable's impedance",
            hertz(a.largest_at_hz)
        ),
        Verdict::NotAMatch => format!(
            "not a match: |Γ| reaches {reaches}, as {} ohm would",
            plain(nominal(a.impedance_ohm.value), 3)
        ),
        Verdict::Undetermined => format!(
            "can't tell whether it matches {nominal_ohm} ohm: |Γ| reaches {reaches}, the cable is {} ± {} ohm",
            plain(a.impedance_ohm.value, 3),
            plain(a.impedance_ohm.u95(), 2)
        ),
    }
}

/// Reflection from which calibration does not tell it from a total one: 0.09 dB of return loss. Common practice.
const TOTAL: f64 = 0.99;

/// `0.2 (14 dB return loss)`; of a total reflection, which errors may read above 1, what that means.
fn reflection_text(reflection: f64) -> String {
    if reflection >= TOTAL {
        return "1 (all of it comes back)".to_owned();
    }
    format!(
        "{} ({} dB return loss)",
        plain(reflection, 2),
        plain(-20.0 * reflection.log10(), 2)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 14 dB was called a match.
    #[test]
    fn fourteen_decibels_are_no_match_whatever_the_impedance() {
        let assessment = |largest_reflection| Assessment {
            verdict: Verdict::Match,
            probability: 0.99,
            nominal_ohm: 50.0,
            impedance_ohm: Uncertain::new(50.1, 0.5),
            at_hz: 1e8,
            largest_reflection,
            largest_at_hz: 430e6,
            text: String::new(),
            working: Vec::new(),
            condition: None,
        };
        let poor = sentence(&assessment(0.2));
        assert!(poor.contains("no match as it is"), "{poor}");
        assert!(poor.contains("14 dB return loss"), "{poor}");
        let total = sentence(&assessment(1.001));
        assert!(total.contains("1 (all of it comes back)"), "{total}");
        let good = sentence(&assessment(0.05));
        assert!(good.starts_with("a match to 50 ohm"), "{good}");
    }

    #[test]
    fn one_point_below_the_quarter_wave_gives_the_impedance() {
        for z0 in [35.0, 62.0, 75.0, 93.0] {
            let tan = 0.7f64.tan();
            let z_in = z0 * Complex64::new(50.0, z0 * tan) / Complex64::new(z0, 50.0 * tan);
            let found = impedance_ohm(z_in, 50.0).unwrap();
            assert!((found - z0).abs() < 1e-9, "{found} for {z0}");
        }
    }
}
