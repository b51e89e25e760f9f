//! Candidate faults, each with where the fit of it starts.

use super::super::model::{Fault, Normal, OtherLine, StubEnd};
use super::super::prior::{self, CONNECTOR_LINES, ConnectorLine, Surroundings};
use super::cause::Cause;

/// A fault to try.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Proposal {
    pub(crate) cause: Cause,
    pub(crate) prior: Fault<Normal>,
    /// Values to start from.
    pub(crate) start: Fault<f64>,
}

impl Proposal {
    /// From the prior's mean but for what `start` sets.
    fn new(cause: Cause, prior: Fault<Normal>, set: impl FnOnce(&mut Fault<f64>)) -> Self {
        let mut start = prior.map(|p| p.mean);
        set(&mut start);
        Self {
            cause,
            prior,
            start,
        }
    }

    /// Which of the unknowns that are places may move.
    pub(crate) fn free_places(&self) -> Vec<usize> {
        let mut prior = self.prior;
        let places = prior.places_mut().into_iter().enumerate();
        places
            .filter_map(|(i, place)| (!place.is_fixed()).then_some(i))
            .collect()
    }

    /// The same with a place moved.
    pub(crate) fn moved(mut self, place: usize, by: f64) -> Self {
        *self.start.places_mut()[place] += by;
        self
    }

    /// The same with a stretch's step and conductor loss set.
    fn with_other(mut self, set: impl FnOnce(&mut OtherLine<f64>)) -> Self {
        if let Fault::Between { other, .. } | Fault::Around { other, .. } = &mut self.start {
            set(other);
        }
        self
    }
}

/// A dent around `at`, of a cable with this delay.
pub(crate) fn dent(at: f64, delay_s: f64, step: f64) -> Proposal {
    dent_of(at, prior::dent_ln_part(delay_s), delay_s, step)
}

fn dent_of(at: f64, part: f64, delay_s: f64, step: f64) -> Proposal {
    let dent = Proposal::new(Cause::Dent, prior::dent(delay_s), |start| {
        if let Fault::Around {
            middle, ln_part, ..
        } = start
        {
            (*middle, *ln_part) = (at, part);
        }
    });
    dent.with_other(|other| other.ln_z_step = step)
}

/// A wet stretch of a cable with this delay; an end that is the cable's own stays there.
pub(crate) fn wet(from: f64, to: f64, delay_s: f64) -> Proposal {
    Proposal::new(
        Cause::Wet,
        prior::wet(from, to, delay_s),
        |start| match start {
            Fault::Between { first, second, .. } => (*first, *second) = (from, to),
            Fault::Around {
                middle, ln_part, ..
            } => (*middle, *ln_part) = (0.5 * (from + to), (to - from).ln()),
            _ => {}
        },
    )
}

/// Another cable from `place` to the far end.
pub(crate) fn splice(place: f64, step: f64) -> Proposal {
    splice_of(prior::splice_from(), place, step)
}

/// Another cable from the near end to `place`.
pub(crate) fn splice_before(place: f64, step: f64) -> Proposal {
    splice_of(prior::splice_up_to(), place, step)
}

fn splice_of(prior: Fault<Normal>, place: f64, step: f64) -> Proposal {
    let mut splice = Proposal::new(Cause::Splice, prior, |_| {});
    for free in splice.free_places() {
        *splice.start.places_mut()[free] = place;
    }
    splice.with_other(|other| other.ln_z_step = step)
}

/// A joint with resistance; one at a plug stays there.
pub(crate) fn joint(at: f64) -> Proposal {
    lumped(Cause::Joint, prior::joint(at), at)
}

/// Something that conducts across the line.
pub(crate) fn shunt(at: f64) -> Proposal {
    lumped(Cause::Shunt, prior::shunt(), at)
}

/// A stub on a tee.
fn stub(at: f64, end: StubEnd, cable: &Surroundings) -> Proposal {
    lumped(Cause::Stub, prior::stub(end, cable.kit_ohm), at)
}

