//! Two sets of sweeps of one cable: what changed beyond what the sweeps can tell, and where.
//!
//! Quantities: a change counts beyond 2.39 combined standard uncertainties. Both sets are taken
//! as measured in units of the same load and as having the same length, so neither adds to the
//! interval of a change; the temperature does, unless it is said to be the same. Sweeps with the same far end
//! are compared against time as well ([`crate::difference`]).

use crate::bench::{Bench, FarEnd};
use crate::difference::{Changed, Difference, Whereabouts, difference};
use crate::estimate::{Estimate, estimate};
use crate::finding::judge::doubt;
use crate::finding::judge::events;
use crate::finding::judge::stated::{
    SETTLED_HZ, TYPICAL_VELOCITY_FACTOR, USUAL_HZ, finite, stated_hz,
};
use crate::finding::{SCHEMA, SweepUsed, Warning, WarningCode, from_u95};
use crate::gather::Gathered;
use crate::method::velocity;
use crate::quantity::{format_delay, format_frequency, format_length};
use crate::time_domain::distance::Scale;
use crate::uncertain::Uncertain;

/// Combined standard uncertainties beyond which a quantity changed: three quantities and one in
/// twenty comparisons wrong by chance, 1 − 0.05/3 of a normal distribution.
const COVERAGE: f64 = 2.39;
/// How far apart two temperatures may be that nobody noted, K (rectangular half-width). Common practice.
const TEMPERATURES_K: f64 = 5.0;
/// What a kelvin does to the loss, relative: half of copper's 0.39 %, skin effect taking the root.
const LOSS_PER_K: f64 = 0.002;
/// What a kelvin does to delay and impedance, relative: the least that is quoted of ordinary cables.
const DELAY_PER_K: f64 = 200e-6;

/// How two sets of sweeps are compared.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Compare {
    /// Whether the two sets were calibrated with different loads.
    pub other_load: bool,
    /// Whether the cable had the same temperature both times.
    pub same_temperature: bool,
    /// Further frequencies for the loss, Hz.
    pub frequencies_hz: Vec<f64>,
}

/// What changed between two sets of sweeps.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct Comparison {
    /// Number of this layout: [`SCHEMA`].
    pub schema: u32,
    /// Version of the program that made it.
    pub program_version: &'static str,
    /// Whether anything changed; absent if nothing could be compared.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub changed: Option<bool>,
    /// The first set.
    pub before: Vec<SweepUsed>,
    /// The second set.
    pub after: Vec<SweepUsed>,
    /// Quantities of both.
    pub quantities: Vec<QuantityCompared>,
    /// Sweeps with the same far end.
    pub sweeps: Vec<SweepsCompared>,
    /// What the reader must know.
    pub warnings: Vec<Warning>,
    /// What would tell more.
    pub advice: Vec<String>,
}

/// One quantity before and after; `u95` are half-widths of 95 % intervals, those of before and after
/// without what both have in common.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct QuantityCompared {
    /// `impedance`, `delay`, `velocity factor` or `loss`.
    pub quantity: &'static str,
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Unit of the numbers; empty for a ratio.
    pub unit: &'static str,
    /// Value before.
    pub before: f64,
    /// 95 % half-width of it.
    pub u95_before: f64,
    /// Value after.
    pub after: f64,
    /// 95 % half-width of it.
    pub u95_after: f64,
    /// After less before.
    pub change: f64,
    /// 95 % half-width of it.
    pub u95_change: f64,
    /// Whether the change is beyond its interval.
    pub changed: bool,
}

/// Two sweeps with the same far end.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct SweepsCompared {
    /// What ended the cable.
    pub far_end: String,
    /// File of the first set.
    pub before: String,
    /// File of the second set.
    pub after: String,
    /// Places that changed, nearest first.
    pub places: Vec<PlaceChanged>,
    /// Reflection that a change along the cable has to exceed to be told.
    pub told_above: f64,
    /// Changes closer than this, m, look as one.
    pub cell_m: f64,
}

/// A place at which the sweeps differ.
#[derive(Clone, Debug)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PlaceChanged {
    /// Distance from the plug at the analyser, m.
    pub at_m: f64,
    /// 95 % half-width of it, m.
    pub u95_m: f64,
    /// Time there and back, s.
    pub two_way_s: f64,
    /// `near plug`, `along` or `far end`.
    pub whereabouts: &'static str,
    /// Size of the change, as a reflection at the near end.
    pub reflection: f64,
    /// `open` or `short`: which way the reflection went, where the sweeps show it.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub towards: Option<&'static str>,
    /// The same for people.
    pub text: String,
}

