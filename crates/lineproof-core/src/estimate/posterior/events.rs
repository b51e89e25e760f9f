//! What the chosen explanation says of faults along the cable: kind, place, size, each with its
//! uncertainty.
//!
//! Places are stated as delays from the near end of the cable (behind the near plug), as they would
//! be on the cable itself: a wet stretch is slow, so its delay is scaled by the step of impedance
//! (Z and velocity both go with 1/√ε); a dent leaves the velocity as it is; a spliced cable may have
//! any.

use num_complex::Complex64;

use super::super::model::{AT, Fault, LineLaw};
use super::super::search::{Cause, Explanation, GOOD_WANDER, place_resolution_s};
use super::estimate::{Derivative, Estimate};
use crate::uncertain::{COVERAGE_FACTOR_95, Uncertain, propagate};

/// Standard uncertainty, relative, of another cable's velocity: solid polyethylene to foam is 0.66
/// to 0.85.
const OTHER_VELOCITY_U_REL: f64 = 0.1;

/// Part of the resolution within which a place is the near end itself.
const AT_AN_END: f64 = 1e-3;

/// Something along the cable.
#[derive(Clone, Copy, Debug)]
pub struct Event {
    /// What it is; `None` if no explanation is sure.
    pub cause: Option<Cause>,
    /// Where it begins, as a delay of sound cable from the near end, s.
    pub begin_s: Uncertain,
    /// Where it ends, the same way. Of a joint, a splice or an early end where it begins.
    pub end_s: Uncertain,
    /// Its middle, the same way; known better than begin and end where it is short.
    pub middle_s: Uncertain,
    /// Delay of sound cable as long as the whole piece, s.
    pub whole_s: Uncertain,
    /// Impedance of the stretch, or of the cable spliced on, ohm.
    pub impedance_ohm: Option<Uncertain>,
    /// Resistance in series, ohm.
    pub series_ohm: Option<Uncertain>,
    /// Inductance in series, H.
    pub series_h: Option<Uncertain>,
    /// Resistance across the line, ohm.
    pub shunt_ohm: Option<Uncertain>,
    /// Capacitance across the line, F.
    pub shunt_f: Option<Uncertain>,
    /// Delay of a connector or of a stub by itself, one way, s.
    pub own_delay_s: Option<Uncertain>,
    /// Of a splice: the end that the other cable reaches to.
    pub reaches: Option<Side>,
}

/// An end of the cable.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Where the analyser is.
    Near,
    /// The other one.
    Far,
}

impl Estimate {
    /// Faults along the cable, in the order in which they were found. None if the cable is whole as
    /// far as the sweeps show.
    pub fn events(&self) -> Vec<Event> {
        let layout = &self.fit.layout;
        if layout.faults().is_empty() {
            return self.causes.iter().map(|&c| self.early_end(c)).collect();
        }
        let faults = layout.fault_at().iter().zip(&self.causes);
        faults.map(|(at, &cause)| self.event(cause, at)).collect()
    }

    /// Where the impedance departs most from its mean, if it wanders more along the cable than a
    /// good one's does; of a cable without other events.
    pub fn most_uneven(&self) -> Option<Event> {
        if self.wander_rms() <= GOOD_WANDER || !self.causes.is_empty() {
            return None;
        }
        let nodes = self.fit.layout.node_range();
        let ln_z = &self.fit.theta[nodes.clone()];
        let mean = ln_z.iter().sum::<f64>() / ln_z.len() as f64;
        let departure = |i: &usize| (ln_z[*i] - mean).abs();
        // what stands at an end is the plug's, not the cable's
        let inner = 1..ln_z.len().saturating_sub(1);
        let square: f64 = inner.clone().map(|i| departure(&i).powi(2)).sum();
        if (square / ln_z.len() as f64).sqrt() <= GOOD_WANDER {
            return None;
        }
        let node = inner.max_by(|a, b| departure(a).total_cmp(&departure(b)))?;
        let body = self.body_delay_s();
        let cell = 1.0 / ln_z.len() as f64;
        let part = Uncertain::within((node as f64 + 0.5) * cell, cell);
        let place = propagate([body, part], |[body, part]| body * part);
        let by = vec![(AT.line.ln_z, 1.0), (nodes.start + node, 1.0)];
        Some(Event {
            cause: None,
            begin_s: place,
            end_s: place,
            middle_s: place,
            whole_s: body,
            impedance_ohm: Some(self.in_ohm(self.fit.theta[AT.line.ln_z] + ln_z[node], &by)),
            series_ohm: None,
            series_h: None,
            shunt_ohm: None,
            shunt_f: None,
            own_delay_s: None,
            reaches: None,
        })
    }