/// The same stub `times` as long as it is usually.
fn stub_times(at: f64, end: StubEnd, times: f64, cable: &Surroundings) -> Proposal {
    let mut stub = stub(at, end, cable);
    if let Fault::Stub { ln_delay, .. } = &mut stub.start {
        *ln_delay += times.ln();
    }
    stub
}

/// A connector that shows as a short line.
fn connector(at: f64, line: &ConnectorLine, cable: &Surroundings) -> Proposal {
    let prior = prior::connector(line, cable);
    Proposal::new(Cause::Connector, prior, |start| {
        if let Fault::Around { middle, .. } = start {
            *middle = at;
        }
    })
}

/// Connectors that are met in this cable.
fn connectors(at: f64, cable: &Surroundings) -> impl Iterator<Item = Proposal> {
    let met = CONNECTOR_LINES.iter().filter(|line| line.goes_with(cable));
    met.map(move |line| connector(at, line, cable))
}

/// Something lumped at a place.
fn lumped(cause: Cause, prior: Fault<Normal>, at: f64) -> Proposal {
    let mut proposal = Proposal::new(cause, prior, |_| {});
    for place in proposal.free_places() {
        *proposal.start.places_mut()[place] = at;
    }
    proposal
}

/// A fault reclassified, with what is to be added to ln z and ln k of the cable itself: what is a
/// stretch to one explanation is the cable to another.
pub(crate) struct Reclassified {
    pub(crate) proposal: Proposal,
    pub(crate) add_ln_z: f64,
    pub(crate) add_ln_conductor: f64,
}

impl Reclassified {
    fn same(proposal: Proposal) -> Self {
        Self {
            proposal,
            add_ln_z: 0.0,
            add_ln_conductor: 0.0,
        }
    }

    /// The stretch as the cable, and the cable as the stretch.
    fn turned(proposal: Proposal, stretch: &OtherLine<f64>) -> Self {
        Self {
            proposal: proposal.with_other(|other| {
                other.ln_z_step = -stretch.ln_z_step;
                other.ln_conductor = -stretch.ln_conductor;
            }),
            add_ln_z: stretch.ln_z_step,
            add_ln_conductor: stretch.ln_conductor,
        }
    }
}

/// How much longer than a usual dent one begins at most, ln.
const DENT_LONG: f64 = 0.6;

/// Faults that look like this one.
pub(crate) fn reclassified(fault: &Fault<f64>, cable: &Surroundings) -> Vec<Reclassified> {
    let delay_s = cable.delay_s;
    match *fault {
        Fault::Series { place, .. } | Fault::Shunt { place, .. } | Fault::Stub { place, .. } => {
            let inside = place.clamp(0.02, 0.98);
            let step = if matches!(fault, Fault::Series { .. }) {
                0.1
            } else {
                -0.1
            };
            let mut alike = vec![dent(inside, delay_s, step)];
            alike.extend(connectors(inside, cable));
            match fault {
                Fault::Shunt { .. } => alike.push(stub(inside, StubEnd::Open, cable)),
                Fault::Stub { .. } => alike.push(shunt(inside)),
                _ => {}
            }
            alike.into_iter().map(Reclassified::same).collect()
        }
        Fault::Around {
            middle,
            ln_part,
            other,
        } => {
            // a stretch must stay inside the cable to be tried as one between two places
            let half = 0.5 * ln_part.exp();
            let [first, second] = [middle - half, middle + half];
            let step = other.ln_z_step;
            let wet = wet(first.max(0.001), second.min(0.999), delay_s);
            // what is long as water is begins as a dent does
            let part = ln_part.min(prior::dent_ln_part(delay_s) + DENT_LONG);
            let mut alike = vec![
                dent_of(middle, part, delay_s, step),
                wet.with_other(|other| other.ln_z_step = step.min(-0.05)),
            ];
            alike.extend(connectors(middle, cable));
            if second > 0.95 {
                alike.push(splice(first, step));
            }
            alike.into_iter().map(Reclassified::same).collect()
        }
        Fault::Between {
            first,
            second,
            other,
        } => {
            let step = other.ln_z_step;
            let kept = |p: Proposal| Reclassified::same(p.with_other(|o| o.ln_z_step = step));
            let turned = |p: Proposal| Reclassified::turned(p, &other);
            if first <= 0.0 {
                vec![
                    kept(wet(0.0, second, delay_s)),
                    turned(wet(second, 1.0, delay_s)),
                    kept(splice_before(second, step)),
                    turned(splice(second, step)),
                ]
            } else {
                vec![
                    kept(wet(first, 1.0, delay_s)),
                    turned(wet(0.0, first, delay_s)),
                    kept(splice(first, step)),
                    turned(splice_before(first, step)),
                ]
            }
        }
    }
}

