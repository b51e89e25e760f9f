//! What the bench is told of the calibrated plane, and what one measures and sees besides: each the same
//! by the page's form and by the command line, and the same again from the shelf.

use std::f64::consts::TAU;
use std::path::{Path, PathBuf};

use axum::body::Body;
use axum::http::Method;
use axum::http::header::CONTENT_TYPE;
use num_complex::Complex64;
use serde_json::{Value, json};

use crate::bench::{Bench, request};
use crate::bench_assay::{form, send_form};
use crate::plane::{long_line, through_pad, two_port};
use crate::shelf::adapter_file;
use crate::support::{GOOD_75, codes, folder, run_in, sweeps_of};

/// A file of a folder, said to be something.
type Said<'a> = (&'a str, &'a str);

/// Files of a folder and facts, by the page's form.
async fn by_form(bench: &Bench, folder: &Path, files: &[Said<'_>], facts: &[Said<'_>]) -> Value {
    let read = |name: &str| std::fs::read(folder.join(name)).unwrap();
    let bytes: Vec<Vec<u8>> = files.iter().map(|(name, _)| read(name)).collect();
    let named = files.iter().zip(&bytes);
    let named: Vec<(&str, &[u8])> = named.map(|((name, _), b)| (*name, &b[..])).collect();
    let far_ends = files.iter().map(|(_, said)| ("far_ends", *said));
    let texts: Vec<Said<'_>> = far_ends.chain(facts.iter().copied()).collect();
    let answer = send_form(bench, "/api/assays", form(&named, &texts)).await;
    answer.has_status(200).json()
}

