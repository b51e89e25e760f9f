//! What a file was said to be, and the words for it.

use crate::bench::FarEnd;

/// What a file was said to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Far end open.
    Open,
    /// Far end shorted.
    Short,
    /// Far end loaded.
    Load,
    /// An antenna at the far end, or anything else that nobody knows.
    Antenna,
    /// From port 1 to port 2.
    Through,
    /// The calibration's own standard at the plane, no cable.
    Check(FarEnd),
    /// A part at the plane that was described: which of those in [`Resolved::parts`](super::Resolved::parts).
    Part(usize),
    /// A long line at the plane, for its ripple.
    Line,
    /// From port 1 to port 2 through a shorter piece of the same cable.
    Shorter,
    /// Not said.
    Judge,
}

/// What a sweep of a described part is called, before its number.
const PART: &str = "check-part-";

impl Role {
    /// What may have been at the far end, by the words that people use.
    const ENDS: [(&'static str, Self); 5] = [
        ("open", Self::Open),
        ("short", Self::Short),
        ("load", Self::Load),
        ("antenna", Self::Antenna),
        ("through", Self::Through),
    ];
    /// The others, by the names that they are stored under.
    const OTHERS: [(&'static str, Self); 6] = [
        ("check-open", Self::Check(FarEnd::Open)),
        ("check-short", Self::Check(FarEnd::Short)),
        ("check-load", Self::Check(FarEnd::Load)),
        ("line", Self::Line),
        ("shorter", Self::Shorter),
        ("judge", Self::Judge),
    ];

    /// A sweep of the cable itself with this at its far end: `open`, `short`, `load`, `antenna` or
    /// `through`.
    pub fn of_far_end(word: &str) -> Option<Self> {
        let found = Self::ENDS.iter().find(|(name, _)| *name == word);
        found.map(|(_, role)| *role)
    }

    /// The name that it is stored under.
    ///
    /// ```
    /// use lineproof_core::gather::Role;
    /// assert_eq!(Role::Part(2).name(), "check-part-2");
    /// assert_eq!(Role::named("check-part-2"), Some(Role::Part(2)));
    /// ```
    pub fn name(self) -> String {
        if let Self::Part(which) = self {
            return format!("{PART}{which}");
        }
        let mut all = Self::ENDS.iter().chain(&Self::OTHERS);
        let found = all.find(|(_, role)| *role == self);
        found.map_or_else(String::new, |(name, _)| (*name).to_owned())
    }

    /// The one that is stored under this name.
    pub fn named(name: &str) -> Option<Self> {
        if let Some(which) = name.strip_prefix(PART) {
            return which.parse().ok().map(Self::Part);
        }
        let mut all = Self::ENDS.iter().chain(&Self::OTHERS);
        all.find(|(known, _)| *known == name).map(|(_, role)| *role)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_role_is_found_again_by_its_name() {
        let all = Role::ENDS
            .iter()
            .chain(&Role::OTHERS)
            .map(|(_, role)| *role);
        for role in all.chain([Role::Part(0), Role::Part(17)]) {
            assert_eq!(Role::named(&role.name()), Some(role));
        }
        assert_eq!(Role::named("check-part-x"), None);
        assert_eq!(Role::of_far_end("judge"), None);
    }
}
