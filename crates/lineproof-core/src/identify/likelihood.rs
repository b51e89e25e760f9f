//! How well a type, or none, explains what was seen: logarithm of a probability density in ohm,
//! velocity factor, ln loss and ln diameter, the same units for all, so that they compare.

use nalgebra::{DMatrix, DVector};

use super::observed::{LossSeen, Observed};
use crate::catalogue::{CONDUCTOR_SPREAD, CableType, Catalogue, DIELECTRIC_SPREAD, Figure};
use crate::uncertain::Uncertain;

/// Part of pieces that are off by more than the spread, and how many times wider they spread.
const ODD_PIECES: f64 = 0.02;
const ODD_WIDTH: f64 = 4.0;
/// Spread of diameters between makers, k = 1, relative: sheets of one designation differ by some
/// 2 % (RG-178 dielectric 0.84 and 0.86 mm, RG-58 conductor 0.889 and 0.91 mm in the tables).
const DIAMETER_SPREAD: f64 = 0.02;
/// What a single point of a printed loss is off its law, k = 1.
const POINT_SPREAD: f64 = 0.03;
/// Part of a measured loss's uncertainty that is common to all frequencies, as a correlation.
const COMMON_ERROR: f64 = 0.7;
/// Probability that a quality judged by eye (solid or foam, stranded or not) is right.
const EYE: f64 = 0.95;
/// Probability that the marking is right.
const MARKING: f64 = 0.9;

/// Spans that "none of these" is spread evenly over: impedance 25 to 125 ohm, velocity factor 0.5
/// to 1, loss over a factor of e³, diameters over e².
const NONE_OHM: f64 = 100.0;
const NONE_VELOCITY: f64 = 0.5;
const NONE_LN_LOSS: f64 = 3.0;
const NONE_LN_DIAMETER: f64 = 2.0;
/// How far the losses of an unknown cable at several frequencies may lie off √f or f, in ln.
const NONE_LN_SHAPE: f64 = 0.5;

/// Log density of a cable that the catalogue does not have.
pub(super) fn of_none(seen: &Observed) -> f64 {
    let diameters = [
        seen.jacket_diameter_m,
        seen.dielectric_diameter_m,
        seen.inner_diameter_m,
    ];
    let mut sum = 0.0;
    sum -= seen.impedance_ohm.map_or(0.0, |_| NONE_OHM.ln());
    sum -= seen.velocity_factor.map_or(0.0, |_| NONE_VELOCITY.ln());
    sum -= diameters.iter().flatten().count() as f64 * NONE_LN_DIAMETER.ln();
    sum -= seen.capacitance_f_m.map_or(0.0, |_| NONE_LN_DIAMETER.ln());
    if !seen.loss.is_empty() {
        sum -= NONE_LN_LOSS.ln() + (seen.loss.len() - 1) as f64 * NONE_LN_SHAPE.ln();
    }
    sum += seen.filling.map_or(0.0, |_| 0.25f64.ln());
    sum += seen.stranded.map_or(0.0, |_| 0.5f64.ln());
    sum += seen.magnetic.map_or(0.0, |_| 0.5f64.ln());
    sum + seen.marking.as_ref().map_or(0.0, |_| 0.1f64.ln())
}

/// Log density of a piece of this type.
pub(super) fn of_type(t: &CableType, seen: &Observed) -> f64 {
    parts(t, seen).iter().map(|(_, log, _)| log).sum()
}

/// The quantity that speaks most against the type, in standard deviations; `None` if none does by
/// three.
pub(super) fn worst(t: &CableType, seen: &Observed) -> Option<&'static str> {
    parts(t, seen)
        .into_iter()
        .filter(|(_, _, off)| *off > 3.0)
        .max_by(|a, b| a.2.total_cmp(&b.2))
        .map(|(quantity, ..)| quantity)
}

