//! What to do with the cable: keep, use elsewhere, repair, discard, measure again; by the criteria,
//! each listed with what was found.

use crate::bench::Bench;
use crate::estimate::Estimate;
use crate::fitness::Span;
use crate::quantity::{format_frequency, format_length};

use super::asked::Purpose;
use super::criteria::{self, Criteria};
use super::doubt;
use super::in_system;
use super::in_system::insertion_loss_db;
use super::marking;
use super::repair::{self, FaultAt};
use super::stated::SYSTEMS_OHM;
use crate::finding::events::{EventFound, EventKind, EventRow};
use crate::finding::found::Finding;
use crate::finding::verdict::{Action, Condition, Criterion, CriterionFound, VerdictFound};

/// 95 % half-width of a place from which it is too vague to cut at: m, and its part of the way there.
const VAGUE_M: f64 = 0.5;
const VAGUE_PART: f64 = 0.02;

/// The verdict.
pub fn verdict(
    bench: &Bench,
    estimate: Option<&Estimate>,
    finding: &Finding,
    criteria: &Criteria,
    purpose: Purpose,
) -> VerdictFound {
    let case = Case {
        bench,
        estimate,
        finding,
        criteria,
        system_ohm: system_ohm(bench, finding, purpose),
        use_hz: purpose.use_hz,
    };
    let checked = checked(&case);
    let (action, reasons) = decided(&case, &checked);
    VerdictFound {
        action,
        reasons,
        criteria: checked,
    }
}

/// What a verdict is made from.
struct Case<'a> {
    bench: &'a Bench,
    estimate: Option<&'a Estimate>,
    finding: &'a Finding,
    criteria: &'a Criteria,
    system_ohm: Option<f64>,
    use_hz: Option<f64>,
}

/// Every criterion that the data can answer.
fn checked(case: &Case) -> Vec<CriterionFound> {
    let Case {
        bench,
        estimate,
        finding,
        criteria,
        ..
    } = *case;
    let mut all = Vec::new();
    let mut add = |name: Criterion, text: String, passed: bool| {
        all.push(CriterionFound {
            text,
            passed,
            set: criteria.is_set(&name),
            source: criteria::source(&name).to_owned(),
            name,
        });
    };
    if let (Some(z), Some(system)) = (finding.impedance, case.system_ohm) {
        let limit = criteria.impedance_tolerance * system;
        let off = (z.ohm - system).abs();
        add(
            Criterion::ImpedanceTolerance,
            format!(
                "impedance {:.1} ohm, limit {system} ± {limit:.1} ohm",
                z.ohm
            ),
            off - z.u95_ohm <= limit,
        );
    }
    if let (Some(vf), Some(claimed)) = (finding.velocity_factor, bench.marking.velocity_factor) {
        let limit = criteria.velocity_tolerance * claimed;
        add(
            Criterion::VelocityTolerance,
            format!(
                "velocity factor {:.3}, limit {claimed} ± {limit:.3}",
                vf.ratio
            ),
            (vf.ratio - claimed).abs() - vf.u95 <= limit,
        );
    }
    if let Some(excess) = estimate.and_then(|e| marking::excess(bench, e, finding)) {
        let most = limit_db(&excess, criteria);
        add(
            if criteria.loss_excess * excess.marked_db.value > criteria.loss_excess_db {
                Criterion::LossExcess
            } else {
                Criterion::LossExcessDb
            },
            format!(
                "loss {:.2} dB at {} with faults and plugs, limit {most:.2} dB",
                excess.as_it_lies.value,
                format_frequency(excess.at_hz),
            ),
            excess.as_it_lies.value - excess.as_it_lies.u95() <= most,
        );
    }
    if let (Some(estimate), Some(at_hz), Some(most)) =
        (estimate, case.use_hz, criteria.most_loss_db)
    {
        let system_ohm = case.system_ohm.unwrap_or(bench.kit_load.ohm.value);
        let loss = insertion_loss_db(estimate, at_hz, system_ohm)
            .unwrap_or_else(|| estimate.loss_db(at_hz));
        add(
            Criterion::MostLossDb,
            format!(
                "loss {:.2} dB at {} with faults and plugs, limit {most} dB",
                loss.value,
                format_frequency(at_hz)
            ),
            loss.value <= most,
        );
    }
    all
}

