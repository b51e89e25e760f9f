//! The stories of the guide: cables of the museum with what goes wrong in the field, to cable or to measurement.

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::SweepError;

use crate::body::{Body, Piece, Water};
use crate::cable::{Cable, Dielectric};
use crate::connector::Connector;
use crate::example_file::ExampleFile;
use crate::examples::Example;
use crate::instrument::Instrument;
use crate::scenario::{Scenario, linear_grid};
use crate::touchstone::Notation;

/// What went wrong with the measurement.
enum Slip {
    /// Nothing.
    None,
    /// The load was not screwed on for the sweep that is named for it.
    LoadForgotten,
    /// The file of the loaded sweep is of this cable.
    LoadOf(Box<Scenario>),
}

/// Every file of every story, below `examples/`.
///
/// # Errors
/// [`SweepError`] if a scenario has no proper frequencies.
pub(crate) fn files() -> Result<Vec<ExampleFile>, SweepError> {
    let mut files = Vec::new();
    for (story, slip) in stories() {
        files.extend(told(&story, &slip)?);
    }
    Ok(files)
}

fn told(story: &Example, slip: &Slip) -> Result<Vec<ExampleFile>, SweepError> {
    let result = story.scenario.simulate(story.seed)?;
    let other = match slip {
        Slip::LoadOf(scenario) => Some(scenario.simulate(story.seed + 1)?),
        _ => None,
    };
    let own = result.sweeps.iter().enumerate();
    let sweeps = own.map(|(i, (far_end, sweep))| match (slip, &other) {
        (Slip::LoadForgotten, _) if i == 1 => (FarEnd::Load.to_string(), sweep),
        (_, Some(other)) if i == 1 => (far_end.to_string(), &other.sweeps[1].1),
        _ => (far_end.to_string(), sweep),
    });
    Ok(story.written(&result, sweeps))
}

fn stories() -> Vec<(Example, Slip)> {
    vec![
        (jetty_wet(), Slip::None),
        (boathouse_barrel(), Slip::None),
        (tea_room(), Slip::None),
        (slipway(), Slip::LoadForgotten),
        (two_reels(), Slip::LoadOf(Box::new(other_reel()))),
        (cellar_broken(), Slip::None),
        (shed_lossy(), Slip::None),
        (roof_feeder(), Slip::None),
    ]
}

/// Solid polyethylene, 50 ohm, 7.25 mm over the dielectric, 7 strands of 0.75 mm: the everyday 50-ohm 10 mm
/// feed line. Dimensions from memory.
fn feed_line() -> Cable {
    Cable {
        inner_diameter_m: 2.26e-3,
        strand_factor: 0.94,
        ..Cable::of_impedance(50.0, Dielectric::SolidPe, 7.25e-3)
    }
}

/// Open and loaded sweep by a pocket analyser.
fn swept(scenario: Scenario, connector: Connector, stop_hz: f64) -> Scenario {
    scenario
        .plugged_with(Some(connector))
        .measured_with(Instrument::POCKET)
        .ended_by(&[FarEnd::Open, FarEnd::Load])
        .on_grid(linear_grid(1e6, stop_hz, 301))
}

fn jetty_wet() -> Example {
    let water = Water {
        eps_r_factor: 1.25,
        added_tan_delta: 0.025,
        corrosion_factor: 1.5,
    };
    let body = Body::wet(feed_line(), 18.0, 11.2, 1.8, water);
    Example {
        folder: "stories/jetty-wet",
        title: "Feed line to the jetty",
        story: "The antenna on the jetty went deaf after the autumn storms. A clamp has chafed through the jacket \
                11 m along, and sea water has crept 1.8 m in.",
        jacket: "RG-213",
        marked_options: "`--marked RG-213`",
        tape_m: 18.0,
        notation: Notation::Ri,
        scenario: swept(
            Scenario::new(feed_line(), 18.0).with_body(body),
            Connector::N,
            150e6,
        ),
        seed: 1883,
    }
}

