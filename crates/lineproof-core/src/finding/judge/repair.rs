//! Which stretches of a cable with faults go, and which ends get a new plug: for the verdict and for
//! `cut fault`.
//!
//! Margins are common practice, without a source: what is crushed reaches a few centimetres further
//! than it shows, water some decimetres.

use crate::sections::{Damage, FaultCut, SectionError, cut_out};

use crate::finding::events::{End, EventFound, EventKind};
use crate::finding::quantities::from_u95;

/// How far from a fault a cable is cut, m.
const MARGIN_M: f64 = 0.03;
const WET_MARGIN_M: f64 = 0.3;
/// Where a joint is this near to an end, it is that end's plug, m.
pub const AT_PLUG_M: f64 = 0.05;

/// A fault with its place.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct FaultAt {
    /// What it is.
    pub kind: EventKind,
    /// Its middle from the near end, m.
    pub at_m: f64,
    /// 95 % half-width of that, m.
    pub u95_m: f64,
    /// How long it is, m; zero if it has no extent that shows.
    pub length_m: f64,
}

/// What is to be done.
#[derive(Clone, Debug, PartialEq)]
pub struct Repair {
    /// Plugs to renew.
    pub plugs: Vec<End>,
    /// Faults to cut out, by rising place.
    pub faults: Vec<FaultAt>,
    /// The cuts, if there are any and the length is known.
    pub cut: Option<FaultCut>,
}

impl FaultAt {
    /// From the near end of what goes to its middle, m.
    pub fn half_m(&self) -> f64 {
        0.5 * self.length_m + self.margin_m() + self.u95_m
    }

    fn margin_m(&self) -> f64 {
        match self.kind {
            EventKind::Wet => WET_MARGIN_M,
            _ => MARGIN_M,
        }
    }

    /// The plug that it is, if it is one.
    pub fn plug(&self, length_m: Option<f64>) -> Option<End> {
        match self.kind {
            EventKind::Joint if length_m.is_some_and(|l| self.at_m > l - AT_PLUG_M) => {
                Some(End::Far)
            }
            EventKind::Joint if self.at_m < AT_PLUG_M => Some(End::Near),
            _ => None,
        }
    }

    fn damage(&self) -> Damage {
        Damage {
            begin_m: from_u95(self.at_m - 0.5 * self.length_m, self.u95_m),
            span_m: self.length_m,
            margin_m: self.margin_m(),
        }
    }
}

impl FaultAt {
    /// Where an event is; nothing if that is not known in metres. One that is not surely a fault has no sure
    /// cause.
    pub fn of(event: &EventFound) -> Option<Self> {
        Some(Self {
            kind: if event.is_surely_fault() || event.by_tape_alone {
                event.kind
            } else {
                EventKind::Unknown
            },
            at_m: event.at_m?,
            u95_m: event.u95_m?,
            length_m: event.length_m.unwrap_or(0.0),
        })
    }
}

/// The cuts that take all faults out of a cable; what is left is at least `useful_m` long. Faults
/// without a sure cause have no sure extent and stay.
///
/// # Errors
/// [`SectionError`] if a fault is not on the cable.
pub fn repair(
    faults: &[FaultAt],
    length_m: Option<f64>,
    useful_m: f64,
) -> Result<Repair, SectionError> {
    let mut plugs = Vec::new();
    let mut to_cut = Vec::new();
    for fault in faults.iter().filter(|f| f.kind != EventKind::Unknown) {
        match fault.plug(length_m) {
            Some(end) => plugs.push(end),
            None => to_cut.push(*fault),
        }
    }
    to_cut.sort_by(|a, b| a.at_m.total_cmp(&b.at_m));
    let damages: Vec<Damage> = to_cut.iter().map(FaultAt::damage).collect();
    // Without a length nothing is known of what lies beyond the last fault.
    let known_m = length_m.or_else(|| to_cut.last().map(|f| f.at_m + f.half_m()));
    let cut = known_m
        .filter(|_| !damages.is_empty())
        .map(|known_m| cut_out(&damages, known_m, useful_m))
        .transpose()?;
    Ok(Repair {
        plugs,
        faults: to_cut,
        cut,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(kind: EventKind, at_m: f64) -> FaultAt {
        FaultAt {
            kind,
            at_m,
            u95_m: 0.02,
            length_m: 0.0,
        }
    }

    #[test]
    fn a_bad_plug_is_renewed_and_a_dent_cut_out() {
        let faults = [fault(EventKind::Dent, 4.0), fault(EventKind::Joint, 9.98)];
        let repair = repair(&faults, Some(10.0), 0.2).unwrap();
        assert_eq!(repair.plugs, [End::Far]);
        let cut = repair.cut.unwrap();
        assert_eq!(cut.left_m.len(), 2);
        assert!((cut.out_m[0].0 - 3.95).abs() < 1e-9, "{cut:?}");
    }

    #[test]
    fn without_a_length_the_piece_before_the_break_is_left() {
        let repair = repair(&[fault(EventKind::Open, 4.0)], None, 0.2).unwrap();
        let left = repair.cut.unwrap().left_m;
        assert_eq!(left.len(), 1);
        assert!((left[0].1 - 3.95).abs() < 1e-9, "{left:?}");
    }
}
