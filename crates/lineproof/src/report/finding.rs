//! A finding as text: a sentence, the numbers, the marking, the methods, warnings, advice, care.

use lineproof_core::finding::judge::doubt::is_bare_port;
use lineproof_core::finding::judge::stated::USUAL_HZ;
use lineproof_core::quantity::format_frequency;

use super::content::{self, Number as Value, SYSTEM_COLUMNS};
use super::methods;
use super::number::{short, significant};
use super::page::Column::{Number, Right, Text};
use super::page::Page;
use super::units::Units;
use crate::facts::{Surface, table};
use crate::finding::{
    Action, Advice, Condition, Finding, LengthBasis, LossRow, MarkingFound, Quantity, VerdictFound,
};

/// The whole report, with lengths in these units.
pub fn text(finding: &Finding, units: Units) -> String {
    let mut page = Page::default();
    page.paragraph("", &sentence(finding, units));
    let reasons = units.texts(&finding.condition_reasons);
    list(&mut page, "Faults", &reasons);
    let events = finding.events.iter();
    let events: Vec<String> = events.map(|e| content::event_text(e, units)).collect();
    list(&mut page, "Along the cable", &events);
    list(&mut page, "Cause", &content::causes(finding, units));
    if let Some(verdict) = &finding.verdict {
        what_to_do(&mut page, verdict, units);
    }
    numbers(&mut page, finding, units);
    if let Some((heading, rows)) = content::in_system(finding) {
        in_system(&mut page, &heading, rows);
    }
    if let Some(marking) = &finding.marking {
        let lines = content::against_marking(marking, units);
        list(&mut page, "Against its marking", &lines);
    }
    for part in content::beside_numbers(finding, units) {
        list(&mut page, part.heading, &part.items);
    }
    super::types::found(&mut page, &finding.types);
    sweeps(&mut page, finding);
    methods::write(&mut page, &finding.methods, units);
    list(&mut page, "Warnings", &content::warnings(finding, units));
    let advice = finding.advice.iter();
    let advice: Vec<String> = advice.map(|a| units.text(&worded(a))).collect();
    list(&mut page, "What would help", &advice);
    list(&mut page, "Safety", &finding.cautions);
    page.finish()
}

/// Advice with the option that takes what it gives.
fn worded(advice: &Advice) -> String {
    let text = &advice.text;
    match advice.gives {
        Some(gives) => {
            let option = Surface::Terminal.name(table::given_by(gives));
            format!("{text}; give it with {option}")
        }
        None => text.clone(),
    }
}

/// What the cable is, in a sentence, and whether the jacket is right.
pub fn sentence(finding: &Finding, units: Units) -> String {
    if is_bare_port(finding) {
        return "No cable is connected: these sweeps show the bare port, or a part of the kit."
            .to_owned();
    }
    let condition = units.text(&condition_sentence(finding));
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
        let value = short(units.of_m(length.m), units.of_m(length.u95_m));
        format!("{about}{value} {}", units.length())
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
        .map_or_else(String::new, |m| jacket_sentence(m, finding.condition));
    format!("{}{loss}.{condition}{jacket}", parts.join(", "))
}

fn what_to_do(page: &mut Page, verdict: &VerdictFound, units: Units) {
    let action = match verdict.action {
        Action::Keep => "Keep it",
        Action::UseElsewhere => "Use it elsewhere",
        Action::Repair => "Repair it",
        Action::Discard => "Discard it",
        Action::MeasureAgain => "Measure again",
    };
    list(page, action, &units.texts(&verdict.reasons));
    let criteria = content::criteria(Some(verdict), units).into_iter();
    let criteria = criteria.map(|[passed, text, limit]| format!("{passed}: {text} ({limit})"));
    let criteria: Vec<String> = criteria.collect();
    list(page, content::CRITERIA, &criteria);
}

