//! Where to cut faults out, as text.

use lineproof_core::quantity::format_frequency;
use lineproof_core::sections::{FaultAnswer, PieceLeft};
use lineproof_core::uncertain::Uncertain;

use super::text::{in_feet_or_metres, interval};
use crate::report::number::{pair, significant};
use crate::report::page::Column::{Right, Text};
use crate::report::page::Page;
use lineproof_core::finding::judge::repair::FaultAt;

/// The whole answer for people.
pub(super) fn text(answer: &FaultAnswer, feet: bool) -> String {
    let mut page = Page::default();
    page.paragraph("", &sentence(answer, feet));
    for plug in &answer.renew_plugs {
        page.paragraph("", &format!("Renew the plug at the {} end.", plug.name()));
    }
    if !answer.faults.is_empty() {
        page.heading("Taken out");
    }
    for fault in &answer.faults {
        page.paragraph("  - ", &fault_text(fault, feet));
    }
    if !answer.remains.is_empty() {
        remains(&mut page, answer, feet);
        afterwards(&mut page, answer, feet);
    }
    page.list("Remarks", &answer.remarks);
    page.finish()
}

fn sentence(answer: &FaultAnswer, feet: bool) -> String {
    let Some(cut) = &answer.fault else {
        return if answer.renew_plugs.is_empty() {
            "Nothing to cut out: the finding names no fault.".to_owned()
        } else {
            "No cut along the cable.".to_owned()
        };
    };
    if cut.left_m.is_empty() {
        return "No useful piece is left on either side of the fault.".to_owned();
    }
    let whole_m = answer.whole_m.unwrap_or(f64::INFINITY);
    let ends = cut.out_m.iter().copied().flatten();
    let cuts: Vec<String> = ends
        .filter(|&m| m > 0.0 && m < whole_m)
        .map(|m| in_feet_or_metres(m, feet))
        .collect();
    let left: Vec<String> = cut
        .left_m
        .iter()
        .map(|&m| in_feet_or_metres(m, feet))
        .collect();
    let go = cut.waste_m.map_or_else(String::new, |waste_m| {
        format!(", {} go", in_feet_or_metres(waste_m, feet))
    });
    format!(
        "Cut at {} from the near end: {} remain{go}.",
        cuts.join(" and at "),
        left.join(" and ")
    )
}

fn fault_text(fault: &FaultAt, feet: bool) -> String {
    let at = interval(crate::finding::from_u95(fault.at_m, fault.u95_m), feet);
    let long = if fault.length_m > 0.0 {
        format!(", {} long", in_feet_or_metres(fault.length_m, feet))
    } else {
        String::new()
    };
    format!("{} at {at}{long}", fault.kind.noun())
}

fn remains(page: &mut Page, answer: &FaultAnswer, feet: bool) {
    page.heading("What remains");
    let header = [
        "where",
        "length",
        "delay, ns",
        "loss, dB",
        "quarter wave, MHz",
    ];
    let mut rows = vec![header.map(str::to_owned).to_vec()];
    rows.extend(answer.remains.iter().map(|r| row(r, feet)));
    page.table(2, &[Text, Right, Right, Right, Right], &rows);
    page.line("");
    let at = answer.remains.iter().find_map(|r| r.loss_at_hz);
    let at = at.map_or_else(String::new, |f| {
        format!(" The loss is at {}.", format_frequency(f))
    });
    page.paragraph("", &format!(
        "Delays and losses are those of sound cable of that length, without plugs.{at} The quarter wave is the first impedance minimum with the far end open; plugs lower it a \
         little."
    ));
}

fn row(piece: &PieceLeft, feet: bool) -> Vec<String> {
    let (from, to) = (piece.from_m, piece.to_m);
    let unseen = if piece.seen { "" } else { ", not measured" };
    let text = |value: Option<Uncertain>, factor: f64| {
        value.map_or_else(
            || "not known".to_owned(),
            |v| {
                let (value, u95) = pair(v.value * factor, v.u95() * factor);
                format!("{value} ± {u95}")
            },
        )
    };
    let from = if from > 0.0 {
        in_feet_or_metres(from, feet)
    } else {
        "near end".to_owned()
    };
    vec![
        format!("{from} to {}{unseen}", in_feet_or_metres(to, feet)),
        in_feet_or_metres(piece.length_m, feet),
        text(piece.delay(), 1e9),
        text(piece.loss(), 1.0),
        text(piece.quarter_wave(), 1e-6),
    ]
}

fn afterwards(page: &mut Page, answer: &FaultAnswer, feet: bool) {
    page.heading("Afterwards");
    page.paragraph(
        "  1. ",
        "Inspect each cut. Keep cutting until the braid is bright and the dielectric clean and round.",
    );
    page.paragraph(
        "  2. ",
        "Fit new plugs, and measure the length between them.",
    );
    let Some(first) = answer.remains.iter().find(|r| r.one_way_s.is_some()) else {
        page.paragraph(
            "  3. ",
            "Sweep each piece with the far end open and with the load on it, and assay it.",
        );
        return;
    };
    let wanted = first.quarter_wave().map_or_else(String::new, |q| {
        let longest_hz = 3.0 * q.value;
        format!(
            ", in steps of {} MHz or less",
            significant(longest_hz / 3.0 / 10.0 / 1e6, 1)
        )
    });
    page.paragraph("  3. ", &format!(
        "Sweep each piece with the far end open and with the load on it{wanted}, and give both to `lineproof assay \
         --length {}`: if delay and loss lie within the intervals above and no event is found, the fault is gone.",
        in_feet_or_metres(first.length_m, feet).replace(' ', "")
    ));
    page.paragraph(
        "  4. ",
        "If the loss is higher, the damage reaches further: keep cutting. If there is another event, cut there.",
    );
}
