//! Every surface tells one cable's story alike: text, full text, page, API, `sort`, report, shelf and label have
//! the same condition, the same verdict and the same first sentence. Cables and analyser are the simulator's.

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::Sweep;
use lineproof_simulator::touchstone::{Notation, one_port};
use lineproof_simulator::{Body, Cable, Water};
use serde_json::Value;

use crate::bench::Bench;
use crate::bench_assay::{form, send_form};
use crate::field::{line, swept};
use crate::support::{folder, run_in};

/// What somebody brings to the bench, and what must be said of it.
struct Story {
    name: &'static str,
    sweeps: [Sweep; 2],
    /// What every surface takes: name as the form has it, and text.
    facts: &'static [(&'static str, &'static str)],
    condition: &'static str,
    action: &'static str,
    /// How the first sentence begins.
    says: &'static str,
}

/// Open and loaded sweep of a cable.
fn of(body: Body, seed: u64) -> [Sweep; 2] {
    swept(&line(body), seed).try_into().unwrap()
}

fn stories() -> Vec<Story> {
    let cable = Cable::solid_pe_50();
    let water = Water {
        eps_r_factor: 1.3,
        added_tan_delta: 0.03,
        corrosion_factor: 1.5,
    };
    let [open, _] = of(Body::sound(cable, 4.0), 15);
    let [_, other] = of(Body::sound(Cable::foam_pe_75(), 7.0), 16);
    let two_opens = line(Body::sound(cable, 6.0)).ended_by(&[FarEnd::Open, FarEnd::Open]);
    vec![
        Story {
            name: "jumper",
            sweeps: of(Body::sound(cable, 2.0), 51),
            facts: &[("length", "2.000m"), ("marked_impedance", "50")],
            condition: "sound",
            action: "keep",
            says: "Keep it: sound, as far as these sweeps show.",
        },
        Story {
            name: "dented",
            sweeps: of(Body::dented(cable, 8.0, 3.0, 0.05, 0.6), 52),
            facts: &[("length", "8.000m"), ("marked_impedance", "50")],
            condition: "faulty",
            action: "repair",
            says: "Repair it: faulty, dented or kinked at ",
        },
        Story {
            name: "wet",
            sweeps: of(Body::wet(cable, 12.0, 5.0, 2.0, water), 53),
            facts: &[("length", "12.000m"), ("marked_impedance", "50")],
            condition: "faulty",
            action: "repair",
            says: "Repair it: faulty, wet around ",
        },
        Story {
            name: "jacket",
            sweeps: of(Body::sound(cable, 5.0), 54),
            facts: &[("length", "5.000m"), ("marked_impedance", "75")],
            condition: "sound",
            action: "use-elsewhere",
            says: "Use it elsewhere: sound, but impedance ",
        },
        Story {
            name: "two cables",
            sweeps: [open, other],
            facts: &[("length", "4.000m")],
            condition: "undetermined",
            action: "measure-again",
            says: "Measure again: these sweeps do not determine the cable.",
        },
        Story {
            name: "forgotten load",
            sweeps: swept(&two_opens, 56).try_into().unwrap(),
            facts: &[("length", "6.000m"), ("marked_impedance", "50")],
            condition: "undetermined",
            action: "measure-again",
            says: "Measure again: ",
        },
        Story {
            name: "doubled tape",
            sweeps: of(Body::dented(cable, 8.0, 3.0, 0.05, 0.6), 57),
            facts: &[("length", "16.000m"), ("marked", "RG-58")],
            condition: "faulty",
            action: "measure-again",
            says: "Measure again: faulty, dented or kinked at ",
        },
    ]
}

/// What a surface says.
#[derive(Debug)]
struct Said {
    surface: &'static str,
    condition: Option<String>,
    /// As JSON names it.
    action: Option<String>,
    /// White space made even.
    text: Option<String>,
}

#[tokio::test]
async fn every_surface_gives_the_same_verdict() {
    for (k, story) in stories().into_iter().enumerate() {
        let files = ["open.s1p", "load.s1p"];
        let texts = story.sweeps.each_ref();
        let texts = texts.map(|sweep| one_port(sweep, Notation::Ri, "invented"));
        let place = folder(
            &format!("same-{k}"),
            &[(files[0], texts[0].clone()), (files[1], texts[1].clone())],
        );
        let mut said = in_terminal(&place, &story);
        said.extend(on_pages(&format!("same-{k}"), &texts, &story).await);
        let sentence = first_sentence(&said);
        assert!(
            sentence.starts_with(story.says),
            "{}: {sentence}",
            story.name
        );
        for one in &said {
            let told =
                |got: &Option<String>, wanted: &str| got.as_ref().is_none_or(|got| got == wanted);
            assert!(
                told(&one.condition, story.condition) && told(&one.action, story.action),
                "{}: {one:?}",
                story.name
            );
            let has = one
                .text
                .as_ref()
                .is_none_or(|text| text.contains(&sentence));
            assert!(has, "{}: `{sentence}` is not in {one:?}", story.name);
        }
    }
}

/// By the short text.
fn first_sentence(said: &[Said]) -> String {
    let text = said.iter().find(|s| s.surface == "text").unwrap();
    let text = text.text.as_ref().unwrap();
    // a sentence ends where the next begins with a capital or a figure
    let ends = text.match_indices(". ").map(|(at, _)| at + 1);
    let next = |at: &usize| {
        text[*at..]
            .trim_start()
            .starts_with(|c: char| c.is_uppercase() || c.is_numeric())
    };
    let end = ends.into_iter().find(next).unwrap_or(text.len());
    text[..end].to_owned()
}