/// The system's impedance: as said, else as the jacket claims. The cable's own is no measure of it: only of a cable
/// that nobody claims anything of, the nearest that systems have is what it may be good for.
fn system_ohm(bench: &Bench, finding: &Finding, purpose: Purpose) -> Option<f64> {
    let nearest = || {
        let z = finding.impedance?.ohm;
        SYSTEMS_OHM
            .into_iter()
            .min_by(|a, b| (a - z).abs().total_cmp(&(b - z).abs()))
    };
    purpose
        .system_ohm
        .or_else(|| marking::claimed_ohm(bench))
        .or_else(nearest)
}

fn decided(case: &Case, checked: &[CriterionFound]) -> (Action, Vec<String>) {
    let Case {
        finding, criteria, ..
    } = *case;
    if finding.condition == Condition::Undetermined {
        let why = if doubt::is_bare_port(finding) {
            "connect the cable and sweep again"
        } else {
            "the sweeps do not determine the cable: the warnings say what went wrong"
        };
        return (Action::MeasureAgain, vec![why.to_owned()]);
    }
    if let Some(early) = finding.events.iter().find(|e| e.by_tape_alone) {
        return (Action::MeasureAgain, vec![only_by_tape(early)]);
    }
    if finding.events.iter().any(EventFound::is_surely_fault) {
        return repair(case.bench, finding, criteria);
    }
    let mut in_question = finding.events.iter().filter(|e| !e.is_surely_connector());
    if let Some(event) = in_question.next() {
        return (Action::MeasureAgain, vec![look_again(event)]);
    }
    let fails = |name: &Criterion| checked.iter().any(|c| c.name == *name && !c.passed);
    if finding.condition == Condition::Suspect
        || fails(&Criterion::LossExcess)
        || fails(&Criterion::LossExcessDb)
    {
        return case
            .lossy_connector(checked)
            .unwrap_or_else(|| lossy(finding, checked));
    }
    if fails(&Criterion::ImpedanceTolerance) {
        return (Action::UseElsewhere, elsewhere(case));
    }
    if fails(&Criterion::MostLossDb) {
        let text = "too much loss for this use: use a shorter run or a lower frequency";
        return (Action::UseElsewhere, vec![text.to_owned()]);
    }
    let failed: Vec<&str> = checked
        .iter()
        .filter(|c| !c.passed)
        .map(|c| c.text.as_str())
        .collect();
    let why = if checked.is_empty() {
        "nothing was found against it".to_owned()
    } else if failed.is_empty() {
        "it passes every criterion that could be checked".to_owned()
    } else {
        format!(
            "sound, though not as claimed ({}): cut no section by the claimed figure, and check the tape",
            failed.join("; ")
        )
    };
    let connectors = finding.events.iter().map(|e| connector(e, case.use_hz));
    (Action::Keep, [why].into_iter().chain(connectors).collect())
}

/// What would decide about an event that is not surely a fault.
fn look_again(event: &EventFound) -> String {
    let sentence = event.sentence();
    let what = if event.kind == EventKind::Stub {
        "take off what hangs on the tee there, and sweep again"
    } else if event.kind == EventKind::Connector || event.or.contains(&EventKind::Connector) {
        "look there: a connector or an adapter that belongs there is no fault; where there is none, the cable is \
         damaged"
    } else if event.kind == EventKind::Unknown {
        "sweep to a higher stop or with the far end loaded, and from the other end"
    } else {
        "too slight beside its interval to cut for: look there, and sweep again to a higher stop or with the far end \
         loaded"
    };
    format!("{sentence}: {what}")
}

/// A connector in the line, and what it does at the frequency of use or the highest that is stated.
fn connector(event: &EventFound, use_hz: Option<f64>) -> String {
    let sentence = event.sentence();
    let of_use = |row: &&EventRow| use_hz.is_some_and(|f| (row.at_hz - f).abs() < 1.0);
    let row = event.by_itself.iter().find(of_use);
    let Some(row) = row.or(event.by_itself.last()) else {
        return format!("{sentence}: no fault by itself");
    };
    format!(
        "{sentence}: no fault by itself; at {} it has a return loss of {:.1} dB and takes {:.2} dB",
        format_frequency(row.at_hz),
        row.return_loss_db,
        row.loss_db
    )
}