/// Places that are tried on every cable, whatever its profile shows.
const GRID: [f64; 5] = [0.12, 0.3, 0.5, 0.7, 0.88];

/// Usual stubs, by how much longer they are than the middle one.
const STUBS: [(StubEnd, f64); 3] = [
    (StubEnd::Open, 0.5),
    (StubEnd::Open, 2.0),
    (StubEnd::Short, 1.0),
];

/// Everything worth a try in a cable whose impedance along it came out as `ln_z`, a value to each node, when no
/// fault was thought of.
pub(crate) fn all(ln_z: &[f64], cable: &Surroundings) -> Vec<Proposal> {
    let delay_s = cable.delay_s;
    let nodes = ln_z.len() as f64;
    let middle = |i: usize| (i as f64 + 0.5) / nodes;
    let bumps = apart(ln_z, 3);
    let steps: Vec<f64> = (0..ln_z.len())
        .map(|i| if i == 0 { 0.0 } else { ln_z[i] - ln_z[i - 1] })
        .collect();
    let edges: Vec<(f64, f64)> = apart(&steps, 3)
        .into_iter()
        .map(|i| (i as f64 / nodes, if steps[i] < 0.0 { -0.2 } else { 0.2 }))
        .filter(|e| e.0 > 0.0)
        .collect();
    // joints at the plugs are the commonest fault of all (common practice)
    let mut proposals = vec![joint(0.0), joint(1.0)];
    proposals.extend(bumps.iter().map(|&i| dent(middle(i), delay_s, -0.2)));
    // a profile without any fault in mind smears its bumps, so fixed places are tried as well
    proposals.extend(GRID.iter().map(|&p| dent(p, delay_s, -0.2)));
    proposals.extend(bumps.iter().map(|&i| middle(i)).chain(GRID).map(shunt));
    let stubs_at = |&i: &usize| STUBS.map(|(end, times)| stub_times(middle(i), end, times, cable));
    proposals.extend(bumps.iter().flat_map(stubs_at));
    proposals.extend(edges.iter().map(|&(place, step)| splice(place, step)));
    proposals.extend(GRID.iter().flat_map(|&p| [splice(p, 0.2), splice(p, -0.2)]));
    let places: Vec<f64> = edges.iter().map(|e| e.0).chain(GRID).collect();
    for (i, &place) in places.iter().enumerate() {
        proposals.extend([
            joint(place),
            wet(0.0, place, delay_s),
            wet(place, 1.0, delay_s),
        ]);
        if i < edges.len() {
            let pair = |&other: &f64| wet(place.min(other), place.max(other), delay_s);
            let apart = |&&other: &&f64| (place - other).abs() > 0.5 / nodes;
            proposals.extend(places[..i].iter().filter(apart).map(pair));
        }
    }
    proposals
}

/// Indices of the largest values, apart from one another.
fn apart(values: &[f64], most: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    // two nodes apart: the flanks of one bump are not three bumps
    order.sort_by(|&a, &b| values[b].abs().total_cmp(&values[a].abs()));
    let mut kept: Vec<usize> = Vec::new();
    for i in order {
        if kept.len() < most && kept.iter().all(|&k| k.abs_diff(i) > 2) {
            kept.push(i);
        }
    }
    kept
}