fn even(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn string(value: &Value) -> Option<String> {
    value.as_str().map(str::to_owned)
}

fn in_terminal(place: &std::path::Path, story: &Story) -> Vec<Said> {
    let _may_not_exist = std::fs::remove_file(place.join("shelf.db"));
    let facts = story.facts.iter();
    let facts: Vec<String> = facts
        .flat_map(|(name, text)| [format!("--{}", name.replace('_', "-")), (*text).to_owned()])
        .collect();
    let run = |line: &str, facts: &[String]| {
        let mut arguments: Vec<&str> = line.split_whitespace().collect();
        arguments.extend(facts.iter().map(String::as_str));
        run_in(place, &arguments)
    };
    let assay = "assay --open open.s1p --load load.s1p";
    let json = run(&format!("{assay} --json"), &facts).json();
    let mut said = vec![Said {
        surface: "json",
        condition: string(&json["condition"]),
        action: string(&json["verdict"]["action"]),
        text: None,
    }];
    let mut text = |surface, text: &str| {
        said.push(Said {
            surface,
            condition: None,
            action: None,
            text: Some(even(text)),
        });
    };
    text("text", &run(assay, &facts).stdout);
    text("full text", &run(&format!("{assay} --full"), &facts).stdout);
    let kept = format!("{assay} --report r.html --shelve x --shelf shelf.db");
    run(&kept, &facts);
    text("report", &unescaped(&read(place, "r.html")));
    let report = "report x --output kept.html --shelf shelf.db";
    run(report, &[]).has_code(0);
    text("report of the shelf", &unescaped(&read(place, "kept.html")));
    said.push(sorted(place, story));
    said.extend(of_shelf(place));
    said
}

fn read(place: &std::path::Path, file: &str) -> String {
    std::fs::read_to_string(place.join(file)).unwrap()
}

fn unescaped(html: &str) -> String {
    html.replace("&amp;", "&").replace("&quot;", "\"")
}

/// `sort` takes what is known of one cable from a manifest.
fn sorted(place: &std::path::Path, story: &Story) -> Said {
    let columns: Vec<&str> = story.facts.iter().map(|(name, _)| *name).collect();
    let texts: Vec<&str> = story.facts.iter().map(|(_, text)| *text).collect();
    let (columns, texts) = (columns.join(","), texts.join(","));
    let manifest =
        format!("file,cable,far_end,{columns}\nopen.s1p,x,open,{texts}\nload.s1p,x,load,{texts}\n");
    std::fs::write(place.join("box.csv"), manifest).unwrap();
    let row =
        run_in(place, &["sort", "--manifest", "box.csv", "--json"]).json()["cables"][0].clone();
    // a cable that is kept is good, or good and mismarked; nothing else is good
    let grade = row["grade"].as_str().unwrap();
    let kept = story.action == "keep";
    assert!(kept || grade != "good", "{row:#}");
    assert!(!kept || ["good", "mismarked"].contains(&grade), "{row:#}");
    Said {
        surface: "sort",
        condition: string(&row["condition"]),
        action: string(&row["verdict"]),
        text: None,
    }
}

/// The cable on the shelf, and its label.
fn of_shelf(place: &std::path::Path) -> Vec<Said> {
    let shown = run_in(
        place,
        &["shelf", "show", "x", "--json", "--shelf", "shelf.db"],
    )
    .json();
    let finding = &shown["assays"][0]["finding"];
    let arguments = "label x --no-code --outline --output label.svg --shelf shelf.db";
    let arguments: Vec<&str> = arguments.split(' ').collect();
    run_in(place, &arguments).has_code(0);
    let label = read(place, "label.svg");
    let words = [
        "keep",
        "use elsewhere",
        "repair",
        "discard",
        "measure again",
    ];
    let stands = words
        .into_iter()
        .find(|w| label.contains(&format!(">{w}<")));
    let stands = stands.unwrap_or_else(|| panic!("no verdict on {label}"));
    vec![
        Said {
            surface: "shelf",
            condition: string(&finding["condition"]),
            action: string(&finding["verdict"]["action"]),
            text: None,
        },
        Said {
            surface: "label",
            condition: None,
            action: Some(stands.replace(' ', "-")),
            text: None,
        },
    ]
}

/// The page, and the API behind it.
async fn on_pages(name: &str, texts: &[String; 2], story: &Story) -> Vec<Said> {
    let bench = Bench::new(name);
    let files: [(&str, &[u8]); 2] = [
        ("open.s1p", texts[0].as_bytes()),
        ("load.s1p", texts[1].as_bytes()),
    ];
    let mut facts = story.facts.to_vec();
    facts.extend([("far_end_0", "open"), ("far_end_1", "load")]);
    let answer = send_form(&bench, "/api/assays", form(&files, &facts)).await;
    let answer = answer.has_status(200).json();
    let finding = &answer["finding"];
    let page = format!("/assay/{}", answer["id"].as_str().unwrap());
    let page = bench.get(&page).await.has_status(200).text();
    let boxed = page
        .split("class=\"decision\" data-condition=\"")
        .nth(1)
        .unwrap();
    let condition = boxed.split('"').next().unwrap();
    vec![
        Said {
            surface: "API",
            condition: string(&finding["condition"]),
            action: string(&finding["verdict"]["action"]),
            text: None,
        },
        Said {
            surface: "page",
            condition: Some(condition.to_owned()),
            action: None,
            text: Some(even(&unescaped(&page))),
        },
    ]
}
