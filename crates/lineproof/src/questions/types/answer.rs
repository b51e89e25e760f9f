//! Types of cable: a list of them, and which one something may be.

use lineproof_core::catalogue::{CableType, TypeKnown};
use lineproof_core::identify::{Excluded, Identification, Separator};
use serde::{Serialize, Serializer};
use utoipa::ToSchema;

use crate::finding::TypeFound;
use lineproof_core::finding::judge::types::entries;

/// Types of cable.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct TypesAnswer {
    /// The types, in the order of the catalogue.
    #[serde(serialize_with = "printed")]
    #[schema(value_type = Vec<TypeKnown<'static>>)]
    pub(super) types: Vec<CableType>,
    /// Of the one that was named: ids and documents of its figures.
    #[serde(skip)]
    pub(super) sources: Option<Vec<(String, String)>>,
}

/// A list, one of it, or which one something may be.
#[derive(Clone, Debug, Serialize)]
#[serde(untagged)]
pub(crate) enum Answered {
    /// Types that were listed or named.
    Types(TypesAnswer),
    /// Which ones something may be.
    Identified(IdentificationAnswer),
}

/// Which types a cable may be.
#[derive(Clone, Debug, Serialize, ToSchema)]
pub(crate) struct IdentificationAnswer {
    /// Types of the catalogue that it may be, and "none of these", by falling probability.
    pub(super) types: Vec<TypeFound>,
    /// What would tell them apart, the best first.
    pub(super) separators: Vec<Separator>,
    /// Whole classes that it can't be.
    pub(super) excluded: Vec<Excluded>,
}

fn printed<S: Serializer>(types: &[CableType], to: S) -> Result<S::Ok, S::Error> {
    to.collect_seq(types.iter().map(TypeKnown::of))
}

impl TypesAnswer {
    /// A list.
    pub(super) fn of(types: Vec<CableType>) -> Self {
        Self {
            types,
            sources: None,
        }
    }
}

impl IdentificationAnswer {
    /// The answer that an identification is.
    pub(super) fn of(found: Identification) -> Self {
        Self {
            types: entries(&found),
            separators: found.separators,
            excluded: found.excluded,
        }
    }
}
