//! Where to cut faults out: from the events of a finding, or from a place that somebody knows; what
//! each remaining piece will be, and what to measure after.
//!
//! A remaining piece has the delay and the loss of a metre of the sound cable, times its length. What
//! lies beyond a splice is another cable, of which the finding does not say that.

use thiserror::Error;

use super::{Damage, FaultCut, HAND_M, SectionError, USEFUL_M, cut_out};
use crate::finding::judge::repair::{self, AT_PLUG_M, FaultAt};
use crate::finding::judge::stated::USUAL_HZ;
use crate::finding::{Condition, End, EventKind, Finding, from_u95};
use crate::known::KnownCable;
use crate::uncertain::{Uncertain, propagate};

/// A fault that somebody places by hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaultByHand {
    /// Where it begins, m.
    pub begin_m: Uncertain,
    /// How long it is, m.
    pub span_m: f64,
    /// Length of the whole cable, m.
    pub whole_m: f64,
}

/// Where to cut faults out of a cable, and what remains.
#[derive(Clone, Debug, Default, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct FaultAnswer {
    /// How a sentence calls the cable; null if none was named.
    #[cfg_attr(feature = "schema", schema(required))]
    pub cable: Option<String>,
    /// Length that the cuts were reckoned with, m; null if it is not known.
    #[cfg_attr(feature = "schema", schema(required))]
    pub whole_m: Option<f64>,
    /// Faults of the finding that are cut out, by rising place; none for a fault placed by hand.
    pub faults: Vec<FaultAt>,
    /// Ends whose plugs are to be renewed.
    pub renew_plugs: Vec<End>,
    /// The cuts; null if there are none along the cable.
    #[cfg_attr(feature = "schema", schema(required))]
    pub fault: Option<CutsAround>,
    /// Pieces that remain, nearest first.
    pub remains: Vec<PieceLeft>,
    /// What must be known besides, a sentence each.
    pub remarks: Vec<String>,
}

/// Cuts with the faults between them.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct CutsAround {
    /// The first cut, from the near end, m; null if nothing remains before it.
    #[cfg_attr(feature = "schema", schema(required))]
    pub near_cut_m: Option<f64>,
    /// The last cut, from the near end, m; null if nothing remains beyond it.
    #[cfg_attr(feature = "schema", schema(required))]
    pub far_cut_m: Option<f64>,
    /// Stretches that go, each from and to, from the near end, m.
    pub out_m: Vec<[f64; 2]>,
    /// Length that goes to waste, m; null if that of the cable is not known.
    #[cfg_attr(feature = "schema", schema(required))]
    pub waste_m: Option<f64>,
    /// Lengths that are left, m.
    #[cfg_attr(feature = "serde", serde(skip))]
    #[cfg_attr(feature = "schema", schema(ignore))]
    pub left_m: Vec<f64>,
}

/// A piece that remains. Delay and loss are those of sound cable of that length without plugs; null
/// where they are not known.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct PieceLeft {
    /// Where it begins, from the near end of the old cable, m.
    pub from_m: f64,
    /// Where it ends, m.
    pub to_m: f64,
    /// How long it is, m.
    pub length_m: f64,
    /// One-way delay, s.
    #[cfg_attr(feature = "schema", schema(required))]
    pub one_way_s: Option<f64>,
    /// 95 % half-width, s.
    #[cfg_attr(feature = "schema", schema(required))]
    pub u95_s: Option<f64>,
    /// Loss, one way, dB.
    #[cfg_attr(feature = "schema", schema(required))]
    pub loss_db: Option<f64>,
    /// 95 % half-width, dB.
    #[cfg_attr(feature = "schema", schema(required))]
    pub u95_loss_db: Option<f64>,
    /// Frequency of the loss, Hz.
    #[cfg_attr(feature = "schema", schema(required))]
    pub loss_at_hz: Option<f64>,
    /// Where its first lowest impedance stands with the far end open, Hz.
    #[cfg_attr(feature = "schema", schema(required))]
    pub quarter_wave_hz: Option<f64>,
    /// Whether a sweep has seen it.
    pub seen: bool,
}

impl CutsAround {
    fn of(cut: FaultCut, whole_m: Option<f64>) -> Self {
        let first_m = cut.out_m.first().map(|out| out.0);
        let last_m = cut.out_m.last().map(|out| out.1);
        Self {
            near_cut_m: first_m.filter(|&m| m > 0.0),
            far_cut_m: last_m.filter(|&m| m < whole_m.unwrap_or(f64::INFINITY)),
            out_m: cut.out_m.into_iter().map(Into::into).collect(),
            waste_m: whole_m.map(|_| cut.waste_m),
            left_m: cut.left_m.iter().map(|(from, to)| to - from).collect(),
        }
    }
}

