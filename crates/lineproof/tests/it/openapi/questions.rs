//! Questions by the API and by the verb that answers them too.

use serde_json::json;

use super::Checked;
use crate::bench::Bench;
use crate::support::{folder, run, run_in};

/// A question that a verb answers too.
struct Question {
    path: &'static str,
    verb: &'static str,
    /// Queries with an answer, which together show everything of it; flags are `yes`.
    good: &'static [&'static str],
    /// A query without.
    bad: &'static str,
}

const QUESTIONS: [Question; 6] = [
    Question {
        path: "/api/plan",
        verb: "plan",
        good: &[
            "length=12m",
            "length=20m..30m&frequency=430MHz&points=201",
            "length=1.5m&resolution=1mm&dielectric=ptfe",
        ],
        bad: "length=12",
    },
    Question {
        path: "/api/readings",
        verb: "readings",
        good: &[
            "quarter-wave-resistance=111ohm&load=50ohm&quarter-wave-at=61.5MHz&length=80cm&marked-impedance=50&marked-velocity-factor=0.66",
            "quarter-wave-at=61.5MHz&length=8m",
            "eighth-wave-reactance=-74.1ohm&eighth-wave-at=12.5MHz",
            "eighth-wave-short-impedance=75.2ohm",
            "eighth-wave-reactance=0ohm",
            "open-impedance=0.9-j75.3ohm&short-impedance=1.2%2Bj74.9ohm&pair-at=12MHz",
            "inductance=0.37uH&capacitance=67pF&meter-at=100kHz",
            "largest-resistance=111ohm&smallest-resistance=50ohm",
            "resonance=11.54MHz,13.89MHz,16.19MHz&resonance-far-end=short&length=170ft",
            "round-trip-delay=24.7ns&velocity-factor=0.66",
            "open-return-loss=1.2dB&short-return-loss=1.3dB&return-loss-at=100MHz",
            "swr-peak=9&swr-peak-at=16MHz&antenna-on=yes",
            "low-resistance=2.1ohm&low-resistance-at=61.5MHz",
        ],
        bad: "loss=x",
    },
    Question {
        path: "/api/use",
        verb: "use",
        good: &[
            "type=RG-213&frequency=145MHz&run=20m",
            "type=RG-213&frequency=145MHz&run=20m&power=400W&mode=ssb&swr=2&most-loss=2dB",
            "type=RG-59B/U&frequency=145MHz&run=28m&power=100W&load-impedance=30-j20ohm&system=50",
            "type=RG-174&frequency=435MHz&run=10m&power=100W",
        ],
        bad: "type=RG-213",
    },
    Question {
        path: "/api/cut",
        verb: "cut",
        good: &[
            "piece=transformer&type=RG-59B/U&frequency=14.1MHz&from=50ohm&to=100ohm&plug-delay=120ps",
            "piece=stub&type=RG-213&frequency=14.1MHz&end=open&notch=yes",
            "piece=stub&type=RG-213&frequency=14.1MHz&end=short&reactance=-86.6ohm",
            "piece=stub&type=RG-213&frequency=14.1MHz&end=short&match=60-j80ohm&system=50ohm",
            "piece=half-wave&type=RG-213&frequency=14.1MHz&count=2",
            "piece=phasing&type=RG-213&frequency=14.1MHz&angle=84deg",
            "piece=delay&type=RG-213&frequency=14.1MHz&delay=25ns",
            "piece=set&type=RG-213&frequency=14.1MHz&delays=50.2ns,51.0ns,50.6ns",
            "piece=fault&whole=20m&at=7.2m&span=30cm",
        ],
        bad: "piece=set",
    },
    Question {
        path: "/api/types",
        verb: "types",
        good: &[
            "",
            "ohms=50&with=foam&most-loss=20dB/100m@145MHz&most-diameter=11mm",
        ],
        bad: "ohms=x",
    },
    Question {
        path: "/api/identify",
        verb: "types",
        good: &[
            "seen-impedance=74.3",
            "seen-impedance=74.3&seen-diameter=6.1mm&seen-dielectric=solid-pe",
        ],
        bad: "",
    },
];