impl Case<'_> {
    /// A connector that takes so much that the loss would be within its limit without it.
    fn lossy_connector(&self, checked: &[CriterionFound]) -> Option<(Action, Vec<String>)> {
        let of_loss = |c: &&CriterionFound| {
            matches!(c.name, Criterion::LossExcess | Criterion::LossExcessDb) && !c.passed
        };
        let failed = checked.iter().find(of_loss)?;
        let excess = marking::excess(self.bench, self.estimate?, self.finding)?;
        let most_db = limit_db(&excess, self.criteria);
        let without = excess.found.value - excess.found.u95();
        let worst = self.finding.events.iter().max_by(|a, b| {
            let taken = |e: &EventFound| e.by_itself.last().map_or(0.0, |row| row.loss_db);
            taken(a).total_cmp(&taken(b))
        })?;
        (without <= most_db).then(|| {
            let reasons = vec![
                failed.text.clone(),
                format!(
                    "renew the {}, and sweep again",
                    connector(worst, self.use_hz)
                ),
            ];
            (Action::Repair, reasons)
        })
    }
}

/// Most loss that the marking allows, dB.
fn limit_db(excess: &marking::Excess, criteria: &Criteria) -> f64 {
    let claimed = excess.marked_db.value;
    let limit = (criteria.loss_excess * claimed).max(criteria.loss_excess_db);
    claimed + limit + excess.marked_db.u95()
}

/// An end that only the tape speaks for is no reason to cut.
fn only_by_tape(early: &EventFound) -> String {
    format!(
        "only the tape says that the cable is longer than {}: measure the length again, and sweep from the other end and \
         with the load at the far end; do not cut before that",
        early.place()
    )
}

/// More loss than claimed, and nothing else wrong.
fn lossy(finding: &Finding, checked: &[CriterionFound]) -> (Action, Vec<String>) {
    let mut reasons = finding.condition_reasons.clone();
    let failed = checked
        .iter()
        .any(|c| matches!(c.name, Criterion::LossExcess | Criterion::LossExcessDb) && !c.passed);
    if failed {
        // a suspicion is no reason to throw it away
        reasons.push(
            "renew the plugs and sweep again; if the loss remains, it is in the cable: discard it"
                .to_owned(),
        );
        (Action::MeasureAgain, reasons)
    } else {
        reasons.push(
            "on such a short piece the loss matters little: good for short or low-frequency use; \
             flex it and repeat: a loss that changes is in the braid or a plug"
                .to_owned(),
        );
        (Action::UseElsewhere, reasons)
    }
}

/// What the other impedance costs in the system, and where it costs nothing.
fn elsewhere(case: &Case) -> Vec<String> {
    let (Some(z), Some(system)) = (case.finding.impedance, case.system_ohm) else {
        return Vec::new();
    };
    // at the frequency of use, else where the impedance is stated
    let at_hz = case.use_hz.unwrap_or(z.at_hz);
    let Some(cost) = case
        .estimate
        .and_then(|e| in_system::priced(e, at_hz, system))
    else {
        return Vec::new();
    };
    let fits = SYSTEMS_OHM
        .into_iter()
        .min_by(|a, b| (a - z.ohm).abs().total_cmp(&(b - z.ohm).abs()))
        .unwrap_or(system);
    let place = if (fits / z.ohm - 1.0).abs() < 0.05 {
        format!("in a {fits}-ohm system, or as a matching section")
    } else {
        "as a matching section".to_owned()
    };
    vec![
        format!(
            "{:.0} ohm in a {system}-ohm system at {}: VSWR {} at the near end, {} more loss \
             than a matched line; at the worst length VSWR {:.2} and {:.2} dB mismatch loss",
            z.ohm,
            format_frequency(at_hz),
            span(cost.input_swr, 2, ""),
            span(cost.extra_loss_db, 2, " dB"),
            cost.worst_input_swr,
            cost.worst_mismatch_db
        ),
        format!("use it {place}"),
    ]
}

fn span(span: Span, digits: usize, unit: &str) -> String {
    let [low, high] = [span.low, span.high].map(|v| format!("{v:.digits$}"));
    if low == high {
        format!("{low}{unit}")
    } else {
        format!("{low} to {high}{unit}")
    }
}

