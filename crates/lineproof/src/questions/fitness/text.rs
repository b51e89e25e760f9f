//! Fitness as text.

use lineproof_core::fitness::{Fitness, PowerBasis, Span, UseCheck};
use lineproof_core::quantity::{Units, format_frequency, format_uncertain};

use crate::finding::from_u95;
use crate::questions::ask::Answer;
use crate::report::number::significant;
use crate::report::page::Column::{Right, Text};
use crate::report::page::Page;

impl Answer for Fitness {
    fn text(&self, _units: Units) -> String {
        let mut page = Page::default();
        page.paragraph("", &sentence(self.run_m.map(metres).as_deref(), self));
        power(&mut page, self);
        stress(&mut page, self);
        checks(&mut page, self);
        wrong(&mut page, self);
        bands(&mut page, self);
        page.list("Remarks", &self.remarks);
        page.list("Safety", &self.cautions);
        page.finish()
    }
}

/// What, where, and whether it will do, with the run in the reader's units.
pub(super) fn sentence(run: Option<&str>, fitness: &Fitness) -> String {
    let run = run.map_or_else(String::new, |run| format!("{run} of "));
    let power = fitness
        .asked
        .peak_w
        .map_or_else(String::new, |w| format!(", {} W", significant(w, 3)));
    let what = format!(
        "{run}{} at {}{power}, {} at the load",
        fitness.cable,
        format_frequency(fitness.at_hz),
        fitness.asked.load
    );
    format!("{what}: {}.", judgement(&fitness.checks))
}

/// The judgement of all checks.
fn judgement(checks: &[UseCheck]) -> String {
    let named = |passes: Option<bool>| {
        let kept = checks.iter().filter(|c| c.passes == passes);
        kept.map(|c| c.what).collect::<Vec<_>>().join(" and ")
    };
    let (fails, open) = (named(Some(false)), named(None));
    match (checks.is_empty(), fails.is_empty(), open.is_empty()) {
        (true, ..) => "no limit was given".to_owned(),
        (_, false, _) => format!("not suitable: {fails}"),
        (_, _, false) => format!("its {open} is at the limit, and the interval does not decide"),
        _ => "fit".to_owned(),
    }
}

fn power(page: &mut Page, fitness: &Fitness) {
    page.heading("Power");
    page.table(2, &[Text, Text, Text], &power_rows(fitness));
}

/// Power from end to end: name, value, note.
pub(super) fn power_rows(fitness: &Fitness) -> Vec<Vec<String>> {
    let t = fitness;
    let mut rows = vec![row(
        "loss, matched",
        format_uncertain(from_u95(t.matched_loss.db, t.matched_loss.u95_db), "dB"),
        String::new(),
    )];
    let handbook = t.handbook_loss_db.map_or_else(String::new, |db| {
        format!("handbook formula {} dB", significant(db, 3))
    });
    rows.push(row(
        "loss with this load",
        span(t.total_loss_db, "dB"),
        handbook,
    ));
    if let Some(w) = fitness.load_w {
        let of = fitness.asked.peak_w.map_or_else(String::new, |p| {
            format!("of {} W into the line", significant(p, 3))
        });
        rows.push(row("power at the load", span(w, "W"), of));
    } else {
        let percent = Span {
            low: 100.0 * t.efficiency.low,
            high: 100.0 * t.efficiency.high,
        };
        rows.push(row("reaches the load", span(percent, "%"), String::new()));
    }
    rows.push(row(
        "VSWR on the line",
        span(t.line_swr, ""),
        "at the load, against the cable".to_owned(),
    ));
    let system = format!("against {} ohm", significant(fitness.system_ohm, 3));
    rows.push(row("VSWR at the input", span(t.input_swr, ""), system));
    if t.input_mismatch_db.high > 0.005 {
        rows.push(row(
            "kept back",
            span(t.input_mismatch_db, "dB"),
            "held back by a transmitter without a tuner".to_owned(),
        ));
    }
    let delay = from_u95(fitness.delay.one_way_s, fitness.delay.u95_s);
    rows.push(row(
        "delay",
        format_uncertain(delay.scaled(1e9), "ns"),
        "one way".to_owned(),
    ));
    rows
}

fn stress(page: &mut Page, fitness: &Fitness) {
    let rows = stress_rows(fitness);
    if !rows.is_empty() {
        page.heading("Voltage, current, heat (estimates)");
        page.table(2, &[Text, Text, Text], &rows);
    }
}

