//! What was found along the cable: faults, and parts that somebody fitted.

use super::quantities::from_u95;
#[cfg(feature = "serde")]
use super::stored;
use super::words::words;
use crate::uncertain::Uncertain;

/// Something at a place along the cable.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct EventFound {
    /// What it is.
    pub kind: EventKind,
    /// Where its middle is, from the near end of the cable, m; absent if the length that would say so can't
    /// be believed.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub at_m: Option<f64>,
    /// 95 % half-width, m.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_m: Option<f64>,
    /// How long it is, m.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub length_m: Option<f64>,
    /// Impedance there; of a splice, of the other cable, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub impedance_ohm: Option<f64>,
    /// 95 % half-width, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_impedance_ohm: Option<f64>,
    /// Resistance in series, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub series_ohm: Option<f64>,
    /// 95 % half-width, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_series_ohm: Option<f64>,
    /// Impedance of the cable beside it, ohm, where `impedance_ohm` is stated.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub beside_ohm: Option<f64>,
    /// Resistance across the line, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub shunt_ohm: Option<f64>,
    /// 95 % half-width, ohm.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_shunt_ohm: Option<f64>,
    /// Capacitance across the line, F.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub shunt_f: Option<f64>,
    /// 95 % half-width, F.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_shunt_f: Option<f64>,
    /// One-way delay of a connector or a stub by itself, s.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub own_delay_s: Option<f64>,
    /// 95 % half-width, s.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub u95_own_delay_s: Option<f64>,
    /// What it does by itself to a line of the cable's impedance, at the frequencies of the loss.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Vec::is_empty")
    )]
    pub by_itself: Vec<EventRow>,
    /// One-way delay of sound cable to it, s.
    pub one_way_s: f64,
    /// Where its middle is, from the far end, m; absent where that end is not seen.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub from_far_m: Option<f64>,
    /// Its share of the way to the far end, 0 to 1, which needs no length; absent as `from_far_m`.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub share: Option<f64>,
    /// Of a splice: the end that the other cable reaches to.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub reaches: Option<End>,
    /// What physics says of its cause.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub cause: Option<String>,
    /// What else would explain it nearly as well.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "Vec::is_empty")
    )]
    pub or: Vec<EventKind>,
    /// Whether only the tape speaks for it: the far end is nearer than it should be.
    #[cfg_attr(
        feature = "serde",
        serde(default, skip_serializing_if = "stored::is_false")
    )]
    pub by_tape_alone: bool,
}

/// What an event does by itself between lines of the cable's impedance, at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct EventRow {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// What it reflects, as a return loss, dB.
    pub return_loss_db: f64,
    /// What does not get past it, reflected or lost, dB.
    pub loss_db: f64,
    /// 95 % half-width, dB.
    pub u95_loss_db: f64,
}

words! {
    /// What an event is.
    pub enum EventKind {
        /// Crushed or kinked over a few centimetres.
        Dent = "dent",
        /// Water in it.
        Wet = "wet",
        /// Another cable joined on.
        Splice = "splice",
        /// Resistance in a joint.
        Joint = "joint",
        /// A connector, an adapter or a surge arrestor in the line: no fault by itself.
        Connector = "connector",
        /// Something that conducts across the line.
        Shunt = "shunt",
        /// A stub on a tee.
        Stub = "stub",
        /// It ends here, open.
        Open = "open",
        /// It ends here, short.
        Short = "short",
        /// Something that no explanation is sure of, or a kind that this version does not know.
        #[cfg_attr(feature = "serde", serde(other))]
        Unknown = "unknown",
    }
}

words! {
    /// An end of the cable.
    pub enum End {
        /// Where the analyser is.
        Near = "near",
        /// The other one.
        Far = "far",
    }
}

/// An explanation with the evidence for it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ExplanationFound {
    /// What is wrong; absent for a whole cable.
    #[cfg_attr(feature = "serde", serde(skip_serializing_if = "Option::is_none"))]
    pub kind: Option<EventKind>,
    /// ln of the evidence, against that of the one that was chosen.
    pub ln_evidence: f64,
}

impl EventKind {
    /// The kind with its article.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Dent => "a dent",
            Self::Wet => "a wet stretch",
            Self::Splice => "a splice",
            Self::Joint => "a bad joint",
            Self::Connector => "a connector",
            Self::Shunt => "a leak across the line",
            Self::Stub => "a stub on a tee",
            Self::Open => "a break",
            Self::Short => "a short",
            Self::Unknown => "something unknown",
        }
    }

    /// Whether a cable that has it is at fault. A connector and a stub are parts that somebody fitted.
    pub fn is_fault(self) -> bool {
        !matches!(self, Self::Connector | Self::Stub | Self::Unknown)
    }
}

impl EventFound {
    /// Where its middle is, from the near end, m, if that is known in metres.
    pub fn place_m(&self) -> Option<Uncertain> {
        Some(from_u95(self.at_m?, self.u95_m?))
    }

    /// Whether its size stands clear of its own interval. What has no size to judge by does.
    pub fn is_significant(&self) -> bool {
        let clear = |size: Option<f64>, u95: Option<f64>| {
            size.zip(u95).is_none_or(|(size, u95)| size.abs() > u95)
        };
        let step = self
            .impedance_ohm
            .zip(self.beside_ohm)
            .map(|(z, beside)| z - beside);
        match self.kind {
            EventKind::Dent | EventKind::Wet | EventKind::Splice => {
                clear(step, self.u95_impedance_ohm)
            }
            EventKind::Joint => clear(self.series_ohm, self.u95_series_ohm),
            // what conducts is the reciprocal, whose relative interval is the same
            EventKind::Shunt => clear(self.shunt_ohm, self.u95_shunt_ohm),
            _ => true,
        }
    }

    /// Whether it is a fault and nothing else: its size is clear, and nothing harmless explains it as well.
    pub fn is_surely_fault(&self) -> bool {
        self.kind.is_fault()
            && !self.by_tape_alone
            && self.is_significant()
            && self.or.iter().all(|kind| kind.is_fault())
    }

    /// Whether it is a connector for sure; a tee with next to nothing on it is one as well.
    pub fn is_surely_connector(&self) -> bool {
        self.kind == EventKind::Connector && self.or.iter().all(|kind| *kind == EventKind::Stub)
    }

    /// An event of which kind and place are known, and nothing else.
    pub fn at(kind: EventKind, at_m: f64, u95_m: f64) -> Self {
        Self {
            kind,
            at_m: Some(at_m),
            u95_m: Some(u95_m),
            length_m: None,
            impedance_ohm: None,
            u95_impedance_ohm: None,
            series_ohm: None,
            u95_series_ohm: None,
            beside_ohm: None,
            shunt_ohm: None,
            u95_shunt_ohm: None,
            shunt_f: None,
            u95_shunt_f: None,
            own_delay_s: None,
            u95_own_delay_s: None,
            by_itself: Vec::new(),
            one_way_s: 0.0,
            from_far_m: None,
            share: None,
            reaches: None,
            cause: None,
            or: Vec::new(),
            by_tape_alone: false,
        }
    }
}