fn condition_sentence(finding: &Finding) -> String {
    match (finding.condition, finding.condition_reasons.first()) {
        (Condition::Sound, _) => " Sound, as far as these sweeps show.".to_owned(),
        (Condition::Suspect, Some(why)) => format!(" Suspect: {why}."),
        (Condition::Faulty, Some(why)) => format!(" Faulty: {why}."),
        _ => String::new(),
    }
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

fn jacket_sentence(marking: &MarkingFound, condition: Condition) -> String {
    let name = marking
        .designation
        .as_ref()
        .map_or_else(String::new, |d| format!(" ({d})"));
    match (marking.agrees, marking.differences.as_slice()) {
        // the marking is of the cable, and says nothing of a fault in it
        (Some(true), _) if condition == Condition::Faulty => {
            format!(" The cable beside the fault agrees with its marking{name}.")
        }
        (Some(true), _) => format!(" It agrees with its marking{name}."),
        (Some(false), [only]) if only.quantity == Quantity::Impedance => {
            format!(
                " It does not agree with its marking{name}: {} ohm.",
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

fn numbers(page: &mut Page, finding: &Finding, units: Units) {
    let rows = content::numbers(finding, units);
    if rows.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = rows.into_iter().map(number).collect();
    page.heading(content::NUMBERS);
    page.table(2, &[Text, Number, Text, Number, Text, Text], &rows);
    for text in content::below_numbers(finding, units) {
        page.paragraph("  - ", &text);
    }
}

fn number(row: Value) -> Vec<String> {
    let sign = if row.u95.is_empty() { "" } else { "±" };
    vec![
        row.name.to_owned(),
        row.value,
        sign.to_owned(),
        row.u95,
        row.unit.to_owned(),
        row.note,
    ]
}

fn in_system(page: &mut Page, heading: &str, found: Vec<[String; 6]>) {
    let mut rows = vec![SYSTEM_COLUMNS.map(str::to_owned).to_vec()];
    rows.extend(found.into_iter().map(Vec::from));
    page.heading(heading);
    page.table(2, &[Right; 6], &rows);
}

fn sweeps(page: &mut Page, finding: &Finding) {
    let rows = content::sweeps(finding).into_iter();
    let rows = rows.map(|[file, far_end, points, from, to]| {
        vec![
            file,
            far_end,
            format!("{points} points"),
            format!("{from} to {to}"),
        ]
    });
    let rows: Vec<Vec<String>> = rows.collect();
    page.heading("Sweeps");
    page.table(2, &[Text, Text, Right, Text], &rows);
}

fn list(page: &mut Page, heading: &str, items: &[String]) {
    for (i, item) in items.iter().enumerate() {
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
        DelayFound, Difference, Gives, ImpedanceFound, LengthFound, LimitedBy, MethodFound,
        RatioFound, SCHEMA, SweepUsed, Warning, WarningCode,
    };

    /// Invented: a cable that is not what its jacket says.
    fn mislabelled() -> Finding {
        Finding {
            schema: SCHEMA,
            program_version: "0.0.0".to_owned(),
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
            warnings: vec![Warning::new(
                WarningCode::LoadNotMeasured,
                "the calibration load was not measured",
            )],
            advice: vec![Advice {
                text: "measure the calibration load with an ohmmeter".to_owned(),
                gives: Some(Gives::LoadByOhmmeter),
            }],
            ..Finding::default()
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
            ..LossRow::default()
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
            explanation: vec!["the dielectric is as marked but the diameters are not".to_owned()],
        }
    }

    #[test]
    fn a_mislabelled_cable_reads_well() {
        insta::assert_snapshot!(text(&mislabelled(), Units::Metres));
    }

    #[test]
    fn a_loss_that_cannot_be_seen_stays_out_of_the_sentence() {
        let mut finding = mislabelled();
        finding.loss = vec![loss(1e7, 0.001, 0.02), loss(1e8, 0.01, 0.02)];
        finding.marking = None;
        assert_eq!(
            sentence(&finding, Units::Metres),
            "75.1 ohm coaxial cable, 1.500 m, velocity factor 0.66."
        );
    }

    #[test]
    fn nothing_determined_is_said_plainly() {
        let mut finding = mislabelled();
        finding.impedance = None;
        assert!(sentence(&finding, Units::Metres).starts_with("These sweeps do not determine"));
    }

    #[test]
    fn no_line_is_wider_than_the_page() {
        let text = text(&mislabelled(), Units::Metres);
        let long: Vec<&str> = text
            .lines()
            .filter(|l| l.chars().count() > super::super::page::WIDTH)
            .collect();
        assert!(long.is_empty(), "{long:?}");
    }
}
