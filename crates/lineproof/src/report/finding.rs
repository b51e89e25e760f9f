//! A finding as text: a sentence, the numbers, the marking, the methods, warnings, advice, care.

use lineproof_core::quantity::format_frequency;

use super::content::SYSTEM_COLUMNS;
use super::methods;
use super::number::{pair, rounded, short, significant};
use super::page::Column::{Number, Right, Text};
use super::page::Page;
use crate::finding::{
    Action, Advice, Condition, Finding, Gives, LeastDentFound, LengthBasis, LossRow, MarkingFound,
    ProfileFound, Quantity, SweepUsed, SystemFound, VerdictFound,
};
use lineproof_core::finding::judge::doubt::is_bare_port;
use lineproof_core::finding::judge::stated::USUAL_HZ;

/// The whole report.
pub fn text(finding: &Finding) -> String {
    let mut page = Page::default();
    page.paragraph("", &sentence(finding));
    let reasons = finding.condition_reasons.iter().map(String::as_str);
    list(&mut page, "What is wrong", reasons);
    let causes: Vec<&str> = finding
        .events
        .iter()
        .filter_map(|e| e.cause.as_deref())
        .collect();
    list(&mut page, "Cause", causes.into_iter());
    if let Some(verdict) = &finding.verdict {
        what_to_do(&mut page, verdict);
    }
    numbers(&mut page, finding);
    if let Some(system) = &finding.system {
        in_system(&mut page, system);
    }
    let left = finding.calibration.iter().map(|c| c.text.as_str());
    list(&mut page, "What the calibration left", left);
    if let Some(marking) = &finding.marking {
        jacket(&mut page, marking);
    }
    let geometry = finding.geometry.iter().map(|g| g.text.as_str());
    list(&mut page, "By the caliper", geometry);
    if let Some(text) = finding.profile.as_ref().and_then(least_dents) {
        list(
            &mut page,
            "How small a fault would have shown",
            [text.as_str()].into_iter(),
        );
    }
    super::types::found(&mut page, &finding.types);
    sweeps(&mut page, &finding.sweeps);
    methods::write(&mut page, &finding.methods);
    let warnings = finding.warnings.iter().map(|w| w.text.as_str());
    list(&mut page, "Warnings", warnings);
    let advice: Vec<String> = finding.advice.iter().map(worded).collect();
    list(
        &mut page,
        "What would help",
        advice.iter().map(String::as_str),
    );
    let cautions = finding.cautions.iter().map(String::as_str);
    list(&mut page, "Take care", cautions);
    page.finish()
}

/// Advice with the option that takes what it gives.
fn worded(advice: &Advice) -> String {
    let text = &advice.text;
    match advice.gives {
        Some(Gives::LoadByOhmmeter) => format!("{text}; give it with --load-ohms"),
        Some(Gives::Length) => format!("{text}; give it with --length"),
        None => text.clone(),
    }
}

/// What the cable is, in a sentence, and whether the jacket is right.
pub fn sentence(finding: &Finding) -> String {
    if is_bare_port(finding) {
        return "No cable is on the port: these sweeps show its bare end, or a part of the kit."
            .to_owned();
    }
    let condition = condition_sentence(finding);
    let Some(z) = finding.impedance else {
        return format!(
            "These sweeps do not determine what this cable is; the warnings say why.{condition}"
        );
    };
    let mut parts = vec![format!("{} ohm coaxial cable", short(z.ohm, z.u95_ohm))];
    parts.extend(finding.length.map(|length| {
        let about = match length.basis {
            LengthBasis::Tape => "",
            _ => "about ",
        };
        format!("{about}{} m", short(length.m, length.u95_m))
    }));
    parts.extend(match (finding.velocity_factor, finding.delay) {
        (Some(vf), _) => Some(format!("velocity factor {:.2}", vf.ratio)),
        (None, Some(d)) => Some(format!("{} ns one way", significant(d.one_way_s * 1e9, 3))),
        (None, None) => None,
    });
    let loss = headline_loss(&finding.loss).map_or_else(String::new, |row| {
        let db = significant(row.db, 2);
        format!("; {db} dB at {}", format_frequency(row.at_hz))
    });
    let jacket = finding
        .marking
        .as_ref()
        .map_or_else(String::new, jacket_sentence);
    format!("{}{loss}.{condition}{jacket}", parts.join(", "))
}

