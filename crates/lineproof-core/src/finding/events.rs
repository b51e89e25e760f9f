//! Faults along the cable, and the impedance between them.

use super::quantities::from_u95;
#[cfg(feature = "serde")]
use super::stored;
use super::words::words;
use crate::quantity::digits::pair;
use crate::quantity::{format_delay, format_uncertain};
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

/// Impedance along the cable.
#[derive(Clone, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ProfileFound {
    /// Distance below which two places look like one, m.
    pub resolution_m: f64,
    /// From the near end to the far one.
    pub points: Vec<ProfilePointFound>,
    /// Length of the dent that `least_dents` is stated for, m.
    pub least_dent_length_m: f64,
    /// The least dent that would have shown, from the near end to the far one.
    pub least_dents: Vec<LeastDentFound>,
}

/// Impedance at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct ProfilePointFound {
    /// Distance from the near end, m.
    pub at_m: f64,
    /// One-way delay of sound cable to it, s.
    pub one_way_s: f64,
    /// High-frequency impedance, ohm.
    pub ohm: f64,
    /// 95 % half-width, ohm; it holds the load's part, which all points share.
    pub u95_ohm: f64,
}

/// The least dent that would have shown at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
pub struct LeastDentFound {
    /// Distance from the near end, m.
    pub at_m: f64,
    /// Relative change of the impedance.
    pub relative: f64,
}

impl EventKind {
    /// The kind with its article.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Dent => "a dent",
            Self::Wet => "a wet stretch",
            Self::Splice => "a splice",
            Self::Joint => "a bad joint",
            Self::Open => "a break",
            Self::Short => "a short",
            Self::Unknown => "something unknown",
        }
    }
}

impl EventFound {
    /// Where its middle is, from the near end, m, if that is known in metres.
    pub fn place_m(&self) -> Option<Uncertain> {
        Some(from_u95(self.at_m?, self.u95_m?))
    }

    /// Its place in words: in metres, else as a share of the way and in delay.
    pub fn place(&self) -> String {
        if let Some(at_m) = self.place_m() {
            return format_uncertain(at_m, "m");
        }
        let delay = format_delay((self.one_way_s * 1e12).round() / 1e12);
        match self.share {
            Some(share) => format!("{:.1} % of the way ({delay} one way)", 100.0 * share),
            None => format!("{delay} one way"),
        }
    }

    /// The event in a sentence.
    pub fn sentence(&self) -> String {
        let at = self.place();
        let z = self.there();
        let what = match self.kind {
            EventKind::Dent => format!("dented or kinked at {at}{z}"),
            EventKind::Wet => {
                let over = self
                    .length_m
                    .map_or_else(String::new, |m| format!(", over {m:.2} m"));
                format!("wet around {at}{over}{z}")
            }
            EventKind::Splice => self.splice(&at),
            EventKind::Joint => format!(
                "bad joint at {at}, {} in series",
                ohms(self.series_ohm.unwrap_or(0.0), self.u95_series_ohm)
            ),
            EventKind::Open => format!("broken, open at {at}"),
            EventKind::Short => format!("shorted at {at}"),
            EventKind::Unknown => format!("irregular impedance, worst at {at}{z}"),
        };
        if self.or.is_empty() {
            return what;
        }
        let others: Vec<&str> = self.or.iter().map(|kind| kind.noun()).collect();
        format!(
            "{what} (these sweeps cannot distinguish it from {})",
            others.join(" or ")
        )
    }

    /// The impedance there.
    fn there(&self) -> String {
        self.impedance_ohm.map_or_else(String::new, |z| {
            format!(", {} there", ohms(z, self.u95_impedance_ohm))
        })
    }

    fn splice(&self, at: &str) -> String {
        let ohm = self.impedance_ohm.map_or_else(String::new, |z| {
            format!(" of {}", ohms(z, self.u95_impedance_ohm))
        });
        let reach = self.reach();
        format!("another cable{ohm} joined on at {at}{reach}")
    }

    /// Kind, place and what is known of it, as a list has it.
    pub fn text(&self) -> String {
        let at = match (self.at_m, self.u95_m) {
            (Some(at_m), Some(u95_m)) => {
                let (at, u95) = pair(at_m, u95_m);
                format!("{at} ± {u95} m")
            }
            _ => self.place(),
        };
        let there = self.there();
        let series = self.series_ohm.map_or_else(String::new, |r| {
            format!(", {} in series", ohms(r, self.u95_series_ohm))
        });
        let length = self.length_m;
        let length = length.map_or_else(String::new, |m| format!(", over {m:.3} m"));
        let reach = self.reach();
        let kinds: Vec<&str> = self.or.iter().map(|kind| kind.name()).collect();
        let or = if kinds.is_empty() {
            String::new()
        } else {
            format!(", or {}", kinds.join(" or "))
        };
        let alone = if self.by_tape_alone {
            ", by the tape alone"
        } else {
            ""
        };
        format!(
            "{} at {at}{length}{there}{series}{reach}{or}{alone}",
            self.kind
        )
    }

    /// Of a splice: the stretch that is another cable.
    fn reach(&self) -> &'static str {
        match self.reaches {
            Some(End::Near) => ", from the near end to there",
            Some(End::Far) => ", from there to the far end",
            None => "",
        }
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

fn ohms(ohm: f64, u95: Option<f64>) -> String {
    match u95 {
        Some(u95) => {
            let (ohm, u95) = pair(ohm, u95);
            format!("{ohm} ± {u95} ohm")
        }
        None => format!("{ohm:.1} ohm"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_event_says_everything_that_is_known_of_it() {
        let joint = EventFound {
            series_ohm: Some(2.14),
            u95_series_ohm: Some(0.11),
            or: vec![EventKind::Dent],
            by_tape_alone: true,
            ..EventFound::at(EventKind::Joint, 1.5, 0.02)
        };
        assert_eq!(
            joint.text(),
            "joint at 1.500 ± 0.020 m, 2.14 ± 0.11 ohm in series, or dent, by the tape alone"
        );
    }
}
