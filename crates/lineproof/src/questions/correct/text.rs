//! A correction as text.

use lineproof_core::calibration::refusal::RefusedRange;
use lineproof_core::quantity::{Units, format_frequency};
use lineproof_core::uncertain::COVERAGE_FACTOR_95;

use super::correction::{CorrectError, CorrectedFile, Correction};
use crate::questions::ask::Answer;
use crate::report::number::pair;
use crate::report::page::Column::{Right, Text};
use crate::report::page::Page;
use crate::workflow::load::shown;
use crate::{diagnostics, exit, output};

/// Rows of each table: start, stop and what lies evenly between.
const ROWS: usize = 5;

impl Answer for Correction {
    fn text(&self, _units: Units) -> String {
        text(self)
    }

    fn code(&self) -> u8 {
        if self.failed.is_empty() {
            exit::ANSWERED
        } else {
            exit::ANSWERED_IN_PART
        }
    }

    fn messages(&self) -> Vec<String> {
        let said = |error: &CorrectError| match error {
            CorrectError::Load(error) => diagnostics::load_error(error),
            other => output::error_text(other, other.help().as_deref()),
        };
        self.failed.iter().map(said).collect()
    }
}

/// The whole correction for people.
fn text(correction: &Correction) -> String {
    let mut page = Page::default();
    page.paragraph("", &sentence(correction));
    calibration(&mut page, correction);
    for file in &correction.sweeps {
        sweep(&mut page, file);
    }
    let left = correction.left.iter().map(|left| left.text.clone());
    list(&mut page, "What the calibration left", left);
    left_out(&mut page, correction);
    list(
        &mut page,
        "Warnings",
        correction.warnings.iter().map(|w| w.text.clone()),
    );
    let written = correction.sweeps.iter().map(|f| {
        format!(
            "{} with intervals in {}",
            shown(&f.written),
            shown(&f.intervals)
        )
    });
    list(&mut page, "Written", written);
    page.finish()
}

fn sentence(correction: &Correction) -> String {
    let (count, standards) = (correction.sweeps.len(), correction.standards.join(", "));
    let sweeps = if count == 1 { "sweep" } else { "sweeps" };
    let how = if correction.improved {
        format!("as if the analyser had known its {standards}")
    } else {
        format!("with {standards}")
    };
    format!(
        "{count} {sweeps} corrected {how} ({}); reflections refer to {} ohm.",
        correction.kit,
        correction.calibration.z_ref_ohm()
    )
}

fn calibration(page: &mut Page, correction: &Correction) {
    page.heading("Calibration");
    let three = correction.standards.len() == 3;
    let mut rows = vec![
        [
            "",
            "condition",
            "directivity",
            "source match",
            "tracking",
            "standards disagree",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    let points = correction.calibration.points();
    rows.extend(spread(points.len()).map(|i| {
        let p = &points[i];
        let disagree = if three {
            "-".to_owned()
        } else {
            format!("{:.4}", p.residual_rms)
        };
        vec![
            format_frequency(p.freq_hz),
            format!("{:.1}", p.condition),
            format!("{:.4}", p.terms.directivity.norm()),
            format!("{:.4}", p.terms.source_match.norm()),
            format!("{:.4}", p.terms.tracking.norm()),
            disagree,
        ]
    }));
    page.table(2, &[Right; 6], &rows);
    let noise = format!(
        "Noise assumed: {:.5} of each part of a raw reading (95 %).",
        COVERAGE_FACTOR_95 * correction.calibration.noise()
    );
    page.paragraph("  ", &noise);
    let widest = points.iter().map(|p| p.widened).fold(1.0, f64::max);
    if widest > 1.0 {
        let text = format!(
            "The standards disagree up to {widest:.1} times more than their limits and the noise \
             explain; the intervals are widened by that factor."
        );
        page.paragraph("  ", &text);
    }
}

fn sweep(page: &mut Page, file: &CorrectedFile) {
    page.heading(&format!("{}, with 95 % intervals", file.label));
    let c = &file.corrected;
    let rows: Vec<Vec<String>> = spread(c.freq_hz().len())
        .map(|i| {
            let [re, im] = c.parts(i);
            let (re, u_re) = pair(re.value, re.u95());
            let (im, u_im) = pair(im.value, im.u95());
            let magnitude = c.reflection()[i].norm();
            let (magnitude, u) = pair(magnitude, COVERAGE_FACTOR_95 * c.largest_u(i));
            vec![
                format_frequency(c.freq_hz()[i]),
                format!("re {re} ± {u_re}"),
                format!("im {im} ± {u_im}"),
                format!("magnitude {magnitude} ± {u}"),
            ]
        })
        .collect();
    page.table(2, &[Right, Text, Text, Text], &rows);
}

fn left_out(page: &mut Page, correction: &Correction) {
    let mut lines: Vec<String> = Vec::new();
    for range in correction.calibration.refused_ranges() {
        lines.push(described(&range));
    }
    for file in &correction.sweeps {
        let own = file.corrected.refused();
        let own = own.iter().filter(|r| {
            let code = r.refusal.code();
            code == "not-calibrated" || code == "not-tabulated" || code == "no-answer"
        });
        lines.extend(own.map(|r| format!("{}: {}", file.label, described(r))));
    }
    list(page, "Left out", lines.into_iter());
}

fn described(range: &RefusedRange) -> String {
    let start = format_frequency(range.start_hz);
    if range.points == 1 {
        return format!("{start}: {}", range.refusal);
    }
    format!(
        "{start} to {} ({} points): {}",
        format_frequency(range.stop_hz),
        range.points,
        range.refusal
    )
}

/// Indices spread over a list, first and last included.
fn spread(count: usize) -> impl Iterator<Item = usize> {
    let rows = ROWS.min(count);
    let last = count.saturating_sub(1);
    (0..rows).map(move |i| i * last / (rows.max(2) - 1))
}

fn list(page: &mut Page, heading: &str, items: impl Iterator<Item = String>) {
    let mut items = items.peekable();
    if items.peek().is_some() {
        page.heading(heading);
    }
    for item in items {
        page.paragraph("  - ", &item);
    }
}