fn what_to_do(page: &mut Page, verdict: &VerdictFound) {
    let action = match verdict.action {
        Action::Keep => "Keep it",
        Action::UseElsewhere => "Use it elsewhere",
        Action::Repair => "Repair it",
        Action::Discard => "Discard it",
        Action::MeasureAgain => "Measure again",
    };
    list(page, action, verdict.reasons.iter().map(String::as_str));
    let criteria: Vec<String> = verdict
        .criteria
        .iter()
        .map(|c| {
            let passed = if c.passed { "kept" } else { "NOT kept" };
            format!("{passed}: {}", c.text)
        })
        .collect();
    list(
        page,
        "By these criteria",
        criteria.iter().map(String::as_str),
    );
}

fn condition_sentence(finding: &Finding) -> String {
    match (finding.condition, finding.condition_reasons.first()) {
        (Condition::Sound, _) => " Sound, as far as these sweeps show.".to_owned(),
        (Condition::Suspect, Some(why)) => format!(" Suspect: {why}."),
        (Condition::Faulty, Some(why)) => format!(" Faulty: {why}."),
        _ => String::new(),
    }
}

/// The least dents at both ends, in a sentence.
fn least_dents(profile: &ProfileFound) -> Option<String> {
    let (near, far) = (profile.least_dents.first()?, profile.least_dents.last()?);
    let percent = |d: &LeastDentFound| format!("{} %", significant(100.0 * d.relative, 2));
    let (near_end, far_end) = (percent(near), percent(far));
    let size = if near_end == far_end {
        format!("{near_end} all along")
    } else {
        format!("{near_end} near the analyser, {far_end} at the far end")
    };
    let cm = 100.0 * profile.least_dent_length_m;
    Some(format!(
        "a dent of {cm:.0} cm that changes the impedance by {size}"
    ))
}

/// The row at 100 MHz if its loss is visible, else the one that is known best.
fn headline_loss(rows: &[LossRow]) -> Option<&LossRow> {
    let visible = |row: &&LossRow| row.db > row.u95_db;
    rows.iter()
        .filter(|row| row.at_hz == USUAL_HZ)
        .find(visible)
        .or_else(|| {
            let relative = |row: &LossRow| row.u95_db / row.db;
            rows.iter()
                .filter(visible)
                .min_by(|a, b| relative(a).total_cmp(&relative(b)))
        })
}

fn jacket_sentence(marking: &MarkingFound) -> String {
    let name = marking
        .designation
        .as_ref()
        .map_or_else(String::new, |d| format!(" ({d})"));
    match (marking.agrees, marking.differences.as_slice()) {
        (Some(true), _) => format!(" That agrees with its marking{name}."),
        (Some(false), [only]) if only.quantity == Quantity::Impedance => {
            format!(
                " The jacket{name} says {} ohm: it does not agree.",
                only.marked
            )
        }
        (Some(false), differences) => {
            let what: Vec<&str> = differences.iter().map(|d| d.quantity.name()).collect();
            format!(
                " It does not agree with its marking{name}: {}.",
                what.join(", ")
            )
        }
        (None, _) => String::new(),
    }
}

fn numbers(page: &mut Page, finding: &Finding) {
    let mut rows = Vec::new();
    let mut add = |name: &str, value: f64, u95: f64, unit: &str, note: String| {
        let (value, u95) = pair(value, u95);
        rows.push(vec![
            name.to_owned(),
            value,
            "±".to_owned(),
            u95,
            unit.to_owned(),
            note,
        ]);
    };
    if let Some(z) = finding.impedance {
        let note = format!(
            "at {}, limited by {}",
            format_frequency(z.at_hz),
            z.limited_by
        );
        add("impedance", z.ohm, z.u95_ohm, "ohm", note);
    }
    for row in &finding.impedances {
        let note = at(row.at_hz, row.extrapolated);
        add("", row.ohm, row.u95_ohm, "ohm", note);
    }
    if let Some(z) = finding.impedance_limit {
        let note = "at the highest frequencies".to_owned();
        add("", z.ohm, z.u95_ohm, "ohm", note);
    }
    if let Some(d) = finding.delay {
        let note = format!("one way, at {}", format_frequency(d.at_hz));
        add("delay", d.one_way_s * 1e9, d.u95_s * 1e9, "ns", note);
    }
    if let Some(vf) = finding.velocity_factor {
        add("velocity factor", vf.ratio, vf.u95, "", String::new());
    }
    if let Some(length) = finding.length {
        let note = match length.basis {
            LengthBasis::Tape => "by tape",
            LengthBasis::Caliper => "from impedance and diameters",
            LengthBasis::MarkedVelocityFactor => "from the claimed velocity factor",
            LengthBasis::Other => "",
        };
        add("length", length.m, length.u95_m, "m", note.to_owned());
    }
    for (i, row) in finding.loss.iter().enumerate() {
        let name = if i == 0 { "loss" } else { "" };
        add(name, row.db, row.u95_db, "dB", loss_note(row));
    }
    if let Some(parts) = &finding.loss_parts {
        let at = format_frequency(parts.at_hz);
        let known = [
            ("conductors", parts.conductor_db.zip(parts.u95_conductor_db)),
            (
                "dielectric",
                parts.dielectric_db.zip(parts.u95_dielectric_db),
            ),
        ];
        for (name, part) in known {
            if let Some((db, u95)) = part {
                add("", db, u95, "dB", format!("of it at {at} by the {name}"));
            }
        }
    }
    if rows.is_empty() {
        return;
    }
    page.heading("Found, each with its 95 % interval");
    page.table(2, &[Text, Number, Text, Number, Text, Text], &rows);
}