    /// Every explanation that was compared, the likeliest first; one if nothing spoke against a
    /// whole cable.
    pub fn explanations(&self) -> &[Explanation] {
        &self.explanations
    }

    /// rms of ln z along the cable that no event explains.
    pub fn wander_rms(&self) -> f64 {
        self.fit.prior.scale[self.fit.layout.first_node()]
    }

    fn early_end(&self, cause: Cause) -> Event {
        let whole = self.body_delay_s();
        Event {
            cause: Some(cause),
            begin_s: whole,
            end_s: whole,
            middle_s: whole,
            whole_s: whole,
            impedance_ohm: None,
            series_ohm: None,
            series_h: None,
            shunt_ohm: None,
            shunt_f: None,
            own_delay_s: None,
            reaches: None,
        }
    }

    /// One-way delay between the plugs without internal inductance, s.
    pub(super) fn body_delay_s(&self) -> Uncertain {
        let delay_s = LineLaw::of_unknowns(&self.fit.theta).delay_s;
        // derivatives of the delay are the same at every frequency; 1 GHz keeps the quotient sharp
        let point = self.line(1e9);
        let relative = |d: Complex64| (d / point.lossless).re * delay_s;
        let by: Derivative = point.d_lossless().map(relative).indexed().collect();
        let unseen = self.unseen_plug_s(AT.near) + self.unseen_plug_s(AT.far);
        Uncertain::new(delay_s, self.standard(&by)).widened(unseen)
    }

    fn event(&self, cause: Cause, at: &Fault<usize>) -> Event {
        let places = self.places(cause, at);
        let mut event = Event {
            cause: Some(cause),
            begin_s: places.begin,
            end_s: places.end,
            middle_s: places.middle,
            whole_s: places.whole,
            impedance_ohm: None,
            series_ohm: None,
            series_h: None,
            shunt_ohm: None,
            shunt_f: None,
            own_delay_s: None,
            reaches: None,
        };
        let theta = &self.fit.theta;
        let kit_ohm = self.kit_load.ohm.value;
        let of = |unknown: usize, unit: f64| {
            let value = theta[unknown].exp() * unit;
            Uncertain::new(value, value * self.standard(&vec![(unknown, 1.0)]))
        };
        match *at {
            Fault::Series { ln_r, ln_l, .. } => {
                if cause == Cause::Joint {
                    event.series_ohm = Some(of(ln_r, kit_ohm));
                }
                event.series_h = Some(of(ln_l, kit_ohm));
            }
            Fault::Shunt { ln_r, ln_c, .. } => {
                if cause == Cause::Shunt {
                    event.shunt_ohm = Some(of(ln_r, kit_ohm));
                }
                event.shunt_f = Some(of(ln_c, 1.0 / kit_ohm));
            }
            Fault::Stub { ln_delay, ln_z, .. } => {
                event.own_delay_s = Some(of(ln_delay, 1.0));
                event.impedance_ohm = Some(self.in_ohm(theta[ln_z], &vec![(ln_z, 1.0)]));
            }
            Fault::Between { other, .. } | Fault::Around { other, .. } => {
                let ln_z = theta[AT.line.ln_z] + theta[other.ln_z_step];
                let by = vec![(AT.line.ln_z, 1.0), (other.ln_z_step, 1.0)];
                event.impedance_ohm = Some(self.in_ohm(ln_z, &by));
            }
        }
        if let (Cause::Connector, Fault::Around { ln_part, .. }) = (cause, at) {
            let body_s = self.body_delay_s().value;
            event.own_delay_s = Some(of(*ln_part, body_s));
        }
        event.stated_at_a_place(place_resolution_s(self.covered_hz.1))
    }