impl Question {
    /// A query as arguments of the verb.
    fn arguments(&self, query: &str) -> Vec<String> {
        let pairs = query.split('&').filter_map(|pair| pair.split_once('='));
        let arguments = pairs.map(|(name, value)| match (name, value) {
            ("piece", kind) => kind.to_owned(),
            (flag, "yes") => format!("--{flag}"),
            (name, value) => format!("--{name}={}", value.replace("%2B", "+")),
        });
        let verb = [self.verb.to_owned()].into_iter();
        verb.chain(arguments).chain(["--json".to_owned()]).collect()
    }
}

/// The cable `a` is on the shelf.
pub(super) async fn questions(bench: &Bench, api: &mut Checked) {
    for question in &QUESTIONS {
        let path = question.path;
        for query in question.good {
            let answer = bench.get(&format!("{path}?{query}")).await;
            let answer = api.check("get", path, &answer.has_status(200));
            let arguments = question.arguments(query);
            let printed = run(&arguments.iter().map(String::as_str).collect::<Vec<_>>()).json();
            let keys_too = (answer.to_string(), printed.to_string());
            assert_eq!(keys_too.0, keys_too.1, "{path} {query}");
        }
        let answer = bench.get(&format!("{path}?{}", question.bad)).await;
        api.check("get", path, &answer.has_status(422));
    }
    let of_the_shelf = [
        ("/api/use", "frequency=145MHz"),
        (
            "/api/use",
            "frequency=145MHz&power=10W&rated-as=RG-59B/U&run=20m",
        ),
        (
            "/api/cut",
            "piece=transformer&frequency=14.1MHz&from=50ohm&to=100ohm",
        ),
        (
            "/api/cut",
            "piece=set&frequency=14.1MHz&delays=50.2ns,51.0ns",
        ),
    ];
    for (path, query) in of_the_shelf {
        for (tag, status) in [("a", 200), ("none", 404)] {
            let answer = bench.get(&format!("{path}?tag={tag}&{query}")).await;
            api.check("get", path, &answer.has_status(status));
        }
    }
    for (name, status) in [("RG-213", 200), ("none", 404)] {
        let answer = bench.get(&format!("/api/types/{name}")).await;
        api.check("get", "/api/types/{name}", &answer.has_status(status));
    }
    faults_of_a_finding(api);
    let unseen = QUESTIONS
        .iter()
        .flat_map(|question| api.unseen(question.path));
    let never = [
        // Only methods that sweeps serve say it.
        "/api/readings/methods/*/would_do",
        // A part that somebody fitted is no fault to cut out.
        "/api/cut|1/faults/*/kind = \"connector\"",
        "/api/cut|1/faults/*/kind = \"stub\"",
        // Without a sure cause it has no sure extent and stays.
        "/api/cut|1/faults/*/kind = \"unknown\"",
    ];
    assert_eq!(unseen.collect::<Vec<_>>(), never);
}

/// The route takes faults placed by hand; the verb finds them in a finding, and answers in the same form.
fn faults_of_a_finding(api: &mut Checked) {
    let event = |kind: &str, at_m: f64| json!({"kind": kind, "at_m": at_m, "u95_m": 0.05, "length_m": 0.04, "one_way_s": 5e-9 * at_m});
    let finding = json!({
        "condition": "faulty",
        "delay": {"one_way_s": 50.2e-9, "u95_s": 1e-11, "at_hz": 3e8, "between_plugs_s": 50e-9, "u95_between_plugs_s": 1e-10},
        "length": {"m": 10.0, "u95_m": 0.02, "basis": "tape"},
        "loss": [{"at_hz": 1e8, "db": 1.0, "u95_db": 0.02}],
        "events": [
            event("joint", 0.0), event("dent", 1.0), event("wet", 2.5), event("joint", 4.0), event("shunt", 4.8), event("splice", 5.5),
            event("open", 7.0), event("short", 8.5), event("joint", 10.0),
        ],
    });
    let folder = folder("openapi-faults", &[("reel.json", finding.to_string())]);
    let printed = run_in(
        &folder,
        &["cut", "fault", "--json", "--finding", "reel.json"],
    );
    api.check_printed("/api/cut", printed.has_code(0).json());
}