type Part = (&'static str, f64, f64);

/// Each quantity seen, its log density and how many standard deviations it is off.
fn parts(t: &CableType, seen: &Observed) -> Vec<Part> {
    let mut parts = Vec::new();
    if let Some(z) = seen.impedance_ohm {
        let nominal = Uncertain::new(t.z0_ohm.value, t.z0_spread_ohm());
        parts.push(scalar("impedance", z, nominal));
    }
    if let Some(vf) = seen.velocity_factor {
        let nominal = Uncertain::new(t.velocity_factor.value, t.velocity_spread());
        parts.push(scalar("velocity factor", vf, nominal));
    }
    parts.extend(losses(t, seen));
    let sizes = [
        (
            "outside diameter",
            seen.jacket_diameter_m,
            &t.jacket_diameter_m,
            DIAMETER_SPREAD,
        ),
        (
            "dielectric diameter",
            seen.dielectric_diameter_m,
            &t.dielectric_diameter_m,
            DIAMETER_SPREAD,
        ),
        (
            "inner conductor",
            seen.inner_diameter_m,
            &t.inner_diameter_m,
            DIAMETER_SPREAD,
        ),
        (
            "capacitance",
            seen.capacitance_f_m,
            &t.capacitance_f_m,
            DIAMETER_SPREAD,
        ),
    ];
    for (name, seen, known, spread) in sizes {
        parts.extend(seen.map(|seen| size(name, seen, known.as_ref(), spread)));
    }
    parts.extend(seen.filling.map(|f| eye("dielectric", f == t.filling, 3.0)));
    let stranded = seen.stranded.zip(t.strands);
    parts.extend(stranded.map(|(s, n)| eye("strands", s == (n > 1), 1.0)));
    parts.extend(
        seen.magnetic
            .map(|m| eye("magnet", m == t.has_steel_core(), 1.0)),
    );
    parts.extend(seen.marking.as_ref().map(|text| marking(t, text)));
    parts
}

/// A value against a nominal one, both with their spread, in the value's own unit.
fn scalar(name: &'static str, seen: Uncertain, nominal: Uncertain) -> Part {
    let sigma = seen.u.hypot(nominal.u);
    let off = (seen.value - nominal.value) / sigma;
    (name, mixture(off * off, sigma.ln(), 1.0), off.abs())
}

/// Log density of a normal mixture: the usual pieces and the odd ones.
fn mixture(square: f64, ln_volume: f64, dimensions: f64) -> f64 {
    let ln_norm = -0.5 * dimensions * std::f64::consts::TAU.ln() - ln_volume;
    let usual = (1.0 - ODD_PIECES).ln() - 0.5 * square;
    let odd = ODD_PIECES.ln() - dimensions * ODD_WIDTH.ln() - 0.5 * square / ODD_WIDTH.powi(2);
    let high = usual.max(odd);
    ln_norm + high + ((usual - high).exp() + (odd - high).exp()).ln()
}

/// A size in logarithms. A type without the figure can have any.
fn size(name: &'static str, seen: Uncertain, known: Option<&Figure>, spread: f64) -> Part {
    match known {
        Some(known) => {
            let seen = Uncertain::new(seen.value.ln(), seen.relative());
            scalar(name, seen, Uncertain::new(known.value.ln(), spread))
        }
        None => (name, -NONE_LN_DIAMETER.ln(), 0.0),
    }
}

/// A judgement by eye, with `others` further answers.
fn eye(name: &'static str, fits: bool, others: f64) -> Part {
    if fits {
        (name, EYE.ln(), 0.0)
    } else {
        (name, ((1.0 - EYE) / others).ln(), 3.5)
    }
}

fn marking(t: &CableType, text: &str) -> Part {
    let means = Catalogue::built_in().all_named(text);
    let fits = means.iter().any(|m| m.designation == t.designation) || t.designation == text;
    // A name that means several is as likely for each of them.
    let likelihood = if fits { MARKING } else { 1.0 - MARKING };
    ("marking", likelihood.ln(), 0.0)
}

/// All losses together: a common factor between pieces for the conductors' part, one for the
/// dielectric's, the law's own error at each point, and what was measured.
fn losses(t: &CableType, seen: &Observed) -> Option<Part> {
    let vf = seen
        .velocity_factor
        .map_or(t.velocity_factor.value, |v| v.value);
    let rows: Vec<(&LossSeen, f64, f64)> = seen
        .loss
        .iter()
        .filter_map(|l| {
            let typical = t.loss.typical_db_m(l.freq_hz).ok()?;
            Some((l, typical.value, t.loss.dielectric_share(l.freq_hz)))
        })
        .filter(|(l, ..)| l.db.value > 0.0)
        .collect();
    // Losses that the catalogue does not reach count as they do for none of the types.
    let missing = (seen.loss.len() - rows.len()) as f64;
    let unknown = if missing > 0.0 {
        -missing * NONE_LN_SHAPE.ln() - NONE_LN_LOSS.ln()
    } else {
        0.0
    };
    if rows.is_empty() {
        return (!seen.loss.is_empty()).then_some(("loss", -NONE_LN_LOSS.ln(), 0.0));
    }
    let limit = if t.loss.is_limit() { 0.05 } else { 0.0 };
    let off = DVector::from_iterator(
        rows.len(),
        rows.iter()
            .map(|(l, typical, _)| (l.db_m(vf).value / typical).ln()),
    );
    let covariance = DMatrix::from_fn(rows.len(), rows.len(), |i, j| {
        let ((a, _, share_a), (b, _, share_b)) = (&rows[i], &rows[j]);
        let conductors = CONDUCTOR_SPREAD.powi(2) * (1.0 - share_a) * (1.0 - share_b);
        let dielectric = DIELECTRIC_SPREAD.powi(2) * share_a * share_b;
        let own = if i == j { POINT_SPREAD.powi(2) } else { 0.0 };
        let common = if i == j { 1.0 } else { COMMON_ERROR };
        let measured = common * a.db.relative() * b.db.relative();
        conductors + dielectric + own + measured + limit * limit
    });
    let cholesky = covariance.cholesky()?;
    let white = cholesky.solve(&off);
    let square = off.dot(&white);
    let ln_volume: f64 = cholesky.l().diagonal().iter().map(|d| d.ln()).sum();
    let dimensions = rows.len() as f64;
    let log = mixture(square, ln_volume, dimensions);
    Some(("loss", log + unknown, (square / dimensions).sqrt()))
}