fn in_system(page: &mut Page, system: &SystemFound) {
    let mut rows = vec![SYSTEM_COLUMNS.map(str::to_owned).to_vec()];
    rows.extend(system.rows.iter().map(|row| {
        let db = |value: f64| format!("{value:.1} dB");
        vec![
            format_frequency(row.at_hz),
            format!("{:.2}", row.highest_swr),
            db(row.least_return_loss_db),
            format!("{:.2}", row.swr_at_worst_length),
            db(row.return_loss_db_at_worst_length),
            format!("{:.2} dB", row.most_extra_loss_db),
        ]
    }));
    page.heading(&format!("Between {} ohm at both ends, at most", system.ohm));
    page.table(2, &[Right; 6], &rows);
}

fn sweeps(page: &mut Page, sweeps: &[SweepUsed]) {
    let rows: Vec<Vec<String>> = sweeps
        .iter()
        .map(|s| {
            let judged = match s.off_rms {
                Some(rms) => format!("off by {rms:.4}"),
                None if s.guessed && s.far_end != "through" => "judged".to_owned(),
                None => String::new(),
            };
            vec![
                s.file.clone(),
                s.far_end.clone(),
                judged,
                format!("{} points", s.points),
                format!(
                    "{} to {}",
                    format_frequency(s.start_hz),
                    format_frequency(s.stop_hz)
                ),
            ]
        })
        .collect();
    page.heading("From these sweeps");
    page.table(2, &[Text, Text, Text, Right, Text], &rows);
}

fn loss_note(row: &LossRow) -> String {
    let mut notes = vec![at(row.at_hz, row.extrapolated)];
    if let (Some(db), Some(u95)) = (row.db_per_100m, row.u95_db_per_100m)
        && db > u95
    {
        notes.push(format!("{} dB/100m", rounded(db, u95)));
    }
    if let (Some(db), Some(u95)) = (row.db_at_20c, row.u95_db_at_20c) {
        notes.push(format!("{} dB at 20 °C", rounded(db, u95)));
    }
    notes.join(", ")
}

fn at(freq_hz: f64, extrapolated: bool) -> String {
    let beyond = if extrapolated {
        " (beyond the sweeps)"
    } else {
        ""
    };
    format!("at {}{beyond}", format_frequency(freq_hz))
}

fn jacket(page: &mut Page, marking: &MarkingFound) {
    let lines: Vec<&str> = marking
        .differences
        .iter()
        .map(|d| d.text.as_str())
        .chain(marking.explanation.iter().map(String::as_str))
        .chain(marking.remarks.iter().map(String::as_str))
        .collect();
    list(page, "Against its marking", lines.into_iter());
}

