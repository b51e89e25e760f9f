//! Each sweep against time, as a table for other programs to draw, with what it cannot show.

use std::fmt::Write;

use crate::bench::{Bench, EndedSweep};
use crate::constants::DB_PER_NEPER;
use crate::quantity::{format_delay, format_frequency, format_length};
use crate::time_domain::distance::Scale;
use crate::time_domain::layer_peeling::Depth;
use crate::time_domain::low_pass::Dc;
use crate::time_domain::window::Kaiser;
use crate::time_domain::{Known, KnownLoss, Limit, View, Views, views};
use crate::uncertain::Uncertain;

use crate::finding::found::Finding;

/// First line of the table.
const COLUMNS: &str = "sweep,two_way_s,from_near_m,from_far_m,envelope,impulse,step,apparent_ohm,loss_rise_ohm,peeled_ohm,u95_peeled_ohm";

/// A sweep with its views.
#[derive(Clone, Debug)]
pub struct SweepViews {
    /// Name of the file.
    pub file: String,
    /// The views.
    pub views: Views,
}

/// Views of every reflection sweep, with what the finding knows of the cable.
pub fn of(bench: &Bench, finding: &Finding) -> Vec<SweepViews> {
    let of = |ended: &EndedSweep| SweepViews {
        file: ended.label.clone(),
        views: views(ended, &known(bench, finding)),
    };
    bench.sweeps().iter().map(of).collect()
}

fn known(bench: &Bench, finding: &Finding) -> Known {
    let one_way_delay_s = finding.delay.map(|d| d.one_way_s);
    let wanted_hz = one_way_delay_s.map_or(1e8, |t| 0.2 / t);
    let nearest = finding.loss.iter().min_by(|a, b| {
        let apart = |hz: f64| (hz / wanted_hz).ln().abs();
        apart(a.at_hz).total_cmp(&apart(b.at_hz))
    });
    let marked = bench.marking().velocity_factor;
    Known {
        far_load_ohm: bench.far_load().ohm.value,
        one_way_delay_s,
        velocity_factor: finding.velocity_factor.map(|v| v.ratio).or(marked),
        loss: nearest.map(|row| KnownLoss {
            at_hz: row.at_hz,
            np: row.db / DB_PER_NEPER,
        }),
        analyser: bench.analyser(),
        window: Kaiser::USUAL,
    }
}

/// Comma-separated text: limits as lines that begin with `#`, then a row for each sweep and time.
pub fn csv(all: &[SweepViews]) -> String {
    let mut text = String::new();
    for sweep in all {
        for limit in limits(&sweep.views) {
            line(&mut text, &format!("# {}: {limit}", sweep.file));
        }
    }
    line(&mut text, COLUMNS);
    for sweep in all {
        for view in &sweep.views.rows {
            line(&mut text, &row(&sweep.file, view));
        }
    }
    text
}

fn line(text: &mut String, line: &str) {
    writeln!(text, "{line}").expect("writing to a string works");
}

fn row(file: &str, view: &View) -> String {
    let optional = |v: Option<f64>| v.map_or_else(String::new, |v| format!("{v:.6}"));
    let fields = [
        quoted(file),
        format!("{:.6e}", view.two_way_s),
        optional(view.from_near_m),
        optional(view.from_far_m),
        optional(view.envelope),
        optional(view.impulse),
        optional(view.step),
        optional(view.apparent_ohm),
        optional(view.loss_rise_ohm),
        optional(view.peeled_ohm.map(|z| z.value)),
        optional(view.peeled_ohm.map(Uncertain::u95)),
    ];
    fields.join(",")
}

/// A field as RFC 4180 has it.
fn quoted(field: &str) -> String {
    if field.contains([',', '"']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

/// What the views cannot show, a sentence each; the velocity factor of the distances first.
pub fn limits(views: &Views) -> Vec<String> {
    let scale = views.scale;
    let mut said = vec![scale.map_or_else(
        || {
            "no velocity factor, so no distances: state the length, or the velocity factor on the jacket"
                .to_owned()
        },
        |s| {
            format!(
                "distances with a velocity factor of {:.4}",
                s.velocity_factor
            )
        },
    )];
    said.extend(views.limits.iter().map(|limit| sentence(limit, scale)));
    said
}

fn sentence(limit: &Limit, scale: Option<Scale>) -> String {
    let place = |two_way_s: f64| {
        scale.map_or_else(
            || format!("{} there and back", format_delay(two_way_s)),
            |s| format_length(s.from_near_m(two_way_s)),
        )
    };
    match *limit {
        Limit::Cell { two_way_s } => format!(
            "reflections closer than {} are not resolved in impulse, step and impedances",
            place(two_way_s)
        ),
        Limit::EnvelopeCell { two_way_s } => format!(
            "reflections closer than {} are not resolved in the envelope, which has no sign",
            place(two_way_s)
        ),
        Limit::FoldsBack { two_way_s } => format!(
            "echoes from beyond {} alias to places before it",
            place(two_way_s)
        ),
        Limit::NoSign {
            start_hz,
            highest_hz,
        } => format!(
            "envelope only: a step response needs a start of {} or less, and the sweep starts at {}",
            format_frequency(highest_hz),
            format_frequency(start_hz)
        ),
        Limit::Baseline { dc } => baseline(dc),
        Limit::Depth { two_way_s, why } => format!(
            "peeled impedances end at {}: {}",
            place(two_way_s),
            match why {
                Depth::Noise => "beyond that, noise and earlier reflections hide them",
                Depth::End | Depth::All => "nearly everything is reflected there",
            }
        ),
        Limit::EndCovers { two_way_s } => format!(
            "the far end reflects everything: it hides {} before it, and what appears beyond it \
             are ghosts; a sweep with a load there shows more",
            place(two_way_s)
        ),
        Limit::LossLeftIn => {
            "the loss is not known and not removed: impedances rise along the cable".to_owned()
        }
    }
}

fn baseline(dc: Dc) -> String {
    let from = match dc {
        Dc::FarEnd(_) => "is that of the far end, without conductor resistance",
        Dc::CarriedOn(_) => "is extrapolated from the lowest points",
        Dc::Measured(_) => "is measured",
    };
    format!(
        "the reflection at 0 Hz, {:+.3}, {from}; an error of it tilts step and impedances",
        dc.reflection()
    )
}
