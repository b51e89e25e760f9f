//! Sound, suspect or faulty: what the events and the loss make of it, with the reasons.

use crate::bench::{Bench, FarEnd};
use crate::estimate::Estimate;
use crate::quantity::digits::significant;
use crate::quantity::{format_frequency, format_uncertain};

use super::marking::{self, Excess};
use crate::finding::events::EventFound;
use crate::finding::found::Finding;
use crate::finding::marking::Quantity;
use crate::finding::verdict::Condition;

/// Loss over what the marking claims from which a cable is suspect, and what its interval must stay
/// above: pieces of one type differ by 10 % (common practice), so this is no make.
const SUSPECT_LOSS: f64 = 1.4;
const SURELY_MORE: f64 = 1.1;
/// The same over the most that a piece of a type has by its sheet and the spread of makers.
const SUSPECT_LOSS_OF_TYPE: f64 = 1.2;

/// What the far load may be more than was stated: terminations are sold to 1 or 2 % (common practice, no single
/// source).
const MORE_THAN_LOADS_DIFFER: f64 = 1.03;

/// The condition and why.
pub fn judge(
    bench: &Bench,
    estimate: Option<&Estimate>,
    finding: &Finding,
) -> (Condition, Vec<String>) {
    let in_question = finding.events.iter().filter(|e| !e.is_surely_connector());
    let mut reasons: Vec<String> = in_question.map(reason).collect();
    let faulty = finding.events.iter().any(EventFound::is_surely_fault);
    if let Some(estimate) = estimate {
        reasons.extend(excess_loss(bench, estimate, finding));
        reasons.extend(more_at_the_far_end(bench, estimate));
    }
    let condition = match (faulty, reasons.is_empty()) {
        (true, _) => Condition::Faulty,
        (false, false) => Condition::Suspect,
        (false, true) if finding.impedance.is_none() => Condition::Undetermined,
        (false, true) => Condition::Sound,
    };
    (condition, reasons)
}

/// Resistance beyond the declared far load's that terminations do not differ by, where no shorted sweep shows whether a
/// joint in the far plug adds it: an open end carries no current through it, and a load takes it for its own.
fn more_at_the_far_end(bench: &Bench, estimate: &Estimate) -> Option<String> {
    let found = estimate.other_far_load_ohm()?;
    let declared = bench.far_load.ohm.value;
    let loaded = bench.first(FarEnd::Load)?;
    let surely_more = found.value - found.u95() > MORE_THAN_LOADS_DIFFER * declared;
    (surely_more && bench.first(FarEnd::Short).is_none()).then(|| {
        format!(
            "in `{}` the far end has {} where {} ohm was stated: another load, or a joint in the far plug that adds \
             {} ohm; a sweep with the far end shorted tells which",
            loaded.label,
            format_uncertain(found, "ohm"),
            significant(declared, 3),
            significant(found.value - declared, 2)
        )
    })
}

fn reason(event: &EventFound) -> String {
    if event.by_tape_alone {
        return format!(
            "the far end is at {}, nearer than the tape says: the cable ends early, the tape is wrong, or it does \
             not have the marked velocity factor",
            event.place()
        );
    }
    let sentence = event.sentence();
    if event.kind.is_fault() && !event.is_significant() {
        return format!("{sentence}: slight beside its interval, so not surely a fault");
    }
    sentence
}

/// Loss that no good piece of the marked type has. If impedance or velocity factor do not agree with
/// the marking, it is another type, and the loss says nothing.
fn excess_loss(bench: &Bench, estimate: &Estimate, finding: &Finding) -> Option<String> {
    let other_type = finding
        .marking
        .as_ref()
        .is_some_and(|m| m.differences.iter().any(|d| d.quantity != Quantity::Loss));
    let only_connectors = finding.events.iter().all(EventFound::is_surely_connector);
    if other_type || !only_connectors {
        return None;
    }
    let Excess {
        marked_db,
        found,
        at_hz,
        sheet,
        ..
    } = marking::excess(bench, estimate, finding)?;
    let claimed = marked_db.value;
    // pieces of a sheet's type differ by their spread already
    let most = claimed + marked_db.u95();
    let surely = found.value - found.u95();
    let suspect = match sheet {
        None => surely >= SURELY_MORE * claimed && found.value >= SUSPECT_LOSS * claimed,
        Some(_) => surely >= SURELY_MORE * most && found.value >= SUSPECT_LOSS_OF_TYPE * most,
    };
    suspect.then(|| {
        let by = sheet.map_or_else(|| "the marking".to_owned(), |t| format!("the sheet of {t}"));
        format!(
            "the loss at {} is {}, {:.1} times the {claimed:.2} dB of {by}: corroded or \
             partly broken conductors, water, or another type",
            format_frequency(at_hz),
            format_uncertain(found, "dB"),
            found.value / claimed
        )
    })
}