fn list<'a>(page: &mut Page, heading: &str, items: impl Iterator<Item = &'a str>) {
    for (i, item) in items.enumerate() {
        if i == 0 {
            page.heading(heading);
        }
        page.paragraph("  - ", item);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{
        DelayFound, Difference, ImpedanceFound, LengthFound, LimitedBy, MethodFound, RatioFound,
        SCHEMA, Warning, WarningCode,
    };

    /// Invented: a cable that is not what its jacket says.
    fn mislabelled() -> Finding {
        Finding {
            schema: SCHEMA,
            program_version: "0.0.0".to_owned(),
            condition: Condition::Undetermined,
            condition_reasons: Vec::new(),
            events: Vec::new(),
            explanations: Vec::new(),
            impedances: Vec::new(),
            impedance_limit: None,
            loss_parts: None,
            law: Vec::new(),
            temperature_c: None,
            helps: Vec::new(),
            sweeps: vec![
                sweep("open.s1p", "open", false),
                sweep("spool 3.s1p", "load", true),
            ],
            impedance: Some(ImpedanceFound {
                ohm: 75.0817,
                u95_ohm: 0.2134,
                at_hz: 1e8,
                limited_by: LimitedBy::Load,
            }),
            delay: Some(DelayFound {
                one_way_s: 7.6112e-9,
                u95_s: 3.1e-12,
                at_hz: 3e8,
                between_plugs_s: None,
                u95_between_plugs_s: None,
            }),
            velocity_factor: Some(RatioFound {
                ratio: 0.65739,
                u95: 0.0027,
            }),
            length: Some(LengthFound {
                m: 1.5,
                u95_m: 0.0061,
                basis: LengthBasis::Tape,
            }),
            loss: vec![loss(1e7, 0.0498, 0.0041), loss(1e8, 0.1631, 0.0042)],
            methods: methods(),
            marking: Some(marking()),
            profile: None,
            geometry: None,
            verdict: None,
            types: Vec::new(),
            warnings: vec![Warning::new(
                WarningCode::LoadNotMeasured,
                "the calibration load was not measured",
            )],
            advice: vec![Advice {
                text: "measure the calibration load with an ohmmeter".to_owned(),
                gives: Some(Gives::LoadByOhmmeter),
            }],
            cautions: Vec::new(),
            calibration: Vec::new(),
            system: None,
        }
    }

    fn sweep(file: &str, far_end: &str, guessed: bool) -> SweepUsed {
        SweepUsed {
            file: file.to_owned(),
            far_end: far_end.to_owned(),
            guessed,
            points: 401,
            start_hz: 5e4,
            stop_hz: 3e8,
            off_rms: None,
        }
    }

    fn loss(at_hz: f64, db: f64, u95_db: f64) -> LossRow {
        LossRow {
            at_hz,
            db,
            u95_db,
            db_per_100m: Some(db / 0.015),
            u95_db_per_100m: Some(u95_db / 0.015),
            db_at_20c: None,
            u95_db_at_20c: None,
            extrapolated: false,
        }
    }

    fn methods() -> Vec<MethodFound> {
        vec![
            MethodFound {
                name: "quarter wave".to_owned(),
                ohm: Some(75.2),
                u95_ohm: Some(0.81),
                at_hz: Some(32.8e6),
                steps: vec!["sqrt(113.0 ohm × 50.02 ohm) = 75.18 ohm".to_owned()],
                ..MethodFound::default()
            },
            MethodFound {
                name: "open/short pair".to_owned(),
                reason: Some("no sweep with the far end short".to_owned()),
                would_do: Some("a sweep of the same piece with the far end short".to_owned()),
                ..MethodFound::default()
            },
        ]
    }

    fn marking() -> MarkingFound {
        MarkingFound {
            designation: None,
            agrees: Some(false),
            differences: vec![Difference {
                quantity: Quantity::Impedance,
                marked: 50.0,
                found: 75.0817,
                u95: 0.2134,
                unit: "ohm".to_owned(),
                text: "impedance is 75.08 ± 0.21 ohm, +50 % from the claimed 50 ohm".to_owned(),
            }],
            remarks: Vec::new(),
            explanation: vec!["the dielectric is as marked and the diameters are not".to_owned()],
        }
    }

    #[test]
    fn a_mislabelled_cable_reads_well() {
        insta::assert_snapshot!(text(&mislabelled()));
    }

    #[test]
    fn a_loss_that_cannot_be_seen_stays_out_of_the_sentence() {
        let mut finding = mislabelled();
        finding.loss = vec![loss(1e7, 0.001, 0.02), loss(1e8, 0.01, 0.02)];
        finding.marking = None;
        assert_eq!(
            sentence(&finding),
            "75.1 ohm coaxial cable, 1.500 m, velocity factor 0.66."
        );
    }

    #[test]
    fn nothing_determined_is_said_plainly() {
        let mut finding = mislabelled();
        finding.impedance = None;
        assert!(sentence(&finding).starts_with("These sweeps do not determine"));
    }

    #[test]
    fn no_line_is_wider_than_the_page() {
        let text = text(&mislabelled());
        let long: Vec<&str> = text
            .lines()
            .filter(|l| l.chars().count() > super::super::page::WIDTH)
            .collect();
        assert!(long.is_empty(), "{long:?}");
    }
}
