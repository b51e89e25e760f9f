//! Where to cut faults out: from the events of a finding, or from a place that somebody knows; what
//! each remaining piece will be, and what to measure after.
//!
//! A remaining piece has the delay and the loss of a metre of the sound cable, times its length. What
//! lies beyond a splice is another cable, of which the finding does not say that.

use lineproof_core::quantity::format_length;
use lineproof_core::sections::{Damage, FaultCut, HAND_M, SectionError, USEFUL_M, cut_out};
use lineproof_core::uncertain::{Uncertain, propagate};
use thiserror::Error;

use super::cable::KnownCable;
use crate::finding::{Condition, End, EventKind, Finding, from_u95};
use lineproof_core::finding::judge::repair::{self, AT_PLUG_M, FaultAt};
use lineproof_core::finding::judge::stated::USUAL_HZ;

/// A fault that somebody places by hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ByHand {
    /// Where it begins, m.
    pub begin_m: Uncertain,
    /// How long it is, m.
    pub span_m: f64,
    /// Length of the whole cable, m.
    pub whole_m: f64,
}

/// Where to cut, and what comes of it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FaultAnswer {
    /// How a sentence calls the cable.
    pub cable: Option<String>,
    /// Faults of the finding, by rising place.
    pub faults: Vec<FaultAt>,
    /// Plugs to renew.
    pub plugs: Vec<End>,
    /// The cuts.
    pub cut: Option<FaultCut>,
    /// What remains.
    pub remains: Vec<Remains>,
    /// Length that the cuts were reckoned with, m, if it is known.
    pub whole_m: Option<f64>,
    /// What must be known besides.
    pub remarks: Vec<String>,
}

/// A piece that remains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Remains {
    /// From and to, from the near end of the old cable, m.
    pub place_m: (f64, f64),
    /// One-way delay without plugs, s.
    pub one_way_delay_s: Option<Uncertain>,
    /// Loss, dB, and the frequency of it, Hz.
    pub loss: Option<(f64, Uncertain)>,
    /// Whether no sweep has seen it.
    pub unseen: bool,
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

impl FaultCutError {
    /// One next step.
    pub fn help(&self) -> Option<&'static str> {
        match self {
            Self::Undetermined(_) => Some("look at what `lineproof assay` says about its sweeps"),
            Self::NoPlace(_) => Some(
                "sweep to a higher stop or with the far end loaded, and from the other end; a place \
                 that you know goes with --at",
            ),
            Self::Section(_) => None,
        }
    }
}

/// A metre of the sound cable.
#[derive(Clone, Copy, Debug, Default)]
struct Metre {
    delay_s: Option<Uncertain>,
    loss_db: Option<(f64, Uncertain)>,
}

impl ByHand {
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
        let remains = cut.left_m.iter().map(|&place| metre.piece(place, false));
        Ok(FaultAnswer {
            cable: cable.map(|c| c.name.clone()),
            remains: remains.collect(),
            cut: Some(cut),
            whole_m: Some(self.whole_m),
            remarks: vec![LOOK.to_owned()],
            ..FaultAnswer::default()
        })
    }
}

const LOOK: &str = "cut on, a hand's breadth at a time, until braid and dielectric are clean: water and corrosion reach \
                    further than a sweep shows";

/// The cuts that take every event of a finding out; `whole_m` stands in for a length that the finding
/// lacks.
///
/// # Errors
/// [`FaultCutError`] if the finding does not say where.
pub fn of_finding(
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
    let faults: Vec<FaultAt> = finding.events.iter().map(FaultAt::from).collect();
    let sure = |f: &&FaultAt| f.kind != EventKind::Unknown;
    if let (Some(uneven), None) = (faults.first(), faults.iter().find(sure)) {
        let text = format!("uneven, most of all at {}", place(uneven));
        return Err(FaultCutError::NoPlace(text));
    }
    let length_m = finding.length.map(|l| l.m).or(whole_m);
    let repair = repair::repair(&faults, length_m, USEFUL_M)?;
    let metre = Metre::of(finding, delay.of_cable(), &faults);
    let mut answer = FaultAnswer {
        cable: Some(name.to_owned()),
        remarks: remarks(finding, &repair.faults, length_m),
        remains: remains(&repair, metre, length_m),
        faults: repair.faults,
        plugs: repair.plugs,
        cut: repair.cut,
        whole_m: length_m,
    };
    if !answer.faults.is_empty() {
        answer.remarks.push(LOOK.to_owned());
    }
    Ok(answer)
}

/// The pieces between the cuts, or the whole cable without a renewed plug.
fn remains(repair: &repair::Repair, metre: Metre, length_m: Option<f64>) -> Vec<Remains> {
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
            known.piece(trim(place), place.0 > unseen_from_m)
        })
        .collect()
}

