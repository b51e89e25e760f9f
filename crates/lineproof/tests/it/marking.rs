//! What the jacket claims against what was found.

use serde_json::Value;

use crate::support::{GOOD_75, Line, run_in, sweeps_of};

/// `marking` of the finding with these claims, options separated by blanks.
fn marking_of(name: &str, line: Line, claims: &str) -> Value {
    let folder = sweeps_of(name, line);
    let mut arguments = vec!["assay", "--json", "open.s1p", "load.s1p", "short.s1p"];
    arguments.extend(["--load-ohms", "50.000", "--length", "1.500m"]);
    arguments.extend(claims.split_whitespace());
    run_in(&folder, &arguments).has_code(0).json()["marking"].clone()
}

#[test]
fn a_true_marking_agrees() {
    let claims = "--marked-impedance 75 --marked-velocity-factor 0.66 \
                  --marked-loss 10.5dB/100m@100MHz";
    let marking = marking_of("true", GOOD_75, claims);
    assert_eq!(marking["agrees"], true, "{marking:#}");
    assert_eq!(marking["differences"], Value::Array(vec![]));
}

#[test]
fn another_impedance_disagrees_and_geometry_is_named() {
    let claims = "--marked-impedance 50 --marked-velocity-factor 0.66";
    let marking = marking_of("geometry", GOOD_75, claims);
    assert_eq!(marking["agrees"], false);
    assert_eq!(marking["differences"][0]["quantity"], "impedance");
    let text = marking["explanation"].to_string();
    // Z0/VF = 59.96 ln(D/d): 75.3/0.6595 gives 6.71, 50/0.66 gives 3.54 (own calculation).
    let (_, after) = text.split_once("D/d = ").expect("names the ratio");
    let found: f64 = after[..4].parse().unwrap();
    assert!(
        (found - 6.71).abs() < 0.1 && text.contains("3.54"),
        "{text}"
    );
    assert!(text.contains("dielectric is as marked"), "{text}");
}

#[test]
fn the_same_geometry_with_another_filling_is_told_apart() {
    // 59.96·0.66·ln(D/d) = 50 ohm becomes 62 ohm with a velocity factor of 0.818.
    let foam = Line {
        z0_ohm: 62.0,
        one_way_s: 1.5 / (0.818 * 299_792_458.0),
        loss_db_at_100mhz: 0.12,
    };
    let claims = "--marked-impedance 50 --marked-velocity-factor 0.66";
    let text = marking_of("filling", foam, claims)["explanation"].to_string();
    assert!(text.contains("diameters are as marked"), "{text}");
}

#[test]
fn excess_loss_disagrees() {
    let lossy = Line {
        loss_db_at_100mhz: 0.9,
        ..GOOD_75
    };
    let claims = "--marked-impedance 75 --marked-loss 10.5dB/100m@100MHz";
    let marking = marking_of("lossy", lossy, claims);
    assert_eq!(marking["agrees"], false);
    assert_eq!(marking["differences"][0]["quantity"], "loss");
}

/// Belden 8263 (RG-59B/U): 75 ohm, 0.66, 3.4 dB/100 ft at 100 MHz. A name that no type bears claims nothing.
#[test]
fn a_name_alone_claims_what_its_sheet_says() {
    let marking = marking_of("name", GOOD_75, "--marked RG-59");
    assert_eq!(marking["agrees"], true, "{marking:#}");
    let remarks = marking["remarks"].to_string();
    assert!(remarks.contains("the sheet of RG-59B/U"), "{remarks}");
    let other = marking_of("name-other", GOOD_75, "--marked RG-58");
    assert_eq!(other["agrees"], false, "{other:#}");
    let unknown = marking_of("name-unknown", GOOD_75, "--marked harbour-9");
    assert!(unknown.get("agrees").is_none(), "{unknown:#}");
    let remarks = unknown["remarks"].to_string();
    assert!(remarks.contains("no type `harbour-9`"), "{remarks}");
}