/// What changed from one set of sweeps of a cable to another.
pub fn compare(mut before: Gathered, mut after: Gathered, asked: &Compare) -> Comparison {
    let mut comparison = Comparison {
        schema: SCHEMA,
        program_version: env!("CARGO_PKG_VERSION"),
        changed: None,
        before: before.sweeps,
        after: after.sweeps,
        quantities: Vec::new(),
        sweeps: Vec::new(),
        warnings: Vec::new(),
        advice: Vec::new(),
    };
    let named = |when: &'static str, warnings: Vec<Warning>| {
        let with = move |w: Warning| Warning::new(w.code, format!("{when}: {}", w.text));
        warnings.into_iter().map(with)
    };
    comparison.warnings.extend(named("before", before.warnings));
    comparison.warnings.extend(named("after", after.warnings));
    if !asked.other_load {
        before.bench.trust_loads();
        after.bench.trust_loads();
    }
    let mut believed = |when, bench: &Bench| match believed(bench) {
        Ok(estimate) => Some(estimate),
        Err(text) => {
            let text = format!("{when}: {text}");
            comparison
                .warnings
                .push(Warning::new(WarningCode::NotCompared, text));
            None
        }
    };
    let estimates = [
        believed("before", &before.bench),
        believed("after", &after.bench),
    ];
    if let [Some(first), Some(then)] = &estimates {
        comparison.quantities = quantities(first, then, &before.bench, asked);
    }
    let known = estimates.iter().flatten().next();
    if let Some(scale) = scale(known, &before.bench) {
        let mut delays = comparison
            .quantities
            .iter()
            .filter(|q| q.quantity == "delay");
        let moved = delays.any(|q| q.changed);
        let benches = (&before.bench, &after.bench);
        comparison.sweeps = sweeps(benches, scale, moved, &mut comparison.warnings);
    } else {
        comparison.warnings.push(Warning::new(
            WarningCode::NotCompared,
            "neither the sweeps nor a tape give the length of the cable: places are not compared",
        ));
    }
    conclude(&mut comparison);
    comparison
}

/// The estimate, or why there is none to compare.
fn believed(bench: &Bench) -> Result<Estimate, String> {
    let estimate = estimate(bench).map_err(|e| e.to_string())?;
    let events = events::events(bench, &estimate);
    doubt::undetermined(bench, &estimate, &events, &[]).map_or(Ok(estimate), |why| Err(why.text))
}

/// Delay and velocity factor for places: of the estimate, else by tape and a typical dielectric.
fn scale(known: Option<&Estimate>, bench: &Bench) -> Option<Scale> {
    let marked = bench.marking().velocity_factor;
    let usual = marked.unwrap_or(TYPICAL_VELOCITY_FACTOR);
    let delay_s = known.and_then(|e| finite(e.one_way_delay_s(SETTLED_HZ)));
    let by_tape = bench.length_m().zip(known).and_then(|(length, e)| {
        finite(velocity::velocity_factor(
            length,
            e.cable_delay_s(SETTLED_HZ),
        ))
    });
    let velocity_factor = by_tape
        .map(|v| v.value)
        .filter(|v| velocity::POSSIBLE.contains(v))
        .unwrap_or(usual);
    let mut scale = Scale {
        velocity_factor,
        one_way_delay_s: delay_s.map(|d| d.value),
    };
    if scale.one_way_delay_s.is_none() {
        let length = bench.length_m()?;
        scale.one_way_delay_s = Some(0.5 * scale.two_way_s(length.value));
    }
    Some(scale)
}

fn quantities(
    before: &Estimate,
    after: &Estimate,
    bench: &Bench,
    asked: &Compare,
) -> Vec<QuantityCompared> {
    let (b, a) = (before.covered_hz(), after.covered_hz());
    let (low, high) = (b.0.max(a.0), b.1.min(a.1));
    let at_hz = stated_hz(low.min(high), high.max(low));
    let mut rows = vec![
        row("impedance", at_hz, "ohm", 1.0, |e| e.impedance_ohm(at_hz)),
        row("delay", SETTLED_HZ, "ns", 1e9, |e| {
            e.one_way_delay_s(SETTLED_HZ)
        }),
    ];
    if let Some(length) = bench.length_m() {
        let exact = Uncertain::exact(length.value);
        rows.push(row("velocity factor", SETTLED_HZ, "", 1.0, move |e| {
            velocity::velocity_factor(exact, e.cable_delay_s(SETTLED_HZ))
        }));
    }
    let usual = [10e6, USUAL_HZ, 430e6, at_hz];
    let mut losses: Vec<f64> = asked.frequencies_hz.iter().chain(&usual).copied().collect();
    losses.retain(|f| (low..=high).contains(f));
    losses.sort_by(f64::total_cmp);
    losses.dedup();
    rows.extend(
        losses
            .into_iter()
            .map(|f| row("loss", f, "dB", 1.0, move |e| e.loss_db(f))),
    );
    let kelvin = if asked.same_temperature {
        0.0
    } else {
        Uncertain::within(0.0, TEMPERATURES_K).u
    };
    rows.iter()
        .filter_map(|row| Some(row(before, after)?.at_other_temperature(kelvin)))
        .collect()
}