fn remarks(finding: &Finding, faults: &[FaultAt], length_m: Option<f64>) -> Vec<String> {
    let mut remarks = Vec::new();
    let has = |kind: EventKind| faults.iter().any(|f| f.kind == kind);
    if has(EventKind::Open) || has(EventKind::Short) {
        remarks.push(
            "what lies beyond the fault was not seen, nor whether it is one fault: sweep the cable from its other end \
             before you cut there"
                .to_owned(),
        );
    }
    if length_m.is_none() {
        remarks.push(
            "the length of the whole cable is not known: --whole gives what is left beyond"
                .to_owned(),
        );
    }
    if finding.events.iter().any(|e| e.by_tape_alone) {
        remarks.push(
            "only the tape speaks for this fault: measure the length again before you cut"
                .to_owned(),
        );
    }
    if has(EventKind::Splice) {
        remarks.push(
            "beyond the splice is another cable: assay that piece for its delay and loss"
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
            "the sweeps can't tell the {} from {}: look before you cut",
            event.kind,
            kinds.join(" or ")
        ));
    }
    remarks
}

fn place(fault: &FaultAt) -> String {
    format!(
        "{} ± {}",
        format_length(fault.at_m),
        format_length(fault.u95_m)
    )
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

    fn piece(self, place_m: (f64, f64), unseen: bool) -> Remains {
        let length_m = place_m.1 - place_m.0;
        Remains {
            place_m,
            one_way_delay_s: self.delay_s.map(|d| d.scaled(length_m)),
            loss: self.loss_db.map(|(f, db)| (f, db.scaled(length_m))),
            unseen,
        }
    }
}

impl Remains {
    /// Length, m.
    pub fn length_m(&self) -> f64 {
        self.place_m.1 - self.place_m.0
    }

    /// Where its first lowest impedance stands with the far end open, plugs not counted, Hz.
    pub fn quarter_wave_hz(&self) -> Option<Uncertain> {
        self.one_way_delay_s
            .map(|delay| propagate([delay], |[s]| 0.25 / s))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::finding::EventFound;
    use crate::stored;

    fn finding(events: Vec<EventFound>) -> Finding {
        let mut finding = stored::finding(
            r#"{
            "schema": 1,
            "condition": "faulty",
            "delay": {"one_way_s": 50.2e-9, "u95_s": 1e-11, "at_hz": 3e8,
                "between_plugs_s": 50e-9, "u95_between_plugs_s": 1e-10},
            "length": {"m": 10.0, "u95_m": 0.02, "basis": "tape"},
            "loss": [{"at_hz": 1e8, "db": 1.0, "u95_db": 0.02}]
        }"#,
        );
        finding.events = events;
        finding
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
        let answer = of_finding(&finding(vec![dent]), "reel", None).unwrap();
        let [near, far] = answer.remains[..] else {
            panic!("{answer:?}")
        };
        assert!((near.length_m() - 3.9).abs() < 1e-6, "{near:?}");
        assert!((far.length_m() - 5.9).abs() < 1e-6, "{far:?}");
        let delay = near.one_way_delay_s.unwrap();
        assert!((delay.value - 19.5e-9).abs() < 1e-13, "{delay:?}");
        assert!((near.quarter_wave_hz().unwrap().value - 0.25 / 19.5e-9).abs() < 1e2);
        assert!((far.loss.unwrap().1.value - 0.59).abs() < 1e-6);
    }

    #[test]
    fn beyond_a_splice_nothing_is_said_of_the_other_cable() {
        let splice = vec![event(EventKind::Splice, 4.0, 0.05)];
        let answer = of_finding(&finding(splice), "reel", None).unwrap();
        assert!(answer.remains[0].one_way_delay_s.is_some());
        assert!(answer.remains[1].one_way_delay_s.is_none());
    }

    #[test]
    fn beyond_a_break_nothing_was_seen() {
        let mut early = finding(vec![event(EventKind::Open, 4.0, 0.2)]);
        early.length = None;
        let answer = of_finding(&early, "reel", Some(10.0)).unwrap();
        assert!(!answer.remains[0].unseen && answer.remains[1].unseen);
        let delay = answer.remains[0].one_way_delay_s.unwrap();
        assert!((delay.value / answer.remains[0].length_m() - 5e-9).abs() < 1e-14);
        let alone = of_finding(&early, "reel", None).unwrap();
        assert_eq!(alone.remains.len(), 1);
    }

    #[test]
    fn a_bad_plug_goes_with_a_little_cable() {
        let joint = vec![event(EventKind::Joint, 0.0, 0.0)];
        let answer = of_finding(&finding(joint), "reel", None).unwrap();
        assert_eq!(answer.plugs, [End::Near]);
        assert!((answer.remains[0].length_m() - (10.0 - AT_PLUG_M)).abs() < 1e-9);
    }

    #[test]
    fn what_names_no_place_is_refused() {
        let uneven = vec![event(EventKind::Unknown, 4.0, 0.5)];
        let error = of_finding(&finding(uneven), "reel", None).unwrap_err();
        assert!(matches!(error, FaultCutError::NoPlace(_)), "{error}");
        let mut not = finding(Vec::new());
        not.condition = Condition::Undetermined;
        let error = of_finding(&not, "reel", None).unwrap_err();
        assert!(matches!(error, FaultCutError::Undetermined(_)), "{error}");
        let sound = of_finding(&finding(Vec::new()), "reel", None).unwrap();
        assert!(sound.cut.is_none() && sound.remains.is_empty());
    }
}
