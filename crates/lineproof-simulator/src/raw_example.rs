//! The invented example of raw sweeps: a bridge without a calibration of its own, with its kit.

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::{Sweep, SweepError};

use crate::cable::Cable;
use crate::connector::Connector;
use crate::example_file::ExampleFile;
use crate::instrument::Instrument;
use crate::kit::Kit;
use crate::raw::{Check, RawSimulation};
use crate::scenario::{Scenario, linear_grid};
use crate::touchstone::{Notation, one_port};

/// Folder below `examples/`.
const FOLDER: &str = "fog-signal-raw";
const TITLE: &str = "Fog-signal line";
const SEED: u64 = 1911;
const TAPE_M: f64 = 3.15;

/// What the kit really is.
const KIT: Kit = Kit {
    load_ohm: 49.71,
    load_inductance_h: 0.11e-9,
    load_capacitance_f: 17e-15,
    open_capacitance_f: 47.5e-15,
    short_inductance_h: 13e-12,
};

/// What the museum knows of it.
const KIT_FILE: &str = "\
# INVENTED example data: no such museum, no such kit.
name = \"the keeper's kit, N male\"
reference_ohm = 50

[standards.open]
kind = \"open\"
capacitance_f = 45e-15
capacitance_within_f = 6e-15

[standards.short]
kind = \"short\"
inductance_h = 15e-12
inductance_within_h = 5e-12

[standards.load]
kind = \"load\"
resistance_ohm = 49.7
resistance_within_ohm = 0.05
inductance_h = 0.1e-9
inductance_within_h = 0.05e-9
capacitance_f = 20e-15
capacitance_within_f = 10e-15
";

fn scenario() -> Scenario {
    Scenario {
        kit: Some(KIT),
        ..Scenario::new(Cable::solid_pe_50(), 3.148)
    }
    .plugged_with(Some(Connector::N))
    .measured_with(Instrument::POCKET)
    .ended_by(&[FarEnd::Open, FarEnd::Load])
    .on_grid(linear_grid(1e6, 601e6, 201))
}

/// Raw sweeps of kit and cable, the kit's description, the cable as an analyser reports it that took
/// the kit as ideal, standards screwed on again after that, and the notes.
///
/// # Errors
/// [`SweepError`] if the scenario has no proper frequencies.
pub(crate) fn files() -> Result<Vec<ExampleFile>, SweepError> {
    let scenario = scenario();
    let raw = scenario.simulate_raw(SEED)?;
    let ideal = scenario.simulate(SEED)?;
    let checks = scenario.simulate_checks(SEED, &[FarEnd::Open, FarEnd::Short])?;
    let mut files = Vec::new();
    let mut put = |what: &str, sweeps: &[Check]| {
        files.extend(
            sweeps
                .iter()
                .map(|(end, sweep)| sweep_file(what, *end, sweep)),
        );
    };
    put("kit", &raw.standards);
    put("raw", &raw.sweeps);
    put("ideal", &ideal.sweeps);
    put("check", &checks);
    files.push(file("kit.toml", KIT_FILE.to_owned()));
    files.push(file("notes.md", notes(&raw)));
    Ok(files)
}

fn sweep_file(what: &str, end: FarEnd, sweep: &Sweep) -> ExampleFile {
    let content = match what {
        "kit" => format!("raw, the kit's {end} at the plane"),
        "raw" => format!("raw; far end: {end}"),
        "check" => format!("corrected with the kit called ideal, its {end} at the plane again"),
        _ => format!("corrected with the kit called ideal; far end: {end}"),
    };
    let comment = format!(
        "INVENTED example data, simulated: no such museum, no such cable.\n\
         Radio room of the Sorrel Point lighthouse museum: {TITLE}; {content}."
    );
    file(
        &format!("{what}-{end}.s1p"),
        one_port(sweep, Notation::Ri, &comment),
    )
}

fn file(name: &str, text: String) -> ExampleFile {
    ExampleFile {
        path: format!("{FOLDER}/{name}"),
        text,
    }
}

fn notes(raw: &RawSimulation) -> String {
    let truth = &raw.truth;
    let at_hz = 100e6;
    format!(
        "# {TITLE}\n\n\
         Invented: no such museum, no such cable. Written by `make-examples`, seed {SEED}.\n\n\
         The line from the radio room to the hut of the fog signal, measured once with a home-made \
         bridge that corrects nothing (`kit-*.s1p`, `raw-*.s1p`), and as an analyser reports it that \
         takes its kit as ideal (`ideal-*.s1p`, and `check-*.s1p` with the kit at the plane again).\n\n\
         What a person at the bench knows:\n\n\
         | what | value |\n\
         | --- | --- |\n\
         | the kit | `kit.toml` |\n\
         | length between the plugs, by tape | {TAPE_M} m |\n\n\
         True values (at 100 MHz):\n\n\
         | what | value |\n\
         | --- | --- |\n\
         | characteristic impedance | {z0:.2} ohm |\n\
         | one-way delay with both plugs | {delay:.3} ns |\n\
         | loss of the piece | {loss:.4} dB |\n\
         | the kit's load | {load:.3} ohm with {l:.2} nH and {c:.0} fF |\n\
         | fringing of its open | {open:.1} fF |\n\
         | inductance of its short | {short:.0} pH |\n",
        z0 = truth.impedance_ohm(at_hz),
        delay = truth.connected_one_way_delay_s(at_hz) * 1e9,
        loss = truth.loss_db(at_hz),
        load = KIT.load_ohm,
        l = KIT.load_inductance_h * 1e9,
        c = KIT.load_capacitance_f * 1e15,
        open = KIT.open_capacitance_f * 1e15,
        short = KIT.short_inductance_h * 1e12,
    )
}