fn boathouse_barrel() -> Example {
    // a UHF barrel: about 35 ohm over some 38 mm, common practice
    let barrel = Piece::Spot {
        cable: Cable::of_impedance(35.0, Dielectric::Ptfe, 12e-3),
        length_m: 0.038,
    };
    let line = |length_m: f64| Piece::Line {
        cable: feed_line(),
        length_m,
    };
    let body = Body::plugged(vec![line(7.3), barrel, line(4.4)]);
    Example {
        folder: "stories/boathouse-barrel",
        title: "Two lengths to the boathouse",
        story: "Two good lengths of one type, joined by an ordinary UHF barrel 7.3 m along. Nothing is wrong with it.",
        jacket: "RG-213",
        marked_options: "`--marked RG-213`",
        tape_m: 11.74,
        notation: Notation::Ri,
        scenario: swept(
            Scenario::new(feed_line(), body.length_m()).with_body(body),
            Connector::UHF,
            200e6,
        ),
        seed: 1894,
    }
}

fn tea_room() -> Example {
    Example {
        folder: "stories/tea-room",
        title: "Aerial cable for the tea room",
        story: "Somebody wrote 75 on its tag, and it is to bring the television to the tea room. It is a good cable \
                of 50 ohm.",
        jacket: "75 ohm, on a tag",
        marked_options: "`--marked-impedance 75`",
        tape_m: 3.62,
        notation: Notation::Ma,
        scenario: swept(
            Scenario::new(Cable::solid_pe_50(), 3.62),
            Connector::BNC,
            300e6,
        ),
        seed: 1911,
    }
}

fn slipway() -> Example {
    let scenario = Scenario::new(Cable::solid_pe_50(), 6.4);
    Example {
        folder: "stories/slipway",
        title: "Cable to the slipway camera",
        story: "The keeper swept it twice and wrote open and load on the files. The load was still in its box. The \
                cable is good.",
        jacket: "50 ohm, velocity factor 0.66",
        marked_options: "`--marked-impedance 50 --marked-velocity-factor 0.66`",
        tape_m: 6.4,
        notation: Notation::Ri,
        scenario: swept(scenario, Connector::BNC, 200e6).ended_by(&[FarEnd::Open, FarEnd::Open]),
        seed: 1926,
    }
}

fn two_reels() -> Example {
    Example {
        folder: "stories/two-reels",
        title: "Offcut of the grey reel",
        story: "Two offcuts lay on the bench, and the loaded sweep is of the other one: 75 ohm and 3 m longer. \
                Neither can be known from these two files.",
        jacket: "none",
        marked_options: "",
        tape_m: 4.1,
        notation: Notation::Ri,
        scenario: swept(
            Scenario::new(Cable::solid_pe_50(), 4.1),
            Connector::BNC,
            200e6,
        ),
        seed: 1931,
    }
}

fn other_reel() -> Scenario {
    swept(
        Scenario::new(Cable::foam_pe_75(), 7.2),
        Connector::BNC,
        200e6,
    )
}

fn cellar_broken() -> Example {
    let body = Body::broken(feed_line(), 0.35);
    Example {
        folder: "stories/cellar-broken",
        title: "Feed line through the cellar",
        story: "20 m of it. The inner conductor has broken 0.35 m behind the near plug, where everybody bends it.",
        jacket: "RG-213",
        marked_options: "`--marked RG-213`",
        tape_m: 20.0,
        notation: Notation::Ri,
        scenario: swept(
            Scenario::new(feed_line(), body.length_m()).with_body(body),
            Connector::N,
            150e6,
        ),
        seed: 1938,
    }
}

fn shed_lossy() -> Example {
    let corroded = Cable {
        corrosion_factor: 2.4,
        ..Cable::solid_pe_50()
    };
    Example {
        folder: "stories/shed-lossy",
        title: "Cable from the coal shed",
        story: "It has lain in the coal shed for years, and the braid is black. Its conductors lose 2.4 times what \
                they did.",
        jacket: "RG-58",
        marked_options: "`--marked RG-58`",
        tape_m: 14.0,
        notation: Notation::Ri,
        scenario: swept(Scenario::new(corroded, 14.0), Connector::BNC, 200e6),
        seed: 1947,
    }
}

fn roof_feeder() -> Example {
    Example {
        folder: "stories/roof-feeder",
        title: "Feed line to the roof",
        story: "It feeds the two-metre antenna on the roof. The jacket has a type's name and nothing else. It is good.",
        jacket: "RG-213",
        marked_options: "`--marked RG-213`",
        tape_m: 15.2,
        notation: Notation::Ri,
        scenario: swept(Scenario::new(feed_line(), 15.2), Connector::N, 170e6),
        seed: 1956,
    }
}