    fn places(&self, cause: Cause, at: &Fault<usize>) -> Places {
        let body = self.body_delay_s();
        let [begin, end] = at.edges(&self.fit.theta);
        let part = |place: f64, by: &Derivative| Uncertain::new(place, self.standard(by));
        // both edges hang on the same two unknowns
        let both = |of: fn(f64, f64) -> f64| -> Derivative {
            let pairs = begin.by.into_iter().zip(end.by);
            pairs.map(|((i, b), (_, e))| (i, of(b, e))).collect()
        };
        let begin_part = part(begin.place, &begin.by.to_vec());
        let width = part(end.place - begin.place, &both(|b, e| e - b));
        let middle_part = part(0.5 * (begin.place + end.place), &both(|b, e| 0.5 * (b + e)));
        let velocity = self.velocity(cause, at);
        let unseen = self.unseen_plug_s(AT.near);
        let at_place = |f: fn([f64; 4]) -> f64| {
            propagate([body, begin_part, width, velocity], f).widened(unseen)
        };
        let middle_s = if matches!(at, Fault::Around { .. }) {
            let offset = Uncertain::exact(0.5 * width.value * (velocity.value - 1.0));
            propagate([body, middle_part, offset], |[b, m, o]| b * (m + o)).widened(unseen)
        } else {
            at_place(|[body, begin, width, v]| body * (begin + 0.5 * width * v))
        };
        let resolution = place_resolution_s(self.covered_hz.1);
        // where the sweeps end sets a limit that no fit goes below, and an end is an end
        let blurred = |place: Uncertain| Uncertain {
            value: if place.value < AT_AN_END * resolution {
                0.0
            } else {
                place.value
            },
            u: place.u.max(resolution / COVERAGE_FACTOR_95),
        };
        Places {
            begin: blurred(at_place(|[body, begin, _, _]| body * begin)),
            end: blurred(at_place(|[body, begin, width, v]| {
                body * (begin + width * v)
            })),
            middle: blurred(middle_s),
            whole: at_place(|[body, _, width, v]| body * (1.0 - width + width * v)),
        }
    }

    /// Velocity of a stretch over that of the cable.
    fn velocity(&self, cause: Cause, at: &Fault<usize>) -> Uncertain {
        match (cause, at.other_line()) {
            (Cause::Wet, Some(other)) => {
                let ratio = cause.velocity(self.fit.theta[other.ln_z_step]);
                Uncertain::new(ratio, self.standard(&vec![(other.ln_z_step, ratio)]))
            }
            (Cause::Splice, _) => Uncertain::new(1.0, OTHER_VELOCITY_U_REL),
            _ => Uncertain::exact(1.0),
        }
    }
}

/// Where an event is, as delays of sound cable from the near end, s; see [`Event`].
struct Places {
    begin: Uncertain,
    end: Uncertain,
    middle: Uncertain,
    whole: Uncertain,
}

impl Event {
    /// A splice and an early end are at a place: where the other cable begins, if it reaches to the
    /// far end, else where it ends.
    fn stated_at_a_place(mut self, resolution_s: f64) -> Self {
        if self.cause == Some(Cause::Splice) {
            let (place, side) = if self.begin_s.value > resolution_s {
                (self.begin_s, Side::Far)
            } else {
                (self.end_s, Side::Near)
            };
            (self.begin_s, self.end_s, self.middle_s) = (place, place, place);
            self.reaches = Some(side);
        }
        self
    }
}
