//! From what a jacket says to a type.

use thiserror::Error;

use super::CableType;

/// A name that is not that of one type.
#[derive(Clone, Debug, Error, PartialEq)]
#[error("{}", self.text())]
pub struct Unknown {
    /// The name asked for.
    pub name: String,
    /// Types that bear it, if more than one does.
    pub bearers: Vec<String>,
    /// Types whose names come near.
    pub near: Vec<String>,
}

impl Unknown {
    fn text(&self) -> String {
        let quoted = |names: &[String]| {
            let quoted: Vec<String> = names.iter().map(|n| format!("`{n}`")).collect();
            quoted.join(", ")
        };
        let name = &self.name;
        if !self.bearers.is_empty() {
            format!(
                "`{name}` is the name of several types: say which of {}",
                quoted(&self.bearers)
            )
        } else if self.near.is_empty() {
            format!("no type `{name}` in the catalogue")
        } else {
            format!(
                "no type `{name}` in the catalogue; near it are {}",
                quoted(&self.near)
            )
        }
    }
}

/// The one type of this name.
pub(super) fn find<'a>(types: &'a [CableType], name: &str) -> Result<&'a CableType, Unknown> {
    let bearers = all_named(types, name);
    match bearers.as_slice() {
        [only] => Ok(only),
        [] => Err(Unknown {
            name: name.to_owned(),
            bearers: Vec::new(),
            near: near(types, name),
        }),
        several => Err(Unknown {
            name: name.to_owned(),
            bearers: several.iter().map(|t| t.designation.clone()).collect(),
            near: Vec::new(),
        }),
    }
}

/// Types whose name or alias it is; if none has it whole, those whose name goes on with a suffix
/// letter, a remark in brackets or a word: `RG-58` is RG-58A/U, RG-58C/U and others.
pub(super) fn all_named<'a>(types: &'a [CableType], name: &str) -> Vec<&'a CableType> {
    let wanted = plain(name);
    if wanted.is_empty() {
        return Vec::new();
    }
    let whole: Vec<&CableType> = types
        .iter()
        .filter(|t| names(t).any(|n| plain(n) == wanted))
        .collect();
    if !whole.is_empty() {
        return whole;
    }
    let wanted = without_u(&wanted);
    let goes_on = |t: &&CableType| {
        let known = plain(&t.designation);
        let rest = known.strip_prefix(wanted);
        rest.is_some_and(|r| !r.starts_with(|c: char| c.is_ascii_digit()))
    };
    types.iter().filter(goes_on).collect()
}

fn names(t: &CableType) -> impl Iterator<Item = &str> {
    let aliases = t.aliases.iter().map(String::as_str);
    std::iter::once(t.designation.as_str())
        .chain(aliases)
        .chain(t.spec.as_deref())
}

/// Upper case, letters and digits only, without a remark in brackets.
fn plain(name: &str) -> String {
    let upper = name.to_uppercase();
    let bare = upper.split(" (").next().unwrap_or_default();
    let kept = bare.chars().filter(|c| c.is_alphanumeric() || *c == '.');
    kept.collect()
}

/// Without the U that closes the military numbers.
fn without_u(plain: &str) -> &str {
    plain.strip_suffix('U').unwrap_or(plain)
}

/// Up to five types whose plain names differ least, if they share a beginning or a number.
fn near(types: &[CableType], name: &str) -> Vec<String> {
    let wanted = plain(name);
    let mut scored: Vec<(usize, &str)> = types
        .iter()
        .map(|t| {
            (
                distance(&plain(&t.designation), &wanted),
                t.designation.as_str(),
            )
        })
        .filter(|(d, _)| 2 * d <= wanted.chars().count().max(2))
        .collect();
    scored.sort_unstable();
    scored
        .into_iter()
        .take(5)
        .map(|(_, n)| n.to_owned())
        .collect()
}

/// Edits that turn one name into the other (Levenshtein).
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut corner = row[0];
        row[0] = i + 1;
        for j in 0..b.len() {
            let edit = corner + usize::from(ca != b[j]);
            corner = row[j + 1];
            row[j + 1] = edit.min(row[j] + 1).min(corner + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use crate::catalogue::Catalogue;

    #[test]
    fn spelling_does_not_matter() {
        let all = Catalogue::built_in();
        for name in ["RG-213/U", "rg213", "RG 213", "M17/74-RG213", "RG213U"] {
            let found = all.find(name).map(|t| t.designation.as_str());
            assert!(
                found == Ok("RG-213/U") || name == "RG213U",
                "{name}: {found:?}"
            );
        }
        assert_eq!(
            all.find("LDF4-50A").unwrap().designation,
            "LDF4-50A (1/2 in foam)"
        );
        assert_eq!(all.find("lmr400").unwrap().designation, "LMR-400");
    }

    #[test]
    fn a_loose_number_means_several() {
        let error = Catalogue::built_in().find("RG-58").unwrap_err();
        assert!(error.bearers.contains(&"RG-58C/U".to_owned()), "{error}");
        assert!(
            error
                .to_string()
                .starts_with("`RG-58` is the name of several types")
        );
        assert!(!error.bearers.iter().any(|n| n.starts_with("RG-55")));
        let one = Catalogue::built_in().find("RG-58/U").unwrap();
        assert_eq!(one.designation, "RG-58/U (solid)");
    }

    #[test]
    fn a_slip_is_offered_its_neighbours() {
        let error = Catalogue::built_in().find("LMR-401").unwrap_err();
        assert!(error.near.contains(&"LMR-400".to_owned()), "{error}");
        let nothing = Catalogue::built_in().find("garden hose").unwrap_err();
        assert_eq!(
            nothing.to_string(),
            "no type `garden hose` in the catalogue"
        );
    }
}
