//! From a finding to what stands on the cable's label and in its code.

use std::fmt::Write;

use lineproof_core::finding::said::label as few;
use lineproof_core::quantity::{Units, format_frequency};
use lineproof_draw::Label;
use lineproof_record::{Shelf, ShelfError};

use crate::finding::Finding;
use crate::report::number::pair;
use crate::stored;

/// What the code of a label says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Code {
    /// There is none.
    None,
    /// The essentials as text.
    Essentials,
    /// The cable's page on the bench at this address.
    Link(String),
}

/// How labels are wanted.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// Units of the length.
    pub units: Units,
    /// Frequency of the loss, Hz.
    pub loss_at_hz: f64,
    /// What the code says.
    pub code: Code,
}

/// A cable of the shelf, as far as its label goes.
#[derive(Clone, Debug)]
pub struct OnShelf<'a> {
    /// Its tag.
    pub tag: &'a str,
    /// Day of its newest assay.
    pub day: &'a str,
    /// The newest finding, as JSON.
    pub finding: &'a str,
    /// What the owner decided last.
    pub decision: Option<&'a str>,
}

/// The label of a cable on the shelf; `None` if it was never assayed.
///
/// # Errors
/// [`ShelfError`] if the shelf can't be read or has no such cable.
pub fn of_shelf(shelf: &Shelf, tag: &str, wanted: &Wanted) -> Result<Option<Label>, ShelfError> {
    let cable = shelf.cable(tag)?;
    let assays = shelf.assays(tag)?;
    let Some(newest) = assays.last() else {
        return Ok(None);
    };
    let decisions = shelf.decisions(tag)?;
    let on_shelf = OnShelf {
        tag: &cable.tag,
        day: newest.at.get(..10).unwrap_or(&newest.at),
        finding: &newest.finding,
        decision: decisions.last().map(|d| d.action.as_str()),
    };
    Ok(Some(label(&on_shelf, wanted)))
}

/// The labels of these cables, and the tags of those that were never assayed.
///
/// # Errors
/// As [`of_shelf`].
pub fn all_of_shelf(
    shelf: &Shelf,
    tags: Vec<String>,
    wanted: &Wanted,
) -> Result<(Vec<Label>, Vec<String>), ShelfError> {
    let (mut labels, mut without) = (Vec::new(), Vec::new());
    for tag in tags {
        match of_shelf(shelf, &tag, wanted)? {
            Some(label) => labels.push(label),
            None => without.push(tag),
        }
    }
    Ok((labels, without))
}

/// The label of a cable.
pub fn label(cable: &OnShelf<'_>, wanted: &Wanted) -> Label {
    let finding = stored::finding(cable.finding);
    let verdict = verdict(cable, &finding);
    let facts: Vec<String> = [
        Some(few::impedance(&finding)),
        length(&finding, wanted.units),
        few::kind(&finding),
        Some(few::loss(&finding, wanted.loss_at_hz)),
        Some(cable.day.to_owned()).filter(|day| !day.is_empty()),
    ]
    .into_iter()
    .flatten()
    .collect();
    Label {
        tag: cable.tag.to_owned(),
        stressed: verdict != "keep",
        code: match &wanted.code {
            Code::None => None,
            Code::Essentials => Some(essentials(cable, &finding, &verdict, &facts)),
            Code::Link(address) => Some(page_of(address, cable.tag)),
        },
        verdict,
        facts,
    }
}

/// The owner's decision counts before the program's verdict.
fn verdict(cable: &OnShelf<'_>, finding: &Finding) -> String {
    let decided = cable.decision.map(str::to_owned);
    let found = finding
        .verdict
        .as_ref()
        .map(|v| v.action.words().to_owned());
    decided.or(found).unwrap_or_else(|| "not judged".to_owned())
}

fn length(finding: &Finding, units: Units) -> Option<String> {
    let length = finding.length?;
    let (value, u95) = (units.of_m(length.m), units.of_m(length.u95_m));
    Some(format!("{} {}", few::terse(value, u95, 2), units.length()))
}