/// Voltage, current and heat: name, value, note; nothing if no power was given.
pub(super) fn stress_rows(fitness: &Fitness) -> Vec<Vec<String>> {
    let Some(s) = &fitness.stress else {
        return Vec::new();
    };
    let rated = fitness
        .rated_as
        .as_ref()
        .map_or_else(String::new, |t| match s.basis {
            Some(PowerBasis::HeatBalance | PowerBasis::HeatBalanceBelowRating) => {
                format!("by the heat that the jacket of {t} dissipates")
            }
            _ => format!("by the ratings of {t}"),
        });
    let mut rows = vec![
        row(
            "peak voltage",
            format!("{} V", significant(s.peak_v, 3)),
            String::new(),
        ),
        row(
            "peak current",
            format!("{} A", significant(s.peak_a, 3)),
            String::new(),
        ),
    ];
    if let Some(w) = s.allowed_peak_w {
        rows.push(row(
            "peak power allowed",
            watts(w),
            "by the voltage".to_owned(),
        ));
    }
    rows.push(row(
        "average power",
        watts(s.average_w),
        format!("duty {}", fitness.asked.duty),
    ));
    if let Some(w) = s.allowed_average_w {
        rows.push(row("average allowed", watts(w), rated));
    }
    if let Some(c) = s.conductor_c {
        let around = format!("at its hottest, {} °C around it", fitness.asked.ambient_c);
        rows.push(row("inner conductor", format!("{c:.0} °C"), around));
    } else if let Some(c) = s.conductor_above_c {
        let more = "above the limit of its dielectric".to_owned();
        rows.push(row("inner conductor", format!("above {c:.0} °C"), more));
    }
    rows
}

fn checks(page: &mut Page, fitness: &Fitness) {
    if !fitness.checks.is_empty() {
        page.heading("Suitable?");
    }
    for check in &fitness.checks {
        let word = match check.passes {
            Some(true) => "yes",
            Some(false) => "NO",
            None => "at the limit",
        };
        page.paragraph(&format!("  {word}: "), &check.text);
    }
}

fn wrong(page: &mut Page, fitness: &Fitness) {
    let Some((heading, rows)) = wrong_rows(fitness) else {
        return;
    };
    page.heading(&heading);
    page.table(2, &[Text, Text, Text], &rows);
    page.paragraph("  ", HALF_WAVES);
}

/// What makes a wrong impedance harmless.
pub(super) const HALF_WAVES: &str =
    "At multiples of half a wave the cable repeats its load and adds only its own loss.";

/// The price of a wrong impedance, if it is wrong: a heading and rows.
pub(super) fn wrong_rows(fitness: &Fitness) -> Option<(String, Vec<Vec<String>>)> {
    let w = fitness.wrong_impedance.as_ref()?;
    let heading = format!(
        "Cost of a {} ohm cable between {} ohm",
        significant(fitness.impedance.ohm, 3),
        significant(fitness.system_ohm, 3)
    );
    let rows = vec![
        row(
            "VSWR at the input",
            span(w.input_swr, ""),
            "with this length and a matched load".to_owned(),
        ),
        row(
            "",
            significant(w.worst_input_swr, 3),
            "with the worst length".to_owned(),
        ),
        row(
            "extra loss",
            span(w.extra_loss_db, "dB"),
            "in the cable".to_owned(),
        ),
        row(
            "held back at most",
            format!("{} dB", significant(w.worst_mismatch_db, 2)),
            "held back by a transmitter without a tuner".to_owned(),
        ),
    ];
    Some((heading, rows))
}

fn bands(page: &mut Page, fitness: &Fitness) {
    if fitness.bands.is_empty() {
        return;
    }
    page.heading("The same run, matched, on other bands");
    let mut rows = vec![
        ["", "loss", "reaches the load", "average allowed"]
            .map(str::to_owned)
            .to_vec(),
    ];
    rows.extend(fitness.bands.iter().map(|b| {
        vec![
            format_frequency(b.at_hz),
            format_uncertain(from_u95(b.loss_db, b.u95_db), "dB"),
            format!("{:.0} %", 100.0 * b.efficiency),
            b.allowed_average_w.map_or_else(|| "-".to_owned(), watts),
        ]
    }));
    page.table(2, &[Right, Right, Right, Right], &rows);
}

fn row(name: &str, value: String, note: String) -> Vec<String> {
    vec![name.to_owned(), value, note]
}

/// `1.62 dB`, or `1.5 to 1.8 dB` where the ends differ in three digits.
fn span(s: Span, unit: &str) -> String {
    let (low, high) = (significant(s.low, 3), significant(s.high, 3));
    let text = if low == high {
        low
    } else {
        format!("{low} to {high}")
    };
    format!("{text} {unit}").trim_end().to_owned()
}

/// A power with three digits.
pub(super) fn watts(w: f64) -> String {
    if w >= 10_000.0 {
        return format!("{} kW", significant(w / 1000.0, 3));
    }
    format!(
        "{} W",
        if w >= 1000.0 {
            format!("{:.0}", (w / 10.0).round() * 10.0)
        } else {
            significant(w, 3)
        }
    )
}

fn metres(m: f64) -> String {
    format!("{} m", significant(m, 3))
}
