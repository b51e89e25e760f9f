//! Invented cables to try the page with, and what a person would know about them.

use std::sync::Arc;

use crate::facts::{Row, Said, table};
use crate::questions::assay::sessions::facts::Facts;
use crate::questions::assay::sessions::files::Dropped;

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
    facts: &'static [(&'static dyn Row, &'static str)],
}

macro_rules! example {
    ($folder:literal, $($file:literal),+) => {
        &[$(($file, include_bytes!(concat!("../../../../../../examples/", $folder, "/", $file)))),+]
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
            (&table::LENGTH, "2.400m"),
            (&table::LOAD_OHMS, "50.05"),
            (&table::MARKED_IMPEDANCE, "75"),
        ],
    },
    Demo {
        name: "lamp-room",
        title: "Lamp-room jumper",
        story: "Marked 50 ohm; 1.8 m by tape.",
        files: example!("lamp-room-50", "open.s1p", "short.s1p", "load.s1p"),
        facts: &[
            (&table::LENGTH, "1.780m"),
            (&table::LOAD_OHMS, "50.15"),
            (&table::MARKED_IMPEDANCE, "50"),
            (&table::MARKED_VELOCITY_FACTOR, "0.66"),
            (&table::USE_AT, "156MHz"),
        ],
    },
    Demo {
        name: "drawer",
        title: "Cable from the drawer",
        story: "Marked 50 ohm. Is it?",
        files: example!("drawer-mislabelled", "open.s1p", "load.s1p"),
        facts: &[
            (&table::LENGTH, "1.120m"),
            (&table::LOAD_OHMS, "50.44"),
            (&table::MARKED_IMPEDANCE, "50"),
            (&table::MARKED_VELOCITY_FACTOR, "0.66"),
        ],
    },
    Demo {
        name: "stairs",
        title: "Cable from the stairs",
        story: "An iron door closed on it; the damage is hidden.",
        files: example!("stairs-dented", "open.s1p", "load.s1p"),
        facts: &[
            (&table::LENGTH, "4.210m"),
            (&table::LOAD_OHMS, "50.05"),
            (&table::MARKED_IMPEDANCE, "50"),
            (&table::MARKED_VELOCITY_FACTOR, "0.66"),
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
        let known = self.facts.iter();
        let said = known.fold(Said::default(), |said, (fact, text)| {
            said.with(*fact, *text)
        });
        Facts {
            said,
            ..Facts::default()
        }
    }
}