/// What a reader without this program gets; our own words stay within ASCII, which every reader
/// shows alike.
fn essentials(cable: &OnShelf<'_>, finding: &Finding, verdict: &str, facts: &[String]) -> String {
    let mut lines = vec![cable.tag.to_owned(), verdict.to_owned()];
    lines.extend(finding.impedance.map(|z| {
        let (ohm, u95) = pair(z.ohm, z.u95_ohm);
        format!("{ohm} +-{u95} ohm at {}", format_frequency(z.at_hz))
    }));
    lines.extend(
        finding
            .velocity_factor
            .map(|v| format!("VF {:.3}", v.ratio)),
    );
    let without_impedance = facts.iter().skip(usize::from(finding.impedance.is_some()));
    lines.extend(without_impedance.cloned());
    let text = lines.join("\n");
    // Readers guess the encoding of what is not ASCII; a byte-order mark says that it is UTF-8.
    if text.is_ascii() {
        text
    } else {
        format!("\u{feff}{text}")
    }
}

/// Address of a cable's page.
fn page_of(address: &str, tag: &str) -> String {
    let mut link = format!("{}/shelf/", address.trim_end_matches('/'));
    for byte in tag.bytes() {
        // RFC 3986, section 2.3: unreserved characters.
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            link.push(char::from(byte));
        } else {
            let _a_string_never_fails = write!(link, "%{byte:02X}");
        }
    }
    link
}

#[cfg(test)]
mod tests {
    use super::*;

    const FINDING: &str = r#"{"schema":1,"condition":"sound",
        "impedance":{"ohm":74.3142,"u95_ohm":0.2134,"at_hz":1e8,"limited_by":"load"},
        "sweeps":[{"file":"a","far_end":"open","guessed":false,"points":401,"start_hz":1e6,"stop_hz":4.1e8}],
        "delay":{"one_way_s":1.2e-8,"u95_s":1e-11,"at_hz":3e8},"length":{"m":2.4,"u95_m":0.01,"basis":"tape"},
        "loss":[{"at_hz":1e8,"db":0.26,"u95_db":0.01},{"at_hz":4e8,"db":0.56,"u95_db":0.02}],
        "types":[{"designation":"RG-59B/U","probability":0.81},{"designation":"none of these","probability":0.19}],
        "verdict":{"action":"use-elsewhere","reasons":["75 ohm"],"criteria":[]}}"#;

    fn of(finding: &str, decision: Option<&str>, loss_at_hz: f64, code: Code) -> Label {
        let cable = OnShelf {
            tag: "Ö 1/2",
            day: "2026-05-31",
            finding,
            decision,
        };
        let units = Units::Metres;
        let wanted = Wanted {
            units,
            loss_at_hz,
            code,
        };
        label(&cable, &wanted)
    }

    #[test]
    fn everything_stands_on_it() {
        let label = of(FINDING, None, 2e8, Code::Essentials);
        // Straight in logarithms from 0.26 dB at 100 MHz to 0.56 dB at 400 MHz: sqrt(0.26 · 0.56).
        let facts = [
            "74.3 ohm",
            "2.40 m",
            "RG-59B/U?",
            "0.38 dB at 200 MHz",
            "2026-05-31",
        ];
        assert_eq!(label.facts, facts);
        assert_eq!(
            (label.verdict.as_str(), label.stressed),
            ("use elsewhere", true)
        );
        let code = label.code.unwrap();
        assert_eq!(
            code,
            "\u{feff}Ö 1/2\nuse elsewhere\n74.31 +-0.21 ohm at 100 MHz\n2.40 m\nRG-59B/U?\n\
             0.38 dB at 200 MHz\n2026-05-31"
        );
    }

    #[test]
    fn what_is_not_known_is_not_guessed() {
        let label = of("{}", Some("keep"), 1e8, Code::None);
        let facts = [
            "impedance not known",
            "loss at 100 MHz not known",
            "2026-05-31",
        ];
        assert_eq!(label.facts, facts);
        assert_eq!((label.verdict.as_str(), label.stressed), ("keep", false));
        let far = of(FINDING, None, 3e9, Code::None);
        assert!(
            far.facts.contains(&"loss at 3 GHz not known".to_owned()),
            "{far:?}"
        );
        let near = of(FINDING, None, 5e8, Code::None);
        assert!(
            near.facts.iter().any(|f| f.starts_with("about 0.6")),
            "{near:?}"
        );
    }

    #[test]
    fn tags_are_escaped_in_an_address() {
        let label = of(
            FINDING,
            None,
            1e8,
            Code::Link("http://10.0.0.7:8317/".to_owned()),
        );
        assert_eq!(
            label.code.unwrap(),
            "http://10.0.0.7:8317/shelf/%C3%96%201%2F2"
        );
    }
}
