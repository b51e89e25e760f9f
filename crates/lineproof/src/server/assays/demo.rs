//! Invented cables to try the page with, and what a person would know about them.

use std::sync::Arc;

use super::facts::Facts;
use super::files::Dropped;

/// An example.
#[derive(Clone, Copy, Debug)]
pub struct Demo {
    /// Its name in paths.
    pub name: &'static str,
    /// What it is said to be.
    pub title: &'static str,
    /// What the person knows.
    pub story: &'static str,
    files: &'static [(&'static str, &'static [u8])],
    facts: &'static [(&'static str, &'static str)],
}

macro_rules! example {
    ($folder:literal, $($file:literal),+) => {
        &[$(($file, include_bytes!(concat!("../../../../../examples/", $folder, "/", $file)))),+]
    };
}

/// All examples.
pub const DEMOS: [Demo; 4] = [
    Demo {
        name: "harbour",
        title: "Harbour receiver patch cable",
        story: "The list says 75 ohm; 2.4 m by tape.",
        files: example!("harbour-75", "open.s1p", "load.s1p"),
        facts: &[
            ("length", "2.400m"),
            ("load_ohms", "50.05"),
            ("marked_impedance", "75"),
        ],
    },
    Demo {
        name: "lamp-room",
        title: "Lamp-room jumper",
        story: "Marked 50 ohm; 1.8 m by tape.",
        files: example!("lamp-room-50", "open.s1p", "short.s1p", "load.s1p"),
        facts: &[
            ("length", "1.780m"),
            ("load_ohms", "50.15"),
            ("marked_impedance", "50"),
            ("marked_velocity_factor", "0.66"),
            ("use_at", "156MHz"),
        ],
    },
    Demo {
        name: "drawer",
        title: "Cable from the drawer",
        story: "Marked 50 ohm. Is it?",
        files: example!("drawer-mislabelled", "open.s1p", "load.s1p"),
        facts: &[
            ("length", "1.120m"),
            ("load_ohms", "50.44"),
            ("marked_impedance", "50"),
            ("marked_velocity_factor", "0.66"),
        ],
    },
    Demo {
        name: "stairs",
        title: "Cable from the stairs",
        story: "An iron door closed on it; the damage is hidden.",
        files: example!("stairs-dented", "open.s1p", "load.s1p"),
        facts: &[
            ("length", "4.210m"),
            ("load_ohms", "50.05"),
            ("marked_impedance", "50"),
            ("marked_velocity_factor", "0.66"),
        ],
    },
];

impl Demo {
    /// The example of this name.
    pub fn named(name: &str) -> Option<&'static Self> {
        DEMOS.iter().find(|demo| demo.name == name)
    }

    /// Its files.
    pub fn files(&self) -> Vec<Dropped> {
        let file = |&(name, bytes): &(&str, &[u8])| Dropped {
            label: name.to_owned(),
            bytes: Arc::from(bytes),
        };
        self.files.iter().map(file).collect()
    }

    /// What the person knows, as typed.
    pub fn facts(&self) -> Facts {
        let mut said = serde_json::Map::new();
        for (name, text) in self.facts {
            said.insert((*name).to_owned(), (*text).into());
        }
        serde_json::from_value(said.into()).expect("examples name facts that there are")
    }
}
