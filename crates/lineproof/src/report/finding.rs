//! A finding as text, all of it: verdict, faults, what to do, warnings, advice, care, numbers, marking, methods.

use lineproof_core::finding::said::numbers::{self, SYSTEM_COLUMNS};
use lineproof_core::finding::said::{Number as Value, decision, evidence, sentences, short};

use super::methods;
use super::page::Column::{Number, Right, Text};
use super::page::Page;
use crate::facts::{Surface, table};
use crate::finding::{Advice, Finding, VerdictFound};
use lineproof_core::quantity::Units;

/// The whole report, with lengths in these units: the answer and what bears on it first, then numbers and how
/// they are known.
pub fn text(finding: &Finding, units: Units) -> String {
    let mut page = Page::default();
    page.paragraph("", &short::verdict(finding, units));
    if let Some(cable) = short::cable(finding, units) {
        page.paragraph("", &cable);
    }
    answer(&mut page, finding, units);
    numbers(&mut page, finding, units);
    if let Some((heading, rows)) = numbers::in_system(finding) {
        in_system(&mut page, &heading, rows);
    }
    if let Some(marking) = &finding.marking {
        let lines = decision::against_marking(marking, units);
        page.list("Against its marking", &lines);
    }
    for part in sentences::beside_numbers(finding, units) {
        page.list(part.heading, &part.items);
    }
    super::types::found(&mut page, &finding.types);
    sweeps(&mut page, finding);
    methods::write(&mut page, &finding.methods, units);
    page.finish()
}

/// What is wrong, what to do, and what must be known before a number is trusted.
fn answer(page: &mut Page, finding: &Finding, units: Units) {
    page.list("Faults", &units.texts(&finding.condition_reasons));
    let events = finding.events.iter();
    let events: Vec<String> = events
        .map(|e| decision::event_text(e, finding, units))
        .collect();
    page.list("Along the cable", &events);
    page.list("Cause", &decision::causes(finding, units));
    if let Some(verdict) = &finding.verdict {
        what_to_do(page, verdict, units);
    }
    page.list("Warnings", &sentences::warnings(finding, units));
    let advice = finding.advice.iter();
    let advice: Vec<String> = advice.map(|a| units.text(&worded(a))).collect();
    page.list("What would help", &advice);
    page.list("Safety", &finding.cautions);
}

/// Advice with the option that takes what it gives.
pub(super) fn worded(advice: &Advice) -> String {
    let text = &advice.text;
    match advice.gives {
        Some(gives) => {
            let option = Surface::Terminal.name(table::given_by(gives));
            format!("{text}; give it with {option}")
        }
        None => text.clone(),
    }
}

fn what_to_do(page: &mut Page, verdict: &VerdictFound, units: Units) {
    let action = short::imperative(verdict.action);
    page.list(action, &units.texts(&verdict.reasons));
    let criteria = decision::criteria(Some(verdict), units).into_iter();
    let criteria = criteria.map(|[passed, text, limit]| format!("{passed}: {text} ({limit})"));
    let criteria: Vec<String> = criteria.collect();
    page.list(decision::CRITERIA, &criteria);
}

fn numbers(page: &mut Page, finding: &Finding, units: Units) {
    let rows = numbers::numbers(finding, units);
    if rows.is_empty() {
        return;
    }
    let rows: Vec<Vec<String>> = rows.into_iter().map(number).collect();
    page.heading(numbers::NUMBERS);
    page.table(2, &[Text, Number, Text, Number, Text, Text], &rows);
    for text in numbers::below_numbers(finding, units) {
        page.paragraph("  - ", &text);
    }
}

/// A number's cells in a table.
pub(super) fn number(row: Value) -> Vec<String> {
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
    let rows = evidence::sweeps(finding).into_iter();
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{
        Action, Condition, Criterion, CriterionFound, DelayFound, Difference, Gives,
        ImpedanceFound, LengthBasis, LengthFound, LimitedBy, LossRow, MarkingFound, MethodFound,
        Quantity, RatioFound, SCHEMA, SweepUsed, Warning, WarningCode,
    };
    use crate::report::brief_text;

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
            condition: Condition::Sound,
            marking: Some(marking()),
            verdict: Some(verdict()),
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

    fn verdict() -> VerdictFound {
        let text = "impedance 75.1 ohm, limit 50 ± 2.0 ohm".to_owned();
        VerdictFound {
            action: Action::UseElsewhere,
            reasons: vec!["use it in a 75-ohm system".to_owned()],
            criteria: vec![CriterionFound {
                name: Criterion::ImpedanceTolerance,
                text,
                passed: false,
                set: false,
                source: "±2 ohm in 50".to_owned(),
            }],
        }
    }

    #[test]
    fn a_mislabelled_cable_reads_well() {
        insta::assert_snapshot!(text(&mislabelled(), Units::Metres));
    }

    #[test]
    fn the_sentence_of_the_cable_has_no_loss() {
        let mut finding = mislabelled();
        finding.marking = None;
        assert_eq!(
            short::cable(&finding, Units::Metres).unwrap(),
            "75.1 ohm coaxial cable, 1.500 m, velocity factor 0.66."
        );
    }

    #[test]
    fn nothing_determined_is_said_plainly() {
        let finding = Finding {
            condition: Condition::Undetermined,
            impedance: None,
            verdict: Some(VerdictFound {
                action: Action::MeasureAgain,
                reasons: Vec::new(),
                criteria: Vec::new(),
            }),
            ..mislabelled()
        };
        let said = brief_text::text(&finding, Units::Metres);
        assert!(said.starts_with("Measure again: these sweeps do not determine the cable."));
        assert!(!said.contains("coaxial cable"), "{said}");
    }

    #[test]
    fn the_short_answer_reads_well() {
        insta::assert_snapshot!(brief_text::text(&mislabelled(), Units::Metres));
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