/// Cut the faults out: what remains decides. Places are worth a saw only where they are known.
fn repair(bench: &Bench, finding: &Finding, criteria: &Criteria) -> (Action, Vec<String>) {
    let mut sure = finding.events.iter().filter(|e| e.is_surely_fault());
    if let Some(event) = sure.find(|e| is_vague(e)) {
        return (Action::MeasureAgain, vec![find_the_place(event)]);
    }
    let seen_m = finding.events.iter().find_map(whole_m);
    let length_m = seen_m.or(finding.length.map(|l| l.m));
    let faults: Vec<FaultAt> = finding.events.iter().filter_map(FaultAt::of).collect();
    let mut reasons: Vec<String> = faults
        .iter()
        .filter(|f| f.kind != EventKind::Unknown)
        .map(|fault| what_to_do(fault, length_m))
        .collect();
    let cut = repair::repair(&faults, length_m, criteria.shortest_m).map(|r| r.cut);
    let Ok(Some(cut)) = cut else {
        return (Action::Repair, reasons);
    };
    if cut.left_m.is_empty() && seen_m.is_none() {
        reasons.push(unseen(bench, &faults));
        return (Action::Repair, reasons);
    }
    if cut.left_m.is_empty() {
        reasons.push(format!(
            "no piece of {} or more remains",
            format_length(criteria.shortest_m)
        ));
        return (Action::Discard, reasons);
    }
    let list: Vec<String> = cut
        .left_m
        .iter()
        .map(|(from, to)| format!("{:.2} m", to - from))
        .collect();
    reasons.push(format!("what remains: {}", list.join(" and ")));
    if seen_m.is_none() {
        reasons.push(
            "the sweeps do not show what lies beyond the fault: sweep from the other end".into(),
        );
    }
    reasons.push("fit new plugs and assay each piece again".to_owned());
    (Action::Repair, reasons)
}

/// Length of the piece as far as an event tells it, m.
fn whole_m(event: &EventFound) -> Option<f64> {
    event
        .from_far_m
        .zip(event.at_m)
        .map(|(from_far, at_m)| at_m + from_far)
}

/// Whether a place is known too badly to cut at, or in metres not at all.
fn is_vague(event: &EventFound) -> bool {
    event
        .place_m()
        .is_none_or(|at| at.u95() > VAGUE_M + VAGUE_PART * at.value)
}

/// A cable that ends just behind the analyser: what lies beyond was not seen and is not thrown away.
fn unseen(bench: &Bench, faults: &[FaultAt]) -> String {
    let end_m = faults.iter().map(|f| f.at_m).fold(0.0, f64::max);
    let rest = bench
        .length_m
        .map(|l| l.value - end_m)
        .filter(|&rest_m| rest_m > 0.0)
        .map_or_else(String::new, |rest_m| {
            format!(", {rest_m:.1} m by the tape,")
        });
    format!(
        "look at the near plug first, the fault is in it or just behind; what lies beyond{rest} was not seen: fit a new \
         plug and sweep again, or sweep from the other end"
    )
}

fn find_the_place(event: &EventFound) -> String {
    let share = event.share.filter(|_| event.at_m.is_some());
    let way = share.map_or_else(String::new, |share| {
        format!(" (at {:.1} % of the way to the far end)", 100.0 * share)
    });
    format!(
        "{}{way}: too uncertain to cut; measure the length between the plugs, or give the \
         velocity factor",
        event.sentence()
    )
}

fn what_to_do(fault: &FaultAt, length_m: Option<f64>) -> String {
    if let Some(end) = fault.plug(length_m) {
        return format!("renew the plug at the {} end, and sweep again", end.name());
    }
    let half = fault.half_m();
    let begin = (fault.at_m - half).max(0.0);
    let end = length_m.map_or(fault.at_m + half, |l| (fault.at_m + half).min(l));
    match fault.kind {
        EventKind::Splice => format!("separate the two cables at {:.2} m", fault.at_m),
        EventKind::Wet => format!(
            "dry it and sweep again, or cut out {begin:.2} to {end:.2} m: wet foam does not recover"
        ),
        EventKind::Open | EventKind::Short => format!(
            "cut it off at {begin:.2} m from the near end, or open it there and join it again"
        ),
        _ => format!("cut out {begin:.2} to {end:.2} m from the near end"),
    }
}
