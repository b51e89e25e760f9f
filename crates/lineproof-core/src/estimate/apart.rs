//! Whether the sweeps are of one cable in one state, by experiment: the sweeps of one far end and those of the others
//! are fitted by themselves, and the evidence of one cable for all is held against that of two.
//!
//! Two cables have twice the unknowns, and the evidence counts what that freedom costs (MacKay, *Information Theory,
//! Inference, and Learning Algorithms*, ch. 28): sweeps of one cable speak for one. An analyser that drifted between
//! sweeps may speak for two, and then both come out the same; so the two must differ as well.

use crate::bench::{Bench, FarEnd};
use crate::uncertain::Uncertain;

use super::model::Readings;
use super::of_bench::{collect, known_of};
use super::posterior::Estimate;
use super::search::{self, Apart, Chosen, Difference, Progress, RIVAL, SURE};

/// Standard uncertainties by which a quantity of two cables must differ, and by how much at least: a plug more or
/// less, what pieces of one type differ by, and what connections make of a loss. Common practice, no single source.
const CLEAR: f64 = 3.0;
const LEAST_DELAY: (f64, f64) = (0.01, 0.1e-9);
const LEAST_IMPEDANCE: (f64, f64) = (0.01, 0.0);
const LEAST_LOSS: (f64, f64) = (0.1, 0.05);

/// Part of the sweeps, fitted by itself.
struct Part {
    bench: Bench,
    readings: Vec<Readings>,
    /// Their numbers among all sweeps.
    numbers: Vec<usize>,
}

/// The sweeps that are most surely of another cable than the others; nothing if one cable leaves nothing to explain,
/// if its points do not follow the phase, or if the sweeps do not part by far ends.
pub(super) fn apart(bench: &Bench, chosen: &Chosen, progress: &Progress) -> Option<Apart> {
    if !search::leaves_something(chosen)
        || !search::is_followed(chosen)
        || !bench.throughs.is_empty()
    {
        return None;
    }
    let ends = [FarEnd::Open, FarEnd::Short, FarEnd::Load];
    let present = ends.into_iter().filter(|&end| bench.first(end).is_some());
    let present: Vec<FarEnd> = present.collect();
    // of two far ends one is the other's other
    let candidates = match present.as_slice() {
        [] | [_] => &[],
        [_, last @ ..] if last.len() == 1 => last,
        all => all,
    };
    if candidates.is_empty() {
        return None;
    }
    // checks of the calibration would count twice
    let again = if chosen.readings.len() == bench.sweeps.len() {
        None
    } else {
        Some(search::best(
            &collect(bench),
            &[],
            known_of(bench),
            progress,
        )?)
    };
    let of_all = again.as_ref().unwrap_or(chosen);
    let for_one = search::ln_evidence(of_all, search::points(of_all))?;
    let all = candidates.iter().filter_map(|&end| {
        let parts = [true, false].map(|alone| Part::of(bench, |far_end| (far_end == end) == alone));
        let found = parts_apart(end, &parts, of_all, for_one, progress);
        found.filter(|found| found.ln_evidence > SURE && !found.differences.is_empty())
    });
    all.max_by(|a, b| a.ln_evidence.total_cmp(&b.ln_evidence))
}

/// Two cables in place of one: whole ones, and if those do not say it, with faults.
fn parts_apart(
    far_end: FarEnd,
    parts: &[Part; 2],
    of_all: &Chosen,
    for_one: f64,
    progress: &Progress,
) -> Option<Apart> {
    let whole = |part: &Part| {
        let known = known_of(&part.bench);
        search::whole(&part.readings, known, of_all, progress.cancel_flag())
    };
    let [first, second] = parts.each_ref().map(whole);
    let fits = [first?, second?];
    let found = compared(far_end, parts, &fits, of_all, for_one);
    if found.ln_evidence > SURE && !found.differences.is_empty() {
        return Some(found);
    }
    let points = search::points(of_all);
    let faulty = |(part, (whole, ln_evidence)): (&Part, (Chosen, f64))| {
        if !search::may_have_faults(&whole) {
            return Some((whole, ln_evidence));
        }
        let found = search::best(&part.readings, &[], known_of(&part.bench), progress)?;
        let of_found = search::ln_evidence(&found, points)?;
        Some(if of_found > ln_evidence {
            (found, of_found)
        } else {
            (whole, ln_evidence)
        })
    };
    let [first, second] = fits;
    let fits = [faulty((&parts[0], first))?, faulty((&parts[1], second))?];
    Some(compared(far_end, parts, &fits, of_all, for_one))
}