impl QuantityCompared {
    /// With what a difference of the temperatures of `kelvin` (standard) may have changed.
    fn at_other_temperature(mut self, kelvin: f64) -> Self {
        let per_kelvin = if self.quantity == "loss" {
            LOSS_PER_K
        } else {
            DELAY_PER_K
        };
        let change = from_u95(self.change, self.u95_change);
        let change = change.widened(per_kelvin * kelvin * self.before);
        self.u95_change = change.u95();
        self.changed = change.value.abs() > COVERAGE * change.u;
        self
    }
}

type Row<'a> = Box<dyn Fn(&Estimate, &Estimate) -> Option<QuantityCompared> + 'a>;

fn row<'a>(
    quantity: &'static str,
    at_hz: f64,
    unit: &'static str,
    scale: f64,
    of: impl Fn(&Estimate) -> Uncertain + 'a,
) -> Row<'a> {
    Box::new(move |before, after| {
        let (b, a) = (
            finite(of(before).scaled(scale))?,
            finite(of(after).scaled(scale))?,
        );
        let change = Uncertain::new(a.value - b.value, a.u.hypot(b.u));
        Some(QuantityCompared {
            quantity,
            at_hz,
            unit,
            before: b.value,
            u95_before: b.u95(),
            after: a.value,
            u95_after: a.u95(),
            change: change.value,
            u95_change: change.u95(),
            changed: false,
        })
    })
}

/// The first sweep of each far end before with the first after.
fn sweeps(
    (before, after): (&Bench, &Bench),
    scale: Scale,
    moved: bool,
    warnings: &mut Vec<Warning>,
) -> Vec<SweepsCompared> {
    let delay_s = scale.one_way_delay_s.unwrap_or_default();
    let mut all = Vec::new();
    for far_end in [FarEnd::Open, FarEnd::Short, FarEnd::Load] {
        let (Some(b), Some(a)) = (before.first(far_end), after.first(far_end)) else {
            continue;
        };
        match difference(&b.sweep, &a.sweep, delay_s, moved, &before.analyser()) {
            Ok(found) => all.push(SweepsCompared {
                far_end: far_end.to_string(),
                before: b.label.clone(),
                after: a.label.clone(),
                places: places(&found, scale),
                told_above: found.tolerance,
                cell_m: scale.from_near_m(found.cell_s),
            }),
            Err(error) => warnings.push(Warning::new(
                WarningCode::NotCompared,
                format!("`{}` with `{}`: {error}", b.label, a.label),
            )),
        }
    }
    all
}

fn places(found: &Difference, scale: Scale) -> Vec<PlaceChanged> {
    found.places.iter().map(|p| place(p, scale)).collect()
}

fn place(changed: &Changed, scale: Scale) -> PlaceChanged {
    let at = Uncertain::new(changed.two_way_s, changed.u_s).map(|t| scale.from_near_m(t));
    let (whereabouts, words) = match changed.whereabouts {
        Whereabouts::NearPlug => ("near plug", "at the plug on the analyser".to_owned()),
        Whereabouts::Along => (
            "along",
            format!(
                "at {} ± {}",
                format_length(at.value),
                format_length(at.u95())
            ),
        ),
        Whereabouts::FarEnd => ("far end", "at the far end, or on the way there".to_owned()),
    };
    let towards = changed.sign.map(|s| if s > 0.0 { "open" } else { "short" });
    let way = towards.map_or_else(String::new, |towards| match towards {
        "open" => ", towards an open: more resistance or inductance in series".to_owned(),
        _ => ", towards a short: lower impedance, water or a dent".to_owned(),
    });
    let way = if changed.whereabouts == Whereabouts::Along {
        way
    } else {
        String::new()
    };
    PlaceChanged {
        at_m: at.value,
        u95_m: at.u95(),
        two_way_s: changed.two_way_s,
        whereabouts,
        reflection: changed.size,
        towards,
        text: format!("{words} by a reflection of {:.4}{way}", changed.size),
    }
}

fn conclude(comparison: &mut Comparison) {
    let compared = !comparison.quantities.is_empty() || !comparison.sweeps.is_empty();
    let changed = comparison.quantities.iter().any(|q| q.changed)
        || comparison.sweeps.iter().any(|s| !s.places.is_empty());
    comparison.changed = compared.then_some(changed);
    let loss = comparison
        .quantities
        .iter()
        .find(|q| q.quantity == "loss" && q.changed);
    if let Some(loss) = loss {
        comparison.advice.push(format!(
            "the loss at {} changed by more than 5 K would change it: dry the cable, then flex \
             it, and sweep after each",
            format_frequency(loss.at_hz)
        ));
    }
    let moved = comparison
        .sweeps
        .iter()
        .flat_map(|s| &s.places)
        .find(|p| p.whereabouts == "along");
    if let Some(place) = moved {
        comparison.advice.push(format!(
            "inspect the cable around {} ({} round trip), move it and sweep again",
            format_length(place.at_m),
            format_delay(place.two_way_s)
        ));
    }
    if comparison.sweeps.is_empty() && compared {
        comparison.advice.push(
            "sweeps with the same far end in both sets would show where a change is".to_owned(),
        );
    }
}
