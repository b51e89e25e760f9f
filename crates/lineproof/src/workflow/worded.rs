//! Why there is no finding, with the fact that an error is about and the next step, as each surface words them.

use std::error::Error as _;

use lineproof_core::calibration::kit::StandardsError;
use lineproof_core::gather::{GatherError, KnowledgeError, Stated};
use thiserror::Error;

use super::plane::{PlaneError, PlaneRefused};
use crate::facts::{About, Surface, table};

/// Why sweeps can't be assayed, or one of them can't.
#[derive(Clone, Debug, Error)]
#[non_exhaustive]
pub enum AssayError {
    /// Sweeps that can't be put on a bench.
    #[error(transparent)]
    Gather(#[from] GatherError),
    /// What is said of the calibrated plane can't be used.
    #[error("{message}")]
    Plane {
        /// What is wrong, with its cause.
        message: String,
        /// The fact that says it, unless a file does.
        fact: Option<&'static About>,
        /// Whether it can be used once the sweeps are corrected.
        correct_first: bool,
    },
}

impl AssayError {
    /// The fact that it is about, if it is about one.
    pub fn fact(&self) -> Option<&'static About> {
        match self {
            Self::Gather(GatherError::Knowledge(KnowledgeError::NotPositive { of, .. })) => {
                Some(about(*of))
            }
            Self::Gather(GatherError::Knowledge(_)) => Some(&table::LOAD_OHMS.about),
            Self::Gather(GatherError::NoShorterLength { .. }) => Some(&table::SHORTER_LENGTH.about),
            Self::Plane { fact, .. } => *fact,
            Self::Gather(_) => None,
        }
    }

    /// The file that it is about, if it is about one.
    pub fn label(&self) -> Option<&str> {
        match self {
            Self::Gather(error) => error.label(),
            Self::Plane { .. } => None,
        }
    }

    /// One next step, as it is said there.
    pub fn help(&self, on: Surface) -> Option<String> {
        match self {
            Self::Gather(error) => gather_help(error, on),
            Self::Plane {
                correct_first: true,
                ..
            } => Some(match on {
                Surface::Terminal => {
                    "correct the sweeps with `lineproof correct --called-ideal` first".to_owned()
                }
                Surface::Page => {
                    "correct the sweeps with `lineproof correct` in a terminal first".to_owned()
                }
            }),
            Self::Plane { .. } => None,
        }
    }
}

impl From<PlaneRefused> for AssayError {
    fn from(PlaneRefused { fact, error }: PlaneRefused) -> Self {
        let message = match error.source() {
            Some(cause) => format!("{error}: {cause}"),
            None => error.to_string(),
        };
        Self::Plane {
            message,
            fact,
            correct_first: matches!(
                error,
                PlaneError::Standards(StandardsError::Table { .. }) | PlaneError::KitBefore
            ),
        }
    }
}

/// The fact that states it.
fn about(stated: Stated) -> &'static About {
    match stated {
        Stated::Load => &table::LOAD_OHMS.about,
        Stated::FarLoad => &table::FAR_LOAD_OHMS.about,
        Stated::Length => &table::LENGTH.about,
        Stated::ShorterLength => &table::SHORTER_LENGTH.about,
    }
}

fn gather_help(error: &GatherError, on: Surface) -> Option<String> {
    match error {
        GatherError::FarEnd(e) => Some(match on {
            Surface::Terminal => format!(
                "state what ended the cable: `--open {0}`, `--short {0}` or `--load {0}`",
                e.name
            ),
            Surface::Page => "state what ended the cable in that sweep".to_owned(),
        }),
        GatherError::References { .. } => Some("assay them one at a time".to_owned()),
        GatherError::NotTwoPort { .. } => Some(match on {
            Surface::Terminal => "give it with `--open`, `--short` or `--load`".to_owned(),
            Surface::Page => {
                "choose open, short or load for it; through needs a two-port sweep".to_owned()
            }
        }),
        GatherError::Knowledge(e) => knowledge_help(e, on),
        GatherError::NotTheStandard { .. } | GatherError::NotThePart { .. } => {
            Some("sweep the part itself, without cable or adapter".to_owned())
        }
        GatherError::BeforeTakenAway { .. } => Some("omit it".to_owned()),
        GatherError::ThroughBehind { .. } => {
            Some("calibrate behind the two-port, or sweep the cable's reflections".to_owned())
        }
        GatherError::NoShorterLength { .. } => {
            let length = on.with(&table::SHORTER_LENGTH.about, "0.50m");
            Some(format!("write {length}"))
        }
        GatherError::ShorterAlone { .. } => {
            Some("sweep the cable from port to port too, or omit this sweep".to_owned())
        }
        _ => None,
    }
}

/// One next step, as it is said there.
pub fn knowledge_help(error: &KnowledgeError, on: Surface) -> Option<String> {
    match error {
        KnowledgeError::LoadFarFromReference {
            load_ohm,
            reference_ohm,
        } => {
            let ohms = load_ohm.to_string();
            let far = on.with(&table::FAR_LOAD_OHMS.about, &ohms);
            let reference = on.with(&table::REFERENCE_OHMS.about, &ohms);
            Some(format!(
                "for a resistor at the far end write {far}; if the analyser was calibrated with such \
                 a load, read the sweeps with {reference} or correct their reference, {reference_ohm} ohm"
            ))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A number is called in an error as its field is called on a page.
    #[test]
    fn what_is_stated_has_the_label_of_its_fact() {
        for stated in [
            Stated::Load,
            Stated::FarLoad,
            Stated::Length,
            Stated::ShorterLength,
        ] {
            assert_eq!(stated.to_string(), about(stated).label);
        }
    }

    #[test]
    fn each_surface_names_the_fact_in_its_own_way() {
        let error = KnowledgeError::LoadFarFromReference {
            load_ohm: 100.1,
            reference_ohm: 50.0,
        };
        let help = |on| knowledge_help(&error, on).unwrap();
        assert!(help(Surface::Terminal).contains("`--far-load-ohms 100.1`"));
        let page = help(Surface::Page);
        assert!(page.contains("`100.1` in “Other load at the far end”"));
        assert!(!page.contains("--"), "{page}");
    }
}