/// The answer of the form, whose finding must be the command line's, now and again from the shelf.
async fn same_by_all_ways(
    name: &str,
    folder: &Path,
    files: &[Said<'_>],
    facts: &[Said<'_>],
    line: &str,
) -> Value {
    let bench = Bench::new(name);
    let answer = by_form(&bench, folder, files, facts).await;
    let arguments: Vec<&str> = line.split_whitespace().collect();
    let printed = run_in(folder, &arguments).json();
    assert_eq!(answer["finding"], printed, "{name}: {}", answer["refused"]);
    let keep = format!("/api/assays/{}/keep", answer["id"].as_str().unwrap());
    bench
        .post_json(&keep, &json!({"tag": "x"}))
        .await
        .has_status(200);
    let shelf = bench.shelf().display().to_string();
    let of_shelf = |verb: &[&str]| {
        let arguments = [&["shelf"], verb, &["--shelf", &shelf]].concat();
        run_in(folder, &arguments).has_code(0)
    };
    of_shelf(&["again", "--keep"]);
    let shown = of_shelf(&["show", "x", "--json"]).json();
    assert_eq!(shown["assays"][0]["findings"], 2, "{name}");
    assert_eq!(shown["assays"][0]["finding"], printed, "{name}: kept");
    answer
}

/// 0.2 and a little more: what 75 ohm reflect against 50 ohm.
fn resistor() -> String {
    let rows = (0..201).map(|i| format!("{} 0.2002 0.0001\n", 1e5 + 1.5e6 * f64::from(i)));
    format!("# Hz S RI R 50\n{}", rows.collect::<String>())
}

/// Sweeps of [`GOOD_75`] with what was swept at the plane.
fn with_plane(name: &str) -> PathBuf {
    let folder = sweeps_of(name, GOOD_75);
    std::fs::write(folder.join("r75.s1p"), resistor()).unwrap();
    std::fs::write(folder.join("line.s1p"), long_line()).unwrap();
    folder
}

const OPEN_LOAD: [Said<'_>; 2] = [("open.s1p", "open"), ("load.s1p", "load")];
const ASSAY: &str = "assay --open open.s1p --load load.s1p --length 1.497m --json";
const LENGTH: Said<'_> = ("length", "1.497m");

#[tokio::test]
async fn known_parts_at_the_plane() {
    let folder = with_plane("bench-parts");
    let files = [OPEN_LOAD[0], OPEN_LOAD[1], ("r75.s1p", "check-part")];
    let part = |name| [LENGTH, ("part_2", name)];
    let by_page = same_by_all_ways(
        "plane-part",
        &folder,
        &files,
        &part("75ohm+-0.1ohm"),
        &format!("{ASSAY} --check 75ohm+-0.1ohm=r75.s1p"),
    )
    .await;
    assert_eq!(by_page["facts"]["parts"][2], "75ohm+-0.1ohm", "as typed");
    assert_eq!(
        by_page["files"][2]["taken_as"],
        "75ohm+-0.1ohm at the plane"
    );

    // A standard of the kit by its name, and the calibration's own by that of all.
    let kit = "[standards.open]\nkind = \"open\"\ncapacitance_f = 40e-15\n\
               [standards.short]\nkind = \"short\"\n\
               [standards.load]\nkind = \"load\"\nresistance_ohm = 50.05\n\
               [standards.mismatch]\nkind = \"load\"\nresistance_ohm = 75.02\n";
    std::fs::write(folder.join("kit.toml"), kit).unwrap();
    let own = resistor().replace("0.2002", "0.0006");
    std::fs::write(folder.join("again.s1p"), own).unwrap();
    let files = [&files[..], &[("again.s1p", "check-part")]].concat();
    let facts = [
        LENGTH,
        ("kit", kit),
        ("part_2", " mismatch"),
        ("part_3", "load"),
    ];
    let line = format!("{ASSAY} --kit kit.toml --check mismatch=r75.s1p --check load=again.s1p");
    let by_page = same_by_all_ways("plane-kit-part", &folder, &files, &facts, &line).await;
    assert_eq!(by_page["files"][2]["taken_as"], "mismatch at the plane");
    assert_eq!(by_page["files"][3]["taken_as"], "load at the plane");
}

#[tokio::test]
async fn a_long_line_and_the_age_of_the_calibration() {
    let folder = with_plane("bench-line");
    let files = [OPEN_LOAD[0], OPEN_LOAD[1], ("line.s1p", "ripple")];
    let facts = [LENGTH, ("calibration_age", "3h"), ("tape_error", "2cm")];
    let line = format!("{ASSAY} --calibration-age 3h --tape-error 2cm --ripple line.s1p");
    let by_page = same_by_all_ways("plane-line", &folder, &files, &facts, &line).await;
    let finding = &by_page["finding"];
    assert!(
        finding["calibration"][0]["directivity"].is_f64(),
        "{finding:#}"
    );
    assert!(codes(finding).contains(&"calibration-old"), "{finding:#}");
    // Of the interval only the tape's part grows: from 6 mm and 0.04 % to 2 cm, relative to the length.
    let ordinary = [facts[0], facts[1]];
    let bench = Bench::new("plane-tape");
    let ordinary = by_form(&bench, &folder, &files, &ordinary).await;
    let vf =
        |answer: &Value, key: &str| answer["finding"]["velocity_factor"][key].as_f64().unwrap();
    let grown = vf(&by_page, "u95").powi(2) - vf(&ordinary, "u95").powi(2);
    let tape_m2 = 0.02_f64.powi(2) - 0.006_f64.powi(2) - (0.0004 * 1.497_f64).powi(2);
    let wanted = tape_m2 * (vf(&by_page, "ratio") / 1.497).powi(2);
    assert!(
        (grown / wanted - 1.0).abs() < 1e-2,
        "{grown}, wanted {wanted}"
    );
}

/// The same sweep through the line of [`adapter_file`] first: Γ e^(−2jωT).
fn behind_delay(text: &str) -> String {
    let line = |line: &str| match line.split_whitespace().collect::<Vec<_>>()[..] {
        [freq_hz, re, im] if freq_hz.parse::<f64>().is_ok() => {
            let number = |text: &str| text.parse::<f64>().unwrap();
            let turn = -2.0 * TAU * number(freq_hz) * 100e-12;
            let g = Complex64::new(number(re), number(im)) * Complex64::new(0.0, turn).exp();
            format!("{freq_hz} {:.9} {:.9}\n", g.re, g.im)
        }
        _ => format!("{line}\n"),
    };
    text.lines().map(line).collect()
}

#[tokio::test]
async fn two_ports_are_de_embedded_in_their_order() {
    let folder = through_pad("bench-pad");
    std::fs::write(folder.join("delay.s2p"), adapter_file()).unwrap();
    for end in ["open", "load"] {
        let text = std::fs::read_to_string(folder.join(format!("{end}.s1p"))).unwrap();
        std::fs::write(folder.join(format!("{end}-both.s1p")), behind_delay(&text)).unwrap();
    }
    let (pad, delay) = (("pad.s2p", "de-embed"), ("delay.s2p", "de-embed"));
    let facts = [LENGTH, ("load_ohms", "50.00")];
    let found = async |name: &str, files: &[Said<'_>], options: &str| {
        let line = format!("assay --length 1.497m --json --load-ohms 50.00 {options}");
        let answer = same_by_all_ways(name, &folder, files, &facts, &line).await;
        let d = &answer["finding"]["delay"];
        // two-ports in the wrong order may leave nothing that a cable explains
        let [at_hz, delay_s, u95] =
            ["at_hz", "one_way_s", "u95_s"].map(|k| d[k].as_f64().unwrap_or(f64::NAN));
        let right = (delay_s - GOOD_75.delay_s(at_hz)).abs() < u95;
        (answer, right)
    };
    let [open, load] = OPEN_LOAD;
    let sweeps = "--open open.s1p --load load.s1p";
    let line = format!("{sweeps} --de-embed pad.s2p");
    let (one, right) = found("away", &[open, pad, load], &line).await;
    assert!(right, "{}", one["finding"]["delay"]);
    assert_eq!(one["files"][1]["said"], "de-embed");
    assert_eq!(one["files"][1]["points"], 5, "it is read like the others");
    let [open, load] = [("open-both.s1p", "open"), ("load-both.s1p", "load")];
    let sweeps = "--open open-both.s1p --load load-both.s1p";
    let line = format!("{sweeps} --de-embed delay.s2p --de-embed pad.s2p");
    let (there, right) = found("away-two", &[delay, pad, open, load], &line).await;
    assert!(right, "{}", there["finding"]["delay"]);
    let line = format!("{sweeps} --de-embed pad.s2p --de-embed delay.s2p");
    let (turned, right) = found("away-turned", &[pad, open, delay, load], &line).await;
    assert!(!right, "{}", turned["finding"]["delay"]);
}

#[tokio::test]
async fn a_shorter_piece_with_its_length() {
    let files = [("long.s2p", two_port(1.0)), ("short.s2p", two_port(0.5))];
    let folder = folder("bench-shorter", &files);
    let files = [("long.s2p", "through"), ("short.s2p", "shorter")];
    let facts = [LENGTH, ("shorter_length", "0,7485m")];
    let line = "assay --through long.s2p --length 1.497m --shorter short.s2p --shorter-length 0.7485m --json";
    let by_page = same_by_all_ways("plane-shorter", &folder, &files, &facts, line).await;
    let methods = by_page["finding"]["methods"].as_array().unwrap();
    let found = methods.iter().find(|m| m["name"] == "two lengths").unwrap();
    assert!(found["velocity_factor"].is_object(), "{found}");
}

#[tokio::test]
async fn what_eye_and_magnet_say_and_types_of_ones_own() {
    let folder = with_plane("bench-look");
    let own = "[[type]]\ndesignation = \"Oil store reel\"\nimpedance = \"75ohm\"\nvelocity_factor = 0.66\n";
    std::fs::write(folder.join("own.toml"), own).unwrap();
    let facts = [
        LENGTH,
        ("seen_dielectric", "solid-pe"),
        ("seen_inner", "stranded"),
        ("seen_magnet", "does-not"),
        ("own_types", own),
    ];
    let line = format!(
        "{ASSAY} --seen-dielectric solid-pe --seen-inner stranded --seen-magnet does-not --own own.toml"
    );
    let by_page = same_by_all_ways("plane-look", &folder, &OPEN_LOAD, &facts, &line).await;
    let finding = by_page["finding"].to_string();
    assert!(finding.contains("Oil store reel"), "{finding}");
    let plain = by_form(
        &Bench::new("plane-look-plain"),
        &folder,
        &OPEN_LOAD,
        &[LENGTH],
    )
    .await;
    assert_ne!(by_page["finding"]["types"], plain["finding"]["types"]);
}

#[tokio::test]
async fn what_is_wrong_is_said_at_its_field_and_kept() {
    let folder = with_plane("bench-wrong");
    let bench = Bench::new("plane-wrong");
    let files = [OPEN_LOAD[0], OPEN_LOAD[1], ("r75.s1p", "check-part")];
    let facts = [("part_2", "own.toml"), ("calibration_age", "3 weeks")];
    let answer = by_form(&bench, &folder, &files, &facts).await;
    assert_eq!(answer["stage"], "refused", "{answer:#}");
    let fields = answer["refused"]["fields"].as_array().unwrap();
    let fields: Vec<&str> = fields.iter().filter_map(|f| f["field"].as_str()).collect();
    assert_eq!(fields, ["calibration_age", "part_2"]);
    let id = answer["id"].as_str().unwrap();
    let page = bench.get(&format!("/assay/{id}")).await.text();
    for wanted in [
        "value=\"own.toml\"",
        "value=\"3 weeks\"",
        "`own.toml` is not a known part",
        "expected one of min, h, d",
        "value=\"check-part\" checked",
    ] {
        assert!(page.contains(wanted), "{wanted} in {page}");
    }
    let facts = json!({"far_ends": ["open", "load", "check-part"], "parts": ["", "", "75ohm"], "calibration_age": "40min"});
    let path = format!("/api/assays/{id}/facts");
    let mut put = request(Method::PUT, &path, Body::from(facts.to_string()));
    put.headers_mut()
        .insert(CONTENT_TYPE, "application/json".parse().unwrap());
    let answer = bench.send(put).await.has_status(200).json();
    assert_eq!(answer["stage"], "done", "{answer:#}");
}

/// Files that are not what they are said to be: with what, and which of them is named for it.
#[tokio::test]
async fn a_file_that_is_something_else_is_named() {
    let folder = with_plane("bench-else");
    let half = GOOD_75.shortened(0.5).touchstone("short");
    std::fs::write(folder.join("half.s1p"), half).unwrap();
    std::fs::write(folder.join("piece.s2p"), two_port(0.5)).unwrap();
    let cases = [
        ("open.s1p", "check-part", "is not the 75ohm at the plane"),
        ("half.s1p", "ripple", "a longer line"),
        ("r75.s1p", "de-embed", "all four S-parameters"),
        ("piece.s2p", "shorter", "no sweep through the cable"),
        ("r75.s1p", "shorter", "has one port"),
    ];
    for (name, said, wanted) in cases {
        let bench = Bench::new("plane-else");
        let files = [OPEN_LOAD[0], OPEN_LOAD[1], (name, said)];
        let facts = [LENGTH, ("part_2", "75ohm"), ("shorter_length", "0.75m")];
        let answer = by_form(&bench, &folder, &files, &facts).await;
        let error = answer["files"][2]["error"]["error"].as_str();
        let error = error.unwrap_or_else(|| panic!("{name}, {said}: {answer:#}"));
        assert!(error.contains(wanted), "{said}: {error}");
        let help = answer["files"][2]["error"]["help"].as_str();
        assert!(!help.unwrap_or_default().contains("--"), "{help:?}");
        // A cable behind a two-port that nobody knows is not measured; the others leave it alone.
        assert_eq!(answer["finding"].is_object(), said != "de-embed", "{said}");
    }
    let bench = Bench::new("plane-two");
    let files = [("piece.s2p", "shorter"), ("open.s1p", "open")];
    let answer = by_form(&bench, &folder, &files, &[]).await;
    let refused = &answer["refused"]["fields"][0];
    assert_eq!(refused["field"], "shorter_length", "{answer:#}");
}
