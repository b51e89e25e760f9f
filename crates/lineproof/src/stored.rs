//! Findings as the shelf, a file or an archive holds them, whichever program wrote them.

use lineproof_core::finding::{Condition, Finding, Warning, WarningCode};

/// The finding; of a text that is none, one that determines nothing and says so.
pub fn finding(json: &str) -> Finding {
    serde_json::from_str(json).unwrap_or_else(|error| unreadable(&error))
}

fn unreadable(error: &serde_json::Error) -> Finding {
    let text = format!("the stored finding cannot be read: {error}");
    Finding {
        condition: Condition::Undetermined,
        warnings: vec![Warning::new(WarningCode::NotReadable, text)],
        ..Finding::default()
    }
}

#[cfg(test)]
mod tests {
    use lineproof_core::finding::EventKind;

    use super::*;

    #[test]
    fn odd_keys_do_not_hide_the_others() {
        let found = finding(
            r#"{"impedance":{"ohm":50.1,"u95_ohm":0.2,"at_hz":1e8,"limited_by":"the moon"},"events":"none",
                "new":[1],"condition":"sound","verdict":{"action":"keep","reasons":["good"],"criteria":[]},
                "loss":[{"at_hz":1e8,"db":"much"},{"at_hz":2e8,"db":0.4,"u95_db":0.1}]}"#,
        );
        assert_eq!(found.impedance.unwrap().ohm, 50.1);
        assert!(found.events.is_empty());
        assert_eq!(found.loss.len(), 1, "one odd row hides no other");
        assert_eq!(found.condition, Condition::Sound);
        assert_eq!(found.verdict.unwrap().reasons, ["good"]);
    }

    #[test]
    fn what_this_program_does_not_know_is_nothing_good() {
        let found = finding(
            r#"{"condition":"splendid","events":[{"kind":"bitten","at_m":1.0,"u95_m":0.1,"one_way_s":5e-9}],
                "warnings":[{"code":"full-moon","text":"beware"}]}"#,
        );
        assert_eq!(found.condition, Condition::Undetermined);
        assert_eq!(found.events[0].kind, EventKind::Unknown);
        assert_eq!(found.warnings[0].code.as_str(), "full-moon");
    }

    #[test]
    fn what_is_no_finding_says_so() {
        let found = finding("nonsense");
        assert_eq!(found.condition, Condition::Undetermined);
        assert_eq!(found.warnings[0].code, WarningCode::NotReadable);
    }
}