/// Why there is no answer.
#[derive(Clone, Debug, Error, PartialEq)]
#[non_exhaustive]
pub enum FaultCutError {
    /// A finding that may not be believed.
    #[error("the finding does not determine its cable, so there is no place to cut: {0}")]
    Undetermined(String),
    /// A finding without a sure cause.
    #[error("the finding names no place to cut: the cable is {0}")]
    NoPlace(String),
    /// A fault outside of the cable.
    #[error(transparent)]
    Section(#[from] SectionError),
}

/// A metre of the sound cable.
#[derive(Clone, Copy, Debug, Default)]
struct Metre {
    delay_s: Option<Uncertain>,
    loss_db: Option<(f64, Uncertain)>,
}

impl FaultByHand {
    /// The cuts around the fault; with the cable it says what the pieces will be.
    ///
    /// # Errors
    /// [`FaultCutError::Section`] if the fault is not on the cable.
    pub fn cut(&self, cable: Option<&KnownCable>) -> Result<FaultAnswer, FaultCutError> {
        let damage = Damage {
            begin_m: self.begin_m,
            span_m: self.span_m,
            margin_m: HAND_M,
        };
        let cut = cut_out(&[damage], self.whole_m, USEFUL_M)?;
        let metre = cable.map_or_else(Metre::default, |cable| Metre {
            delay_s: cable.delay_s_per_m().ok(),
            loss_db: cable.loss_db_per_m(USUAL_HZ).ok().map(|l| (USUAL_HZ, l)),
        });
        let remains = cut.left_m.iter().map(|&place| metre.piece(place, true));
        Ok(FaultAnswer {
            cable: cable.map(|c| c.name.clone()),
            remains: remains.collect(),
            fault: Some(CutsAround::of(cut, Some(self.whole_m))),
            whole_m: Some(self.whole_m),
            remarks: vec![LOOK.to_owned()],
            ..FaultAnswer::default()
        })
    }
}

const LOOK: &str = "keep cutting, 10 cm at a time, until braid and dielectric are clean: water \
                    and corrosion reach further than a sweep shows";

/// The cuts that take every event of a finding out; `whole_m` stands in for a length that the finding
/// lacks.
///
/// # Errors
/// [`FaultCutError`] if the finding names no place to cut.
pub fn cut_faults(
    finding: &Finding,
    name: &str,
    whole_m: Option<f64>,
) -> Result<FaultAnswer, FaultCutError> {
    let Some(delay) = finding
        .delay
        .filter(|_| finding.condition != Condition::Undetermined)
    else {
        let why = finding.condition_reasons.first().map(String::as_str);
        let why = why.unwrap_or("it states no delay").to_owned();
        return Err(FaultCutError::Undetermined(why));
    };
    if let Some(unplaced) = finding.events.iter().find(|e| e.at_m.is_none()) {
        return Err(FaultCutError::NoPlace(unplaced.sentence()));
    }
    let faults: Vec<FaultAt> = finding.events.iter().filter_map(FaultAt::of).collect();
    let sure = |f: &&FaultAt| f.kind != EventKind::Unknown;
    let in_question = finding.events.iter().find(|e| !e.is_surely_connector());
    if let (Some(event), None) = (in_question, faults.iter().find(sure)) {
        return Err(FaultCutError::NoPlace(event.sentence()));
    }
    let length_m = finding.length.map(|l| l.m).or(whole_m);
    let repair = repair::repair(&faults, length_m, USEFUL_M)?;
    let metre = Metre::of(finding, delay.of_cable(), &faults);
    let mut answer = FaultAnswer {
        cable: Some(name.to_owned()),
        remarks: remarks(finding, &repair.faults, length_m),
        remains: remains(&repair, metre, length_m),
        faults: repair.faults,
        renew_plugs: repair.plugs,
        fault: repair.cut.map(|cut| CutsAround::of(cut, length_m)),
        whole_m: length_m,
    };
    if !answer.faults.is_empty() {
        answer.remarks.push(LOOK.to_owned());
    }
    Ok(answer)
}

/// The pieces between the cuts, or the whole cable without a renewed plug.
fn remains(repair: &repair::Repair, metre: Metre, length_m: Option<f64>) -> Vec<PieceLeft> {
    let whole = || length_m.map(|l| (0.0, l)).into_iter().collect();
    let places: Vec<(f64, f64)> = match &repair.cut {
        Some(cut) => cut.left_m.clone(),
        None if repair.plugs.is_empty() => Vec::new(),
        None => whole(),
    };
    let first = |kinds: &[EventKind]| {
        let of_kind = repair.faults.iter().find(|f| kinds.contains(&f.kind));
        of_kind.map_or(f64::INFINITY, |f| f.at_m)
    };
    let other_from_m = first(&[EventKind::Splice]);
    let unseen_from_m = first(&[EventKind::Open, EventKind::Short]);
    let trim = |(from, to): (f64, f64)| {
        let near = from == 0.0 && repair.plugs.contains(&End::Near);
        let far = length_m == Some(to) && repair.plugs.contains(&End::Far);
        let off = |renewed: bool| if renewed { AT_PLUG_M } else { 0.0 };
        (from + off(near), to - off(far))
    };
    places
        .into_iter()
        .map(|place| {
            let known = if place.0 > other_from_m {
                Metre::default()
            } else {
                metre
            };
            known.piece(trim(place), place.0 <= unseen_from_m)
        })
        .collect()
}

fn remarks(finding: &Finding, faults: &[FaultAt], length_m: Option<f64>) -> Vec<String> {
    let mut remarks = Vec::new();
    let has = |kind: EventKind| faults.iter().any(|f| f.kind == kind);
    if has(EventKind::Open) || has(EventKind::Short) {
        remarks.push(
            "the sweeps do not show what lies beyond the fault, nor whether it is a single \
             fault: sweep the cable from its other end before you cut there"
                .to_owned(),
        );
    }
    if length_m.is_none() {
        remarks.push(
            "the length of the whole cable is not known: give it to compute what remains beyond"
                .to_owned(),
        );
    }
    if finding.events.iter().any(|e| e.by_tape_alone) {
        remarks.push(
            "only the tape suggests this fault: measure the length again before you cut".to_owned(),
        );
    }
    if has(EventKind::Splice) {
        remarks.push(
            "another cable lies beyond the splice: assay that piece for its delay and loss"
                .to_owned(),
        );
    }
    if has(EventKind::Wet) {
        remarks.push(
            "dry it first and sweep again: solid polyethylene recovers, wet foam does not"
                .to_owned(),
        );
    }
    for event in finding.events.iter().filter(|e| !e.or.is_empty()) {
        let kinds: Vec<&str> = event.or.iter().map(|kind| kind.noun()).collect();
        remarks.push(format!(
            "the sweeps cannot distinguish the {} from {}: look before you cut",
            event.kind,
            kinds.join(" or ")
        ));
    }
    remarks
}

impl Metre {
    /// From the length, or, where a cable ends early, from the place of its end.
    fn of(finding: &Finding, piece: Uncertain, faults: &[FaultAt]) -> Self {
        let length = finding
            .length
            .map(|length| from_u95(length.m, length.u95_m));
        let by_tape = length.map(|length| propagate([piece, length], |[s, m]| s / m));
        let early = faults.iter().zip(&finding.events);
        let early = early.into_iter().find(|(f, _)| f.at_m > 0.0);
        let by_place = || {
            let (fault, event) = early?;
            let at = from_u95(fault.at_m, fault.u95_m);
            Some(propagate([at], |[m]| event.one_way_s / m))
        };
        let delay_s = by_tape.or_else(by_place).filter(|d| d.value.is_finite());
        let row = finding.loss_at(USUAL_HZ).or(finding.loss.last());
        let loss_db = row.zip(delay_s).map(|(row, metre)| {
            let losses = [row.uncertain(), piece, metre];
            let db = propagate(losses, |[db, s, per_m]| db / s * per_m);
            (row.at_hz, db)
        });
        Self { delay_s, loss_db }
    }