fn compared(
    far_end: FarEnd,
    parts: &[Part; 2],
    fits: &[(Chosen, f64); 2],
    of_all: &Chosen,
    for_one: f64,
) -> Apart {
    let [a, b] = fits;
    let misses = |i: usize| search::misses(of_all, &fits[i].0, &parts[i].numbers);
    let mut differences = Vec::new();
    let estimates = [0, 1].map(|i| Estimate::new(fits[i].0.clone(), &parts[i].bench));
    let ln_evidence = a.1 + b.1 - for_one;
    let shown = estimates.iter().all(Estimate::shows_end);
    differences.extend(quantities(&estimates, shown || ln_evidence > RIVAL));
    differences.extend(fault(&a.0, &b.0));
    if misses(0) || misses(1) {
        differences.push(Difference::Misfit);
    }
    Apart {
        far_end,
        ln_evidence,
        differences,
    }
}

/// Impedance, and delay and loss if `with_length`: of a cable that ends where nothing shows, the sweeps must speak by
/// more for two, since its delay may be that of a plug.
fn quantities(estimates: &[Estimate; 2], with_length: bool) -> Vec<Difference> {
    let [a, b] = estimates;
    let (low_a, high_a) = a.covered_hz();
    let (low_b, high_b) = b.covered_hz();
    let (low_hz, high_hz) = (low_a.max(low_b), high_a.min(high_b));
    let middle_hz = (low_hz * high_hz).sqrt();
    let both = |of: &dyn Fn(&Estimate) -> Uncertain| [of(a), of(b)];
    let mut differences = Vec::new();
    let ohm = both(&|e| e.impedance_ohm(middle_hz));
    if differ(ohm, LEAST_IMPEDANCE) {
        differences.push(Difference::Impedance(middle_hz, ohm));
    }
    if with_length {
        let delay_s = both(&|e| e.one_way_delay_s(high_hz));
        if differ(delay_s, LEAST_DELAY) {
            differences.push(Difference::Delay(delay_s));
        }
        let loss_db = both(&|e| e.loss_db(middle_hz));
        if differ(loss_db, LEAST_LOSS) {
            differences.push(Difference::Loss(middle_hz, loss_db));
        }
    }
    differences
}

/// Whether two values are clearly apart, by this part of the larger and by this much.
fn differ([a, b]: [Uncertain; 2], (part, least): (f64, f64)) -> bool {
    let apart = (a.value - b.value).abs();
    let room = (part * a.value.abs().max(b.value.abs())).max(least);
    apart > room && apart > CLEAR * a.u.hypot(b.u)
}

/// A fault in one, where the other is whole and leaves nothing to explain.
fn fault(a: &Chosen, b: &Chosen) -> Option<Difference> {
    let is_good = |s: &Chosen| s.causes.is_empty() && !search::leaves_something(s);
    let of = |faulty: &Chosen, other: &Chosen| {
        let cause = faulty.causes.first().copied()?;
        is_good(other).then_some(Difference::Fault(cause))
    };
    of(a, b).or_else(|| of(b, a))
}

impl Part {
    fn of(bench: &Bench, keep: impl Fn(FarEnd) -> bool) -> Self {
        let mut part = bench.clone();
        part.retain_sweeps(|sweep| keep(sweep.far_end));
        let numbered = bench.sweeps.iter().enumerate();
        let kept = numbered.filter(|(_, sweep)| keep(sweep.far_end));
        Self {
            readings: collect(&part),
            bench: part,
            numbers: kept.map(|(number, _)| number).collect(),
        }
    }
}
