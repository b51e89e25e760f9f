//! Faults that a cable may have, each with what is believed of it beforehand and where the fit of it
//! starts.
//!
//! Sizes come from what is met in the trade: a crushed cable loses up to half of its dielectric's
//! thickness over some centimetres; water raises the permittivity of foam by 10 to 60 %; a bad joint
//! has a few to some tens of ohms. Common practice, no single source.

use super::Cause;
use super::fault::{Fault, HELD, SLOTS, Shape, stretch};

/// A fault to try.
#[derive(Clone, Copy, Debug)]
pub(super) struct Proposal {
    pub(super) cause: Cause,
    pub(super) fault: Fault,
    /// Unknowns to start from.
    pub(super) start: [f64; SLOTS],
}

impl Proposal {
    /// The unknowns that are places and may move.
    pub(super) fn places(&self) -> impl Iterator<Item = usize> + use<> {
        let of_shape = match self.fault.shape {
            Shape::Between => 2,
            Shape::Around | Shape::Series => 1,
        };
        let prior = self.fault.prior;
        (0..of_shape).filter(move |&slot| prior[slot].1 > HELD)
    }
}

/// A place that may be anywhere: the spread of an even distribution over the cable.
const ANYWHERE: (f64, f64) = (0.5, 0.289);
/// An unknown that the shape does not use.
const UNUSED: (f64, f64) = (0.0, 1.0);
/// ln of a loss tangent too small to count.
const NO_TAN_DELTA: (f64, f64) = (-12.0, HELD);

/// Delay of a dent, s: 35 mm, within a factor of 1.8.
const DENT_DELAY_S: f64 = 167e-12;
const DENT_LN_SPREAD: f64 = 0.6;
/// Step of ln z in a dent: either way, though crushing lowers it.
pub(super) const DENT_STEP: (f64, f64) = (0.0, 0.3);
/// The shield is narrower there, and has a quarter of the resistance.
const DENT_LN_CONDUCTOR: (f64, f64) = (0.1, 0.1);

/// Of a wet stretch: step of ln z for a permittivity 10 to 60 % up, conductors' resistance up to
/// twofold by corrosion, loss tangent of polyethylene with water in it.
const WET_STEP: (f64, f64) = (-0.14, 0.08);
const WET_LN_CONDUCTOR: (f64, f64) = (0.35, 0.2);
const WET_LN_TAN_DELTA: (f64, f64) = (-4.1, 0.65);

/// Of another cable spliced on: any impedance, half to twice the loss.
const SPLICE_STEP: (f64, f64) = (0.0, 0.35);
const SPLICE_LN_CONDUCTOR: (f64, f64) = (0.0, 0.6);
const SPLICE_LN_TAN_DELTA: (f64, f64) = (-8.5, 1.0);

/// Delay of a wet stretch, s: a metre, within a factor of 2.2.
const WET_DELAY_S: f64 = 5.5e-9;
const WET_LN_SPREAD: f64 = 0.8;

/// Of a bad joint, in units of the calibration load: ln of its resistance (8 ohm on 50 within a
/// factor of 2.7) and of its inductance as a time constant (1.5 nH on 50 ohm within the same).
const JOINT_LN_R: (f64, f64) = (-1.8, 1.0);
const JOINT_LN_L: (f64, f64) = (-24.2, 1.0);

/// A dent around `middle`, of a cable with this delay.
pub(super) fn dent(middle: f64, delay_s: f64, step: f64) -> Proposal {
    let ln_part = (DENT_DELAY_S / delay_s).min(0.3).ln();
    let prior = [
        ANYWHERE,
        (ln_part, DENT_LN_SPREAD),
        DENT_STEP,
        DENT_LN_CONDUCTOR,
        NO_TAN_DELTA,
    ];
    Proposal {
        cause: Cause::Dent,
        fault: Fault {
            shape: Shape::Around,
            prior,
        },
        start: [middle, ln_part, step, DENT_LN_CONDUCTOR.0, NO_TAN_DELTA.0],
    }
}

/// A wet stretch of a cable with this delay; an end that is the cable's own stays there.
pub(super) fn wet(first: f64, second: f64, delay_s: f64) -> Proposal {
    let rest = [WET_STEP, WET_LN_CONDUCTOR, WET_LN_TAN_DELTA];
    let at_end = first <= 0.0 || second >= 1.0;
    let (shape, places, start) = if at_end {
        let place = |p: f64| {
            if p <= 0.0 || p >= 1.0 {
                (p, HELD)
            } else {
                ANYWHERE
            }
        };
        (
            Shape::Between,
            [place(first), place(second)],
            [first, second],
        )
    } else {
        let usual = (WET_DELAY_S / delay_s).min(0.5).ln();
        let start = [0.5 * (first + second), (second - first).ln()];
        (Shape::Around, [ANYWHERE, (usual, WET_LN_SPREAD)], start)
    };
    Proposal {
        cause: Cause::Wet,
        fault: Fault {
            shape,
            prior: [places[0], places[1], rest[0], rest[1], rest[2]],
        },
        start: [start[0], start[1], rest[0].0, rest[1].0, rest[2].0],
    }
}

