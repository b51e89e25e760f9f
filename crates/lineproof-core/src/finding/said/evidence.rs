//! How it is known: each method by itself with its arithmetic, and the sweeps that were used.

use super::rows::{Number, Numbers};
use crate::finding::found::Finding;
use crate::finding::measured::MethodFound;
use crate::quantity::{Units, format_frequency};

/// Heading of the methods.
pub const METHODS: &str = "Each method by itself, to check with a calculator";

/// Heading of those that have no answer.
pub const UNSERVED: &str = "Methods that these sweeps do not support";

/// Methods that the sweeps serve.
pub fn served(methods: &[MethodFound]) -> impl Iterator<Item = &MethodFound> {
    methods.iter().filter(|m| m.reason.is_none())
}

/// What a method gives: value, half-width, unit or quantity, frequency.
pub fn method_numbers(method: &MethodFound, units: Units) -> Vec<Number> {
    let mut rows = Numbers::default();
    let place = |at_hz: Option<f64>| at_hz.map_or_else(String::new, looked_at);
    if let (Some(ohm), Some(u95)) = (method.ohm, method.u95_ohm) {
        rows.add("", (ohm, u95), "ohm", place(method.at_hz));
    }
    if let (Some(delay), Some(u95)) = (method.one_way_s, method.u95_s) {
        let note = place(method.delay_at_hz);
        rows.add("", (delay * 1e9, u95 * 1e9), "ns one way", note);
    }
    if let Some(vf) = method.velocity_factor {
        rows.add("", (vf.ratio, vf.u95), "velocity factor", "");
    }
    if let (Some(m), Some(u95)) = (method.length_m, method.u95_m) {
        let length = (units.of_m(m), units.of_m(u95));
        rows.add("", length, units.length(), "");
    }
    for loss in &method.loss {
        rows.add("", (loss.db, loss.u95_db), "dB", place(loss.at_hz));
    }
    rows.0
}

/// Four digits say where a method looked.
fn looked_at(freq_hz: f64) -> String {
    let unit = 10f64.powf(freq_hz.log10().floor() - 3.0);
    format!("at {}", format_frequency((freq_hz / unit).round() * unit))
}

/// A method's name with what it gives.
pub fn method_title(method: &MethodFound, units: Units) -> String {
    let said = method_numbers(method, units).into_iter();
    let said = said.map(|n| {
        let text = format!("{} ± {} {} {}", n.value, n.u95, n.unit, n.note);
        text.trim_end().to_owned()
    });
    let said: Vec<String> = said.collect();
    if said.is_empty() {
        method.name.clone()
    } else {
        format!("{}: {}", method.name, said.join(", "))
    }
}

/// The arithmetic of a method, a step each.
pub fn steps(method: &MethodFound, units: Units) -> Vec<String> {
    units.texts(&method.steps)
}

/// Which methods the sweeps do not serve, why, and what would do.
pub fn unserved(methods: &[MethodFound]) -> Vec<String> {
    let unserved = methods.iter().filter_map(|method| {
        let reason = method.reason.as_ref()?;
        let would_do = method.would_do.as_ref();
        let would_do = would_do.map_or_else(String::new, |what| format!("; {what}"));
        Some(format!("{}: {reason}{would_do}", method.name))
    });
    unserved.collect()
}

/// Headings of the table of sweeps.
pub const SWEEP_COLUMNS: [&str; 5] = ["sweep", "far end", "points", "from", "to"];

/// The sweeps that were used.
pub fn sweeps(finding: &Finding) -> Vec<[String; 5]> {
    let rows = finding.sweeps.iter().map(|sweep| {
        let judged = match sweep.off_rms {
            Some(rms) => format!(", off by {rms:.4}"),
            None if sweep.guessed && sweep.far_end != "through" => ", judged".to_owned(),
            None => String::new(),
        };
        [
            sweep.file.clone(),
            format!("{}{judged}", sweep.far_end),
            sweep.points.to_string(),
            format_frequency(sweep.start_hz),
            format_frequency(sweep.stop_hz),
        ]
    });
    rows.collect()
}