    fn piece(self, (from_m, to_m): (f64, f64), seen: bool) -> PieceLeft {
        let length_m = to_m - from_m;
        let delay_s = self.delay_s.map(|d| d.scaled(length_m));
        let loss_db = self.loss_db.map(|(_, db)| db.scaled(length_m));
        PieceLeft {
            from_m,
            to_m,
            length_m,
            one_way_s: delay_s.map(|d| d.value),
            u95_s: delay_s.map(Uncertain::u95),
            loss_db: loss_db.map(|db| db.value),
            u95_loss_db: loss_db.map(Uncertain::u95),
            loss_at_hz: self.loss_db.map(|(at_hz, _)| at_hz),
            quarter_wave_hz: delay_s.map(|s| quarter_wave(s).value),
            seen,
        }
    }
}

impl PieceLeft {
    /// One-way delay without plugs, s.
    pub fn delay(&self) -> Option<Uncertain> {
        Some(from_u95(self.one_way_s?, self.u95_s?))
    }

    /// Loss, dB.
    pub fn loss(&self) -> Option<Uncertain> {
        Some(from_u95(self.loss_db?, self.u95_loss_db?))
    }

    /// Where its first lowest impedance stands with the far end open, plugs not counted, Hz.
    pub fn quarter_wave(&self) -> Option<Uncertain> {
        self.delay().map(quarter_wave)
    }
}

fn quarter_wave(delay_s: Uncertain) -> Uncertain {
    propagate([delay_s], |[s]| 0.25 / s)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::{DelayFound, EventFound, LengthBasis, LengthFound, LossRow};

    fn finding(events: Vec<EventFound>) -> Finding {
        Finding {
            condition: Condition::Faulty,
            delay: Some(DelayFound {
                one_way_s: 50.2e-9,
                u95_s: 1e-11,
                at_hz: 3e8,
                between_plugs_s: Some(50e-9),
                u95_between_plugs_s: Some(1e-10),
            }),
            length: Some(LengthFound {
                m: 10.0,
                u95_m: 0.02,
                basis: LengthBasis::Tape,
            }),
            loss: vec![LossRow {
                at_hz: 1e8,
                db: 1.0,
                u95_db: 0.02,
                ..LossRow::default()
            }],
            events,
            ..Finding::default()
        }
    }

    /// At 5 ns/m.
    fn event(kind: EventKind, at_m: f64, u95_m: f64) -> EventFound {
        EventFound {
            one_way_s: 5e-9 * at_m,
            ..EventFound::at(kind, at_m, u95_m)
        }
    }

    #[test]
    fn each_rest_has_its_share_of_delay_and_loss() {
        let dent = EventFound {
            length_m: Some(0.04),
            ..event(EventKind::Dent, 4.0, 0.05)
        };
        let answer = cut_faults(&finding(vec![dent]), "reel", None).unwrap();
        let [near, far] = answer.remains[..] else {
            panic!("{answer:?}")
        };
        assert!((near.length_m - 3.9).abs() < 1e-6, "{near:?}");
        assert!((far.length_m - 5.9).abs() < 1e-6, "{far:?}");
        let delay = near.delay().unwrap();
        assert!((delay.value - 19.5e-9).abs() < 1e-13, "{delay:?}");
        assert!((near.quarter_wave().unwrap().value - 0.25 / 19.5e-9).abs() < 1e2);
        assert!((far.loss().unwrap().value - 0.59).abs() < 1e-6);
    }

    #[test]
    fn beyond_a_splice_nothing_is_said_of_the_other_cable() {
        let splice = vec![event(EventKind::Splice, 4.0, 0.05)];
        let answer = cut_faults(&finding(splice), "reel", None).unwrap();
        assert!(answer.remains[0].one_way_s.is_some());
        assert!(answer.remains[1].one_way_s.is_none());
    }

    #[test]
    fn beyond_a_break_nothing_was_seen() {
        let mut early = finding(vec![event(EventKind::Open, 4.0, 0.2)]);
        early.length = None;
        let answer = cut_faults(&early, "reel", Some(10.0)).unwrap();
        assert!(answer.remains[0].seen && !answer.remains[1].seen);
        let delay = answer.remains[0].delay().unwrap();
        assert!((delay.value / answer.remains[0].length_m - 5e-9).abs() < 1e-14);
        let alone = cut_faults(&early, "reel", None).unwrap();
        assert_eq!(alone.remains.len(), 1);
    }

    #[test]
    fn a_bad_plug_goes_with_a_little_cable() {
        let joint = vec![event(EventKind::Joint, 0.0, 0.0)];
        let answer = cut_faults(&finding(joint), "reel", None).unwrap();
        assert_eq!(answer.renew_plugs, [End::Near]);
        assert!((answer.remains[0].length_m - (10.0 - AT_PLUG_M)).abs() < 1e-9);
    }

    #[test]
    fn what_names_no_place_is_refused() {
        let uneven = vec![event(EventKind::Unknown, 4.0, 0.5)];
        let error = cut_faults(&finding(uneven), "reel", None).unwrap_err();
        assert!(matches!(error, FaultCutError::NoPlace(_)), "{error}");
        let mut not = finding(Vec::new());
        not.condition = Condition::Undetermined;
        let error = cut_faults(&not, "reel", None).unwrap_err();
        assert!(matches!(error, FaultCutError::Undetermined(_)), "{error}");
        let sound = cut_faults(&finding(Vec::new()), "reel", None).unwrap();
        assert!(sound.fault.is_none() && sound.remains.is_empty());
    }
}
