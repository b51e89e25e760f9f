//! A plan as text.

use lineproof_core::finding::judge::advice::line_cautions;
use lineproof_core::plan::{Plan, PlannedSweep};
use lineproof_core::quantity::{Units, format_frequency};

use crate::questions::ask::Answer;
use crate::report::page::Column::{Right, Text};
use crate::report::page::Page;

impl Answer for Plan {
    fn text(&self, _units: Units) -> String {
        text(self)
    }
}

/// The whole plan for people.
fn text(plan: &Plan) -> String {
    let mut page = Page::default();
    page.paragraph("", &sentence(plan));
    page.line("");
    let mut rows = vec![
        ["", "start", "stop", "points", "step", "phase step"]
            .map(str::to_owned)
            .to_vec(),
    ];
    rows.extend(plan.sweeps.iter().enumerate().map(|(i, s)| row(i, s)));
    page.table(2, &[Text, Right, Right, Right, Right, Right], &rows);
    page.list("Why", &plan.reasons);
    page.list("Not possible with this analyser", &plan.shortfalls);
    page.list("What this sweep will not show", &plan.blind);
    page.list("Safety", &line_cautions());
    page.finish()
}

pub(super) fn sentence(plan: &Plan) -> String {
    let sweeps: Vec<String> = plan
        .sweeps
        .iter()
        .map(|s| {
            format!(
                "{} to {} with {} points",
                format_frequency(s.start_hz),
                format_frequency(s.stop_hz),
                s.points
            )
        })
        .collect();
    format!(
        "Sweep {}; each with the far end open, with the load, and shorted.",
        sweeps.join(", then ")
    )
}

fn row(index: usize, sweep: &PlannedSweep) -> Vec<String> {
    vec![
        format!("sweep {}", index + 1),
        format_frequency(sweep.start_hz),
        format_frequency(sweep.stop_hz),
        sweep.points.to_string(),
        format_frequency(rounded(sweep.step_hz)),
        format!("{:.0}°", sweep.phase_step_deg),
    ]
}

/// To four digits: nobody sets the step, it follows.
pub(super) fn rounded(step_hz: f64) -> f64 {
    let unit = 10f64.powf(step_hz.log10().floor() - 3.0);
    (step_hz / unit).round() * unit
}
