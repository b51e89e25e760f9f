//! What a comparison comes to: whether anything changed, each quantity once, and the nearest place.

use crate::comparison::{Comparison, QuantityCompared};
use crate::quantity::digits::pair;
use crate::quantity::{format_frequency, format_length};

/// Whether anything changed, and what.
pub fn sentence(comparison: &Comparison) -> String {
    match comparison.changed {
        None => "These sets of sweeps cannot be compared; the warnings say why.".to_owned(),
        Some(false) => "No change exceeds the resolution of these sweeps.".to_owned(),
        Some(true) => format!("Changed: {}.", what(comparison).join("; ")),
    }
}

/// What sweeps without a place where they differ say: a cable that is another one as a whole need not
/// differ anywhere along it.
pub fn nowhere(comparison: &Comparison) -> &'static str {
    if comparison.quantities.iter().any(|q| q.changed) {
        "no place stands out, so the whole cable changed"
    } else {
        "the same along the cable"
    }
}

/// Each quantity that changed, once, and the nearest place along the cable.
fn what(comparison: &Comparison) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for quantity in ["impedance", "delay", "loss"] {
        let of = comparison
            .quantities
            .iter()
            .filter(|q| q.quantity == quantity && q.changed);
        let size = |q: &&QuantityCompared| q.change.abs() / q.u95_change;
        if let Some(q) = of.max_by(|a, b| size(a).total_cmp(&size(b))) {
            let (change, u95) = pair(q.change, q.u95_change);
            let sign = if q.change > 0.0 { "+" } else { "" };
            said.push(format!(
                "{quantity} by {sign}{change} ± {u95} {} at {}",
                q.unit,
                format_frequency(q.at_hz)
            ));
        }
    }
    let places = || comparison.sweeps.iter().flat_map(|s| &s.places);
    let along = places().filter(|p| p.whereabouts == "along");
    let nearest = along.min_by(|a, b| a.at_m.total_cmp(&b.at_m));
    if let Some(place) = nearest {
        said.push(format!("the sweeps from {} on", format_length(place.at_m)));
    } else if let Some(place) = places().next() {
        said.push(format!("the sweeps {}", place.text));
    }
    said
}
