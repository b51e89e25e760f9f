//! One finding with every key filled, walked key by key: each surface shows each key in the same words, or a
//! reason stands here why it does not.

use lineproof::questions::assay::page::page_of_finding;
use lineproof::report::subject::Subject;
use lineproof::report::{finding, html, numbers_csv, pdf};
use lineproof::stored;
use lineproof_core::finding::{
    Action, Advice, CalibrationFound, Condition, Criterion, CriterionFound, DelayFound, Difference,
    ElectricalLengthRow, End, EventFound, EventKind, EventRow, ExplanationFound, Finding,
    GeometryFound, Help, ImpedanceFound, ImpedanceRow, InputRow, InsertionLossRow, LawRow,
    LeastDentFound, LengthBasis, LengthFound, LimitedBy, LossPartsFound, LossRow, MarkingFound,
    Measurement, MethodFound, MethodLoss, OhmFound, ProfileFound, ProfilePointFound, Quantity,
    RatioFound, SCHEMA, SweepUsed, SystemFound, SystemRow, TypeFound, VerdictFound, Warning,
    WarningCode,
};
use lineproof_core::quantity::Units;
use serde_json::Value;

/// How a surface shows a key.
enum Shown {
    /// With this in it.
    As(&'static str),
    /// Not at all, for this reason.
    Not(&'static str),
}
use Shown::{As, Not};

const SENTENCE: &str = "words are for people; the numbers in them have rows of their own";
const PROGRAMS: &str = "for programs: the sentence beside it says it";
const EVIDENCE: &str = "evidence for programs; what people need of it is in `events[].or`";
const LAW: &str = "the law for later questions; what people need of it has rows of its own";
const DRAWN: &str = "drawn in the picture of the profile";
const HELPS: &str = "the most useful of them is advice, in the same words";
const DIGITS: &str = "it decides the digits of the value beside it";
const IN_TEXT: &str = "the sentence beside it holds it";

/// Every key: on text, HTML, PDF and page; and in the table of numbers.
const KEYS: &[(&str, Shown, Shown)] = &[
    (
        "schema",
        Not("number of the layout"),
        Not("number of the layout"),
    ),
    ("program_version", As("9.8.7"), Not(SENTENCE)),
    ("sweeps[].file", As("drum-7.s1p"), Not(SENTENCE)),
    ("sweeps[].far_end", As("open at the plane"), Not(SENTENCE)),
    ("sweeps[].guessed", As("load, judged"), Not(SENTENCE)),
    ("sweeps[].points", As("417"), Not(SENTENCE)),
    ("sweeps[].start_hz", As("57 kHz"), Not(SENTENCE)),
    ("sweeps[].stop_hz", As("317 MHz"), Not(SENTENCE)),
    ("sweeps[].off_rms", As("off by 0.0193"), Not(SENTENCE)),
    ("condition", As("aulty"), Not(SENTENCE)),
    (
        "condition_reasons[]",
        As("a door has closed on it"),
        Not(SENTENCE),
    ),
    ("events[].kind", As("dent at"), As("dent at")),
    ("events[].at_m", As("1.613"), As("1.6132")),
    ("events[].u95_m", As("0.027"), As("0.0271")),
    ("events[].length_m", As("over 0.043 m"), As("0.0434")),
    ("events[].impedance_ohm", As("41.7"), As("41.73")),
    ("events[].u95_impedance_ohm", As("1.9"), As("1.93")),
    ("events[].series_ohm", As("2.37"), As("2.371")),
    ("events[].u95_series_ohm", As("0.16"), As("0.163")),
    ("events[].beside_ohm", As("beside 49.3 ohm"), As("49.34")),
    ("events[].shunt_ohm", As("87.1"), As("87.12")),
    ("events[].u95_shunt_ohm", As("3.4"), As("3.41")),
    ("events[].shunt_f", As("2.31"), As("0.00000000000231")),
    ("events[].u95_shunt_f", As("0.12"), As("0.00000000000012")),
    ("events[].own_delay_s", As("221.3"), As("0.0000000002213")),
    ("events[].u95_own_delay_s", As("6.7"), As("0.0000000000067")),
    (
        "events[].by_itself[].at_hz",
        As("at 111 MHz"),
        As("111000000"),
    ),
    (
        "events[].by_itself[].return_loss_db",
        As("19.3 dB"),
        As("19.27"),
    ),
    ("events[].by_itself[].loss_db", As("0.0517"), As("0.0517")),
    (
        "events[].by_itself[].u95_loss_db",
        As("0.0079"),
        As("0.0079"),
    ),
    (
        "events[].one_way_s",
        Not("the place says it"),
        As("0.0000000081"),
    ),
    (
        "events[].from_far_m",
        As("2.59 m from the far end"),
        As("2.587"),
    ),
    (
        "events[].share",
        Not("the places from both ends say it"),
        As("0.3841"),
    ),
    (
        "events[].reaches",
        As("to the far end"),
        As("to the far end"),
    ),
    (
        "events[].cause",
        As("the shield is pressed inwards"),
        Not(SENTENCE),
    ),
    ("events[].or[]", As("or splice"), As("or splice")),
    (
        "events[].by_tape_alone",
        As("by the tape alone"),
        As("by the tape alone"),
    ),
    ("explanations[].kind", Not(EVIDENCE), Not(EVIDENCE)),
    ("explanations[].ln_evidence", Not(EVIDENCE), Not(EVIDENCE)),
    ("calibration[].file", As("line-9.s1p"), As("line-9.s1p")),
    ("calibration[].directivity", Not(IN_TEXT), As("0.0123")),
    ("calibration[].source_match", Not(IN_TEXT), As("0.0234")),
    (
        "calibration[].half_peak_to_peak",
        Not(IN_TEXT),
        Not(IN_TEXT),
    ),
    ("calibration[].turns", Not(IN_TEXT), Not(IN_TEXT)),
    (
        "calibration[].text",
        As("left a directivity of 0.012"),
        Not(SENTENCE),
    ),
    ("impedance.ohm", As("74.31"), As("74.3142")),
    ("impedance.u95_ohm", As("0.21"), As("0.2134")),
    ("impedance.at_hz", As("at 101 MHz"), As("101000000")),
    (
        "impedance.limited_by",
        As("limited by plugs"),
        As("limited by plugs"),
    ),
    ("impedances[].at_hz", As("at 433 MHz"), As("433000000")),
    ("impedances[].ohm", As("73.84"), As("73.8411")),
    ("impedances[].u95_ohm", As("0.35"), As("0.3512")),
    (
        "impedances[].extrapolated",
        As("at 433 MHz (beyond the sweeps)"),
        As("433000000,,73.8411,0.3512,ohm,beyond the sweeps"),
    ),
    ("impedance_limit.ohm", As("73.52"), As("73.5207")),
    ("impedance_limit.u95_ohm", As("0.41"), As("0.4109")),
    ("delay.one_way_s", As("12.3352"), As("0.0000000123352")),
    ("delay.u95_s", As("0.0020"), As("0.000000000002")),
    ("delay.at_hz", As("one way, at 307 MHz"), As("307000000")),
    ("delay.between_plugs_s", As("12.141"), As("0.0000000121406")),
    (
        "delay.u95_between_plugs_s",
        As("0.053"),
        As("0.0000000000531"),
    ),
    ("velocity_factor.ratio", As("0.6574"), As("0.65739")),
    ("velocity_factor.u95", As("0.0027"), As("0.0027")),
    ("length.m", As("2.407"), As("2.4073")),
    ("length.u95_m", As("0.061"), As("0.0613")),
    (
        "length.basis",
        As("from the claimed velocity factor"),
        As("from the claimed velocity factor"),
    ),
    ("loss[].at_hz", As("at 1.2 GHz"), As("1200000000")),
    ("loss[].db", As("0.997"), As("0.9973")),
    ("loss[].u95_db", As("0.018"), As("0.0183")),
    ("loss[].db_per_100m", As("41.4 dB/100m"), As("41.428")),
    ("loss[].u95_db_per_100m", Not(DIGITS), As("1.291")),
    ("loss[].db_at_20c", As("0.983 dB at 20 °C"), As("0.9832")),
    ("loss[].u95_db_at_20c", Not(DIGITS), As("0.0192")),
    (
        "loss[].extrapolated",
        As("at 1.2 GHz (beyond the sweeps)"),
        As("1200000000,,0.9973,0.0183,dB,beyond the sweeps"),
    ),
    ("insertion_loss[].at_hz", As("at 107 MHz"), As("107000000")),
    ("insertion_loss[].db", As("1.3571"), As("1.35711")),
    ("insertion_loss[].u95_db", As("0.0087"), As("0.00873")),
    (
        "insertion_loss[].between_ohm",
        As("between 52 ohm"),
        As("between 52 ohm"),
    ),
    ("input[].at_hz", As("at 109 MHz"), As("109000000")),
    ("input[].resistance_ohm", As("63.2 −"), As("63.23")),
    ("input[].reactance_ohm", As("j17.4"), As("-17.42")),
    (
        "input[].between_ohm",
        As("between 53 ohm"),
        As("between 53 ohm"),
    ),
    (
        "input[].return_loss_db",
        As("return loss ≥ 13.1 dB"),
        As("13.13"),
    ),
    ("input[].vswr", As("VSWR ≤ 1.57"), As("1.574")),
    (
        "electrical_length[].at_hz",
        As("at 111 MHz"),
        As("111000000"),
    ),
    ("electrical_length[].deg", As("493.17"), As("493.1731")),
    ("electrical_length[].u95_deg", As("0.31"), As("0.3117")),
    (
        "electrical_length[].extrapolated",
        As("111 MHz (beyond the sweeps)"),
        As("111000000,,493.1731,0.3117,°,beyond the sweeps"),
    ),
    ("loss_parts.at_hz", As("at 102 MHz"), As("102000000")),
    ("loss_parts.conductor_db", As("0.2213"), As("0.22131")),
    ("loss_parts.u95_conductor_db", As("0.0075"), As("0.00752")),
    ("loss_parts.dielectric_db", As("0.0317"), As("0.03174")),
    ("loss_parts.u95_dielectric_db", As("0.0063"), As("0.00631")),
    (
        "loss_parts.reason",
        As("a longer piece would show it"),
        Not(SENTENCE),
    ),
    ("law[].at_hz", Not(LAW), Not(LAW)),
    ("law[].ohm", Not(LAW), Not(LAW)),
    ("law[].u95_ohm", Not(LAW), Not(LAW)),
    ("law[].one_way_s", Not(LAW), Not(LAW)),
    ("law[].u95_s", Not(LAW), Not(LAW)),
    ("law[].db", Not(LAW), Not(LAW)),
    ("law[].u95_db", Not(LAW), Not(LAW)),
    ("law[].dielectric_part", Not(LAW), Not(LAW)),
    ("temperature_c", As("23.7"), As("23.7")),
    (
        "profile.resolution_m",
        As("closer than 6.7 cm"),
        As("0.067"),
    ),
    ("profile.points[].at_m", Not(DRAWN), As("0.0311")),
    (
        "profile.points[].one_way_s",
        Not(DRAWN),
        Not("the place says it"),
    ),
    ("profile.points[].ohm", Not(DRAWN), As("74.9013")),
    ("profile.points[].u95_ohm", Not(DRAWN), As("0.6171")),
    (
        "profile.least_dent_length_m",
        As("a dent of 5 cm"),
        As("of 0.053 m"),
    ),
    (
        "profile.least_dents[].at_m",
        As("near the analyser"),
        As("0.0417"),
    ),
    ("profile.least_dents[].relative", As("3.9 %"), As("0.0391")),
    (
        "geometry.impedance_over_velocity_ohm",
        Not(IN_TEXT),
        As("113.41"),
    ),
    ("geometry.u95_ohm", Not(IN_TEXT), As("2.71")),
    ("geometry.by_sweeps_ohm", Not(IN_TEXT), As("112.97")),
    ("geometry.u95_by_sweeps_ohm", Not(IN_TEXT), As("0.83")),
    ("geometry.agrees", Not(IN_TEXT), Not(IN_TEXT)),
    (
        "geometry.text",
        As("the diameters make Z0/VF 113.4"),
        As("the diameters make Z0/VF 113.4"),
    ),
    ("methods[].name", As("quarter wave"), As("quarter wave")),
    ("methods[].ohm", As("75.24"), As("75.237")),
    ("methods[].u95_ohm", As("0.82"), As("0.823")),
    ("methods[].at_hz", As("at 32.81 MHz"), As("32810000")),
    ("methods[].one_way_s", As("11.87"), As("0.00000001187")),
    ("methods[].u95_s", As("0.14"), As("0.00000000014")),
    ("methods[].delay_at_hz", As("at 65.37 MHz"), As("65370000")),
    (
        "methods[].velocity_factor.ratio",
        As("0.6613"),
        As("0.6613"),
    ),
    ("methods[].velocity_factor.u95", As("0.0091"), As("0.0091")),
    ("methods[].length_m", As("2.4391"), As("2.4391")),
    ("methods[].u95_m", As("0.0094"), As("0.0094")),
    ("methods[].loss[].at_hz", As("at 54.73 MHz"), As("54730000")),
    ("methods[].loss[].db", As("0.1853"), As("0.1853")),
    ("methods[].loss[].u95_db", As("0.0038"), As("0.0038")),
    (
        "methods[].working",
        Not("the steps are its parts"),
        Not(SENTENCE),
    ),
    (
        "methods[].steps[]",
        As("sqrt(113.0 ohm × 50.02 ohm)"),
        Not(SENTENCE),
    ),
    (
        "methods[].remarks[]",
        As("the load is taken as ideal"),
        Not(SENTENCE),
    ),
    ("methods[].reason", As("no shorted sweep"), Not(SENTENCE)),
    (
        "methods[].would_do",
        As("a sweep with the far end shorted"),
        Not(SENTENCE),
    ),
    (
        "system.ohm",
        As("between 93 ohm at both ends"),
        As("between 93 ohm at both ends"),
    ),
    ("system.rows[].at_hz", As("156 MHz"), As("156000000")),
    ("system.rows[].highest_swr", As("1.47"), As("1.4731")),
    (
        "system.rows[].least_return_loss_db",
        As("14.3 dB"),
        As("14.29"),
    ),
    (
        "system.rows[].swr_at_worst_length",
        As("2.26"),
        As("2.2613"),
    ),
    (
        "system.rows[].return_loss_db_at_worst_length",
        As("8.2 dB"),
        As("8.247"),
    ),
    (
        "system.rows[].most_extra_loss_db",
        As("0.67 dB"),
        As("0.6713"),
    ),
    ("marking.designation", As("ZX-75"), Not(SENTENCE)),
    ("marking.agrees", As("not agree"), Not(SENTENCE)),
    (
        "marking.differences[].quantity",
        Not(IN_TEXT),
        Not(SENTENCE),
    ),
    ("marking.differences[].marked", Not(IN_TEXT), Not(SENTENCE)),
    ("marking.differences[].found", Not(IN_TEXT), Not(SENTENCE)),
    ("marking.differences[].u95", Not(IN_TEXT), Not(SENTENCE)),
    ("marking.differences[].unit", Not(IN_TEXT), Not(SENTENCE)),
    (
        "marking.differences[].text",
        As("+49 % from the claimed 50 ohm"),
        Not(SENTENCE),
    ),
    (
        "marking.remarks[]",
        As("velocity factor was not compared"),
        Not(SENTENCE),
    ),
    (
        "marking.explanation[]",
        As("the diameters are not as marked"),
        Not(SENTENCE),
    ),
    ("verdict.action", As("epair"), Not(SENTENCE)),
    (
        "verdict.reasons[]",
        As("cut out 1.54 to 1.68 m"),
        Not(SENTENCE),
    ),
    ("verdict.criteria[].name", Not(PROGRAMS), Not(SENTENCE)),
    (
        "verdict.criteria[].text",
        As("impedance 74.3 ohm against 93"),
        Not(SENTENCE),
    ),
    ("verdict.criteria[].passed", As("FAIL"), Not(SENTENCE)),
    (
        "verdict.criteria[].set",
        As("limit from your criteria file"),
        Not(SENTENCE),
    ),
    (
        "verdict.criteria[].source",
        As("default: our own proposal"),
        Not(SENTENCE),
    ),
    ("types[].designation", As("ZX-75/U"), As("ZX-75/U")),
    ("types[].probability", As("83 %"), As("0.8317")),
    (
        "types[].same_as[]",
        As("the same electrically: ZX-76"),
        Not(SENTENCE),
    ),
    ("warnings[].code", Not(PROGRAMS), Not(SENTENCE)),
    (
        "warnings[].text",
        As("the load was not measured"),
        Not(SENTENCE),
    ),
    ("helps[].quantity", Not(HELPS), Not(SENTENCE)),
    ("helps[].measure", Not(HELPS), Not(SENTENCE)),
    ("helps[].u95_now", Not(HELPS), Not(SENTENCE)),
    ("helps[].u95_then", Not(HELPS), Not(SENTENCE)),
    ("helps[].text", Not(HELPS), Not(SENTENCE)),
    ("advice[]", As("flex the cable at 1.61 m"), Not(SENTENCE)),
    ("cautions[]", As("short the plug first"), Not(SENTENCE)),
];

/// Keys that one surface alone leaves out.
const EXCEPT: &[(&str, &str, &str)] = &[
    (
        "program_version",
        "text",
        "the program that prints is the one that found",
    ),
    (
        "program_version",
        "page",
        "the program that shows is the one that found",
    ),
    ("sweeps[].", "page", "the files stand in the form beside it"),
];

/// Invented; no two numbers are alike, so that none can stand for another.
fn full() -> Finding {
    Finding {
        schema: SCHEMA,
        program_version: "9.8.7".to_owned(),
        sweeps: vec![
            sweep("drum-7.s1p", "load", true, None),
            sweep("check.s1p", "open at the plane", false, Some(0.0193)),
        ],
        condition: Condition::Faulty,
        condition_reasons: vec!["a door has closed on it".to_owned()],
        events: vec![event()],
        explanations: vec![ExplanationFound {
            kind: Some(EventKind::Wet),
            ln_evidence: -1.7,
        }],
        calibration: vec![calibration()],
        insertion_loss: vec![InsertionLossRow {
            at_hz: 107e6,
            db: 1.35711,
            u95_db: 0.00873,
            between_ohm: 52.0,
        }],
        input: vec![InputRow {
            at_hz: 109e6,
            resistance_ohm: 63.23,
            reactance_ohm: -17.42,
            between_ohm: Some(53.0),
            return_loss_db: 13.13,
            vswr: Some(1.574),
        }],
        electrical_length: vec![ElectricalLengthRow {
            at_hz: 111e6,
            deg: 493.1731,
            u95_deg: 0.3117,
            extrapolated: true,
        }],
        profile: Some(profile()),
        geometry: Some(GeometryFound {
            impedance_over_velocity_ohm: 113.41,
            u95_ohm: 2.71,
            by_sweeps_ohm: Some(112.97),
            u95_by_sweeps_ohm: Some(0.83),
            agrees: Some(true),
            text: "the diameters make Z0/VF 113.4 ± 2.7 ohm".to_owned(),
        }),
        methods: methods(),
        system: Some(SystemFound {
            ohm: 93.0,
            rows: vec![SystemRow {
                at_hz: 156e6,
                highest_swr: 1.4731,
                least_return_loss_db: 14.29,
                swr_at_worst_length: 2.2613,
                return_loss_db_at_worst_length: 8.247,
                most_extra_loss_db: 0.6713,
            }],
        }),
        marking: Some(marking()),
        verdict: Some(verdict()),
        types: vec![TypeFound {
            designation: "ZX-75/U".to_owned(),
            probability: 0.8317,
            same_as: vec!["ZX-76".to_owned()],
        }],
        warnings: vec![Warning::new(
            WarningCode::LoadNotMeasured,
            "the load was not measured",
        )],
        helps: vec![Help {
            quantity: Quantity::Loss,
            measure: Measurement::LongerPiece,
            u95_now: 0.01,
            u95_then: 0.004,
            text: "the same sweeps of a piece twice as long".to_owned(),
        }],
        advice: vec![Advice::from("flex the cable at 1.61 m".to_owned())],
        cautions: vec!["short the plug first".to_owned()],
        ..line()
    }
}

/// The numbers of the line.
fn line() -> Finding {
    Finding {
        impedance: Some(ImpedanceFound {
            ohm: 74.3142,
            u95_ohm: 0.2134,
            at_hz: 101e6,
            limited_by: LimitedBy::Plugs,
        }),
        impedances: vec![ImpedanceRow {
            at_hz: 433e6,
            ohm: 73.8411,
            u95_ohm: 0.3512,
            extrapolated: true,
        }],
        impedance_limit: Some(OhmFound {
            ohm: 73.5207,
            u95_ohm: 0.4109,
        }),
        delay: Some(DelayFound {
            one_way_s: 12.3352e-9,
            u95_s: 2.0e-12,
            at_hz: 307e6,
            between_plugs_s: Some(12.1406e-9),
            u95_between_plugs_s: Some(0.0531e-9),
        }),
        velocity_factor: Some(RatioFound {
            ratio: 0.65739,
            u95: 0.0027,
        }),
        length: Some(LengthFound {
            m: 2.4073,
            u95_m: 0.0613,
            basis: LengthBasis::MarkedVelocityFactor,
        }),
        loss: vec![LossRow {
            at_hz: 1.2e9,
            db: 0.9973,
            u95_db: 0.0183,
            db_per_100m: Some(41.428),
            u95_db_per_100m: Some(1.291),
            db_at_20c: Some(0.9832),
            u95_db_at_20c: Some(0.0192),
            extrapolated: true,
        }],
        loss_parts: Some(LossPartsFound {
            at_hz: 102e6,
            conductor_db: Some(0.22131),
            u95_conductor_db: Some(0.00752),
            dielectric_db: Some(0.03174),
            u95_dielectric_db: Some(0.00631),
            reason: Some("a longer piece would show it".to_owned()),
        }),
        law: vec![LawRow {
            at_hz: 103e6,
            ohm: 74.2,
            u95_ohm: 0.1,
            one_way_s: 12.2e-9,
            u95_s: 1e-12,
            db: 0.3,
            u95_db: 0.01,
            dielectric_part: 0.1,
        }],
        temperature_c: Some(23.7),
        ..Finding::default()
    }
}

fn sweep(file: &str, far_end: &str, guessed: bool, off_rms: Option<f64>) -> SweepUsed {
    SweepUsed {
        file: file.to_owned(),
        far_end: far_end.to_owned(),
        guessed,
        points: 417,
        start_hz: 57e3,
        stop_hz: 317e6,
        off_rms,
    }
}

fn event() -> EventFound {
    EventFound {
        kind: EventKind::Dent,
        at_m: Some(1.6132),
        u95_m: Some(0.0271),
        length_m: Some(0.0434),
        impedance_ohm: Some(41.73),
        u95_impedance_ohm: Some(1.93),
        series_ohm: Some(2.371),
        u95_series_ohm: Some(0.163),
        beside_ohm: Some(49.34),
        shunt_ohm: Some(87.12),
        u95_shunt_ohm: Some(3.41),
        shunt_f: Some(2.31e-12),
        u95_shunt_f: Some(0.12e-12),
        own_delay_s: Some(221.3e-12),
        u95_own_delay_s: Some(6.7e-12),
        by_itself: vec![EventRow {
            at_hz: 111e6,
            return_loss_db: 19.27,
            loss_db: 0.0517,
            u95_loss_db: 0.0079,
        }],
        one_way_s: 8.1e-9,
        from_far_m: Some(2.587),
        share: Some(0.3841),
        reaches: Some(End::Far),
        cause: Some("geometry: the shield is pressed inwards".to_owned()),
        or: vec![EventKind::Splice],
        by_tape_alone: true,
    }
}

fn calibration() -> CalibrationFound {
    CalibrationFound {
        file: "line-9.s1p".to_owned(),
        directivity: 0.0123,
        source_match: Some(0.0234),
        half_peak_to_peak: 0.031,
        turns: 7.3,
        text: "`line-9.s1p`: the calibration left a directivity of 0.012".to_owned(),
    }
}

fn profile() -> ProfileFound {
    let point = |at_m: f64, ohm: f64| ProfilePointFound {
        at_m,
        one_way_s: 5e-9 * at_m,
        ohm,
        u95_ohm: 0.6171,
    };
    let least = |at_m: f64, relative: f64| LeastDentFound { at_m, relative };
    ProfileFound {
        resolution_m: 0.067,
        points: vec![point(0.0311, 74.9013), point(2.3, 74.8)],
        least_dent_length_m: 0.053,
        least_dents: vec![least(0.0417, 0.0391), least(2.31, 0.0522)],
    }
}

fn methods() -> Vec<MethodFound> {
    vec![
        MethodFound {
            name: "quarter wave".to_owned(),
            ohm: Some(75.237),
            u95_ohm: Some(0.823),
            at_hz: Some(32.81e6),
            one_way_s: Some(11.87e-9),
            u95_s: Some(0.14e-9),
            delay_at_hz: Some(65.37e6),
            velocity_factor: Some(RatioFound {
                ratio: 0.6613,
                u95: 0.0091,
            }),
            length_m: Some(2.4391),
            u95_m: Some(0.0094),
            loss: vec![MethodLoss {
                at_hz: Some(54.73e6),
                db: 0.1853,
                u95_db: 0.0038,
            }],
            working: Some("sqrt(113.0 ohm × 50.02 ohm) = 75.18 ohm".to_owned()),
            steps: vec!["sqrt(113.0 ohm × 50.02 ohm) = 75.18 ohm".to_owned()],
            remarks: vec!["the load is taken as ideal".to_owned()],
            reason: None,
            would_do: None,
        },
        MethodFound {
            name: "open/short pair".to_owned(),
            reason: Some("no shorted sweep".to_owned()),
            would_do: Some("a sweep with the far end shorted".to_owned()),
            ..MethodFound::default()
        },
    ]
}

fn marking() -> MarkingFound {
    MarkingFound {
        designation: Some("ZX-75".to_owned()),
        agrees: Some(false),
        differences: vec![Difference {
            quantity: Quantity::Impedance,
            marked: 50.0,
            found: 74.3142,
            u95: 0.2134,
            unit: "ohm".to_owned(),
            text: "impedance is 74.31 ± 0.21 ohm, +49 % from the claimed 50 ohm".to_owned(),
        }],
        remarks: vec!["velocity factor was not compared".to_owned()],
        explanation: vec!["the diameters are not as marked".to_owned()],
    }
}

fn verdict() -> VerdictFound {
    let criterion = |name: Criterion, text: &str, passed: bool, set: bool| CriterionFound {
        name,
        text: text.to_owned(),
        passed,
        set,
        source: "our own proposal".to_owned(),
    };
    VerdictFound {
        action: Action::Repair,
        reasons: vec!["cut out 1.54 to 1.68 m from the near end".to_owned()],
        criteria: vec![
            criterion(
                Criterion::ImpedanceTolerance,
                "impedance 74.3 ohm against 93",
                false,
                true,
            ),
            criterion(Criterion::LossExcess, "loss within 20 %", true, false),
        ],
    }
}

/// The finding on every surface, white space made even.
fn surfaces(units: Units) -> [(&'static str, String); 5] {
    let found = full();
    let subject = Subject {
        name: "of drum-7.s1p".to_owned(),
        description: String::new(),
        day: String::new(),
        setup: Vec::new(),
        finding: full(),
        sweeps: Vec::new(),
    };
    let subjects = [subject];
    let even = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    [
        ("text", even(finding::text(&found, units))),
        ("HTML", even(html::page(&subjects, units))),
        (
            "PDF",
            even(format!("{:?}", pdf::document(&subjects, units))),
        ),
        ("page", even(page_of_finding(&found, units))),
        ("CSV", numbers_csv::csv(&found)),
    ]
}

/// Paths of all values, of lists by `[]`.
fn paths(value: &Value, path: &str, all: &mut Vec<String>) {
    match value {
        Value::Object(parts) => {
            for (key, part) in parts {
                let dot = if path.is_empty() { "" } else { "." };
                paths(part, &format!("{path}{dot}{key}"), all);
            }
        }
        Value::Array(parts) => {
            for part in parts {
                paths(part, &format!("{path}[]"), all);
            }
        }
        _ if !all.iter().any(|known| known == path) => all.push(path.to_owned()),
        _ => {}
    }
}

fn all_paths() -> Vec<String> {
    let mut all = Vec::new();
    let value = serde_json::to_value(full()).unwrap();
    paths(&value, "", &mut all);
    all
}

#[test]
fn every_key_is_shown_on_every_surface() {
    let surfaces = surfaces(Units::Metres);
    let mut faults = Vec::new();
    for path in all_paths() {
        let Some((_, people, csv)) = KEYS.iter().find(|(known, ..)| *known == path) else {
            faults.push(format!(
                "`{path}` is in no row of the table: how is it shown?"
            ));
            continue;
        };
        for (surface, said) in &surfaces {
            let shown = if *surface == "CSV" { csv } else { people };
            let left = |(key, on, _): &&(&str, &str, &str)| {
                (path == *key || (key.ends_with('.') && path.starts_with(key))) && on == surface
            };
            match shown {
                As(_) if EXCEPT.iter().any(|e| left(&e)) => {}
                As(words) if said.contains(words) => {}
                As(words) => faults.push(format!("{surface} drops `{path}`: no `{words}`")),
                Not(reason) => assert!(!reason.is_empty(), "{path}"),
            }
        }
    }
    assert!(faults.is_empty(), "{faults:#?}\n{surfaces:#?}");
}

#[test]
fn no_row_of_the_table_is_left_over() {
    let all = all_paths();
    let over = KEYS.iter().map(|(path, ..)| *path);
    let over: Vec<&str> = over.filter(|p| !all.iter().any(|a| a == p)).collect();
    assert!(over.is_empty(), "{over:?}");
}

#[test]
fn every_key_is_read_back() {
    let json = serde_json::to_string(&full()).unwrap();
    assert_eq!(stored::finding(&json), full());
}

#[test]
fn in_feet_no_metre_is_left() {
    for (surface, said) in surfaces(Units::Feet) {
        // the table is for programs
        if surface == "CSV" {
            continue;
        }
        let said = said.replace("dB/100m", "");
        let words: Vec<&str> = said.split([' ', '<', '>', '"', ';', ',']).collect();
        let pairs = words.windows(2);
        let metric = pairs.filter(|w| matches!(w[1], "m" | "cm" | "mm") && !w[0].is_empty());
        let metric: Vec<_> = metric.collect();
        assert!(metric.is_empty(), "{surface}: {metric:?}");
    }
}