/// Another cable from `place` to the far end.
pub(super) fn splice(place: f64, step: f64) -> Proposal {
    let prior = [
        ANYWHERE,
        (1.0, HELD),
        SPLICE_STEP,
        SPLICE_LN_CONDUCTOR,
        SPLICE_LN_TAN_DELTA,
    ];
    Proposal {
        cause: Cause::Splice,
        fault: Fault {
            shape: Shape::Between,
            prior,
        },
        start: [place, 1.0, step, prior[3].0, prior[4].0],
    }
}

/// Another cable from the near end to `place`: the same fault, with the far part for the cable.
pub(super) fn splice_before(place: f64, step: f64) -> Proposal {
    let mut p = splice(place, step);
    p.fault.prior.swap(0, 1);
    p.fault.prior[0] = (0.0, HELD);
    (p.start[0], p.start[1]) = (0.0, place);
    p
}

/// A joint with resistance; one at a plug stays there.
pub(super) fn joint(place: f64) -> Proposal {
    let at_plug = place <= 0.0 || place >= 1.0;
    let prior = [
        if at_plug { (place, HELD) } else { ANYWHERE },
        JOINT_LN_R,
        JOINT_LN_L,
        UNUSED,
        UNUSED,
    ];
    Proposal {
        cause: Cause::Joint,
        fault: Fault {
            shape: Shape::Series,
            prior,
        },
        start: [place, JOINT_LN_R.0, JOINT_LN_L.0, 0.0, 0.0],
    }
}

/// Faults that look like one of this shape and these unknowns, each with what is to be added to ln z
/// and ln k of the cable itself: what is a stretch to one is the cable to another.
pub(super) fn like(shape: Shape, slots: &[f64], delay_s: f64) -> Vec<(Proposal, [f64; 2])> {
    let same = [0.0; 2];
    let (step, loss) = (slots[stretch::STEP], slots[stretch::LN_CONDUCTOR]);
    match shape {
        Shape::Series => vec![(dent(slots[0].clamp(0.02, 0.98), delay_s, 0.1), same)],
        Shape::Around => {
            let half = 0.5 * slots[1].exp();
            let [first, second] = [slots[0] - half, slots[0] + half];
            let mut dent = dent(slots[0], delay_s, step);
            dent.start[1] = slots[1];
            let mut wet = wet(first.max(0.001), second.min(0.999), delay_s);
            wet.start[2] = step.min(-0.05);
            let mut told = vec![(dent, same), (wet, same)];
            if second > 0.95 {
                told.push((splice(first, step), same));
            }
            told
        }
        Shape::Between => {
            let begins = slots[0] <= 0.0;
            let place = if begins { slots[1] } else { slots[0] };
            // the stretch as it is, and the rest as the stretch
            let turned = |mut p: Proposal| {
                p.start[stretch::STEP] = -step;
                p.start[stretch::LN_CONDUCTOR] = -loss;
                (p, [step, loss])
            };
            let kept = |mut p: Proposal| {
                p.start[stretch::STEP] = step;
                (p, same)
            };
            if begins {
                vec![
                    kept(wet(0.0, place, delay_s)),
                    turned(wet(place, 1.0, delay_s)),
                    kept(splice_before(place, step)),
                    turned(splice(place, step)),
                ]
            } else {
                vec![
                    kept(wet(place, 1.0, delay_s)),
                    turned(wet(0.0, place, delay_s)),
                    kept(splice(place, step)),
                    turned(splice_before(place, step)),
                ]
            }
        }
    }
}

/// Everything worth a try on a cable of this delay whose impedance along it came out as `ln_z`, a
/// value to each node, when no fault was thought of.
pub(super) fn all(ln_z: &[f64], delay_s: f64) -> Vec<Proposal> {
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
    let grid = [0.12, 0.3, 0.5, 0.7, 0.88];
    let mut proposals = vec![joint(0.0), joint(1.0)];
    proposals.extend(bumps.iter().map(|&i| dent(middle(i), delay_s, -0.2)));
    proposals.extend(grid.iter().map(|&p| dent(p, delay_s, -0.2)));
    proposals.extend(edges.iter().map(|&(place, step)| splice(place, step)));
    proposals.extend(grid.iter().flat_map(|&p| [splice(p, 0.2), splice(p, -0.2)]));
    let places: Vec<f64> = edges.iter().map(|e| e.0).chain(grid).collect();
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
    order.sort_by(|&a, &b| values[b].abs().total_cmp(&values[a].abs()));
    let mut kept: Vec<usize> = Vec::new();
    for i in order {
        if kept.len() < most && kept.iter().all(|&k| k.abs_diff(i) > 2) {
            kept.push(i);
        }
    }
    kept
}
