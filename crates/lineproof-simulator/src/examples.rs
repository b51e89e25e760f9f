//! The invented examples of the repository: a lighthouse museum sorts the cables of its radio room.
//!
//! Everything in them is made up. [`all`] describes them, [`Example::files`] gives the text of
//! their files, [`all_files`](crate::all_files) that of all, the program `make-examples` writes them, and a test
//! compares what is committed.

use lineproof_core::bench::FarEnd;
use lineproof_core::sweep::{Sweep, SweepError};

use crate::body::Body;
use crate::cable::{Cable, Dielectric};
use crate::connector::Connector;
pub use crate::example_file::ExampleFile;
use crate::instrument::Instrument;
use crate::scenario::{Scenario, linear_grid};
use crate::simulation::Simulation;
use crate::touchstone::{Notation, one_port};

/// One cable of the museum's box.
#[derive(Clone, Debug)]
pub struct Example {
    /// Folder below `examples/`.
    pub folder: &'static str,
    /// What the label of the file says.
    pub title: &'static str,
    /// Where it lay and why anyone asks, a sentence or two.
    pub story: &'static str,
    /// What the jacket claims.
    pub jacket: &'static str,
    /// Options that pass on the jacket's claim.
    pub marked_options: &'static str,
    /// What the tape says, m.
    pub tape_m: f64,
    /// How the files write their numbers.
    pub notation: Notation,
    /// What is on the bench.
    pub scenario: Scenario,
    /// Seed of everything random.
    pub seed: u64,
}

/// All invented examples of corrected sweeps.
pub fn all() -> Vec<Example> {
    vec![
        harbour_75(),
        lamp_room_50(),
        drawer_mislabelled(),
        stairs_dented(),
    ]
}

impl Example {
    /// The folder's files: one for each sweep, and the notes.
    ///
    /// # Errors
    /// [`SweepError`] if the scenario has no proper frequencies.
    pub fn files(&self) -> Result<Vec<ExampleFile>, SweepError> {
        let result = self.scenario.simulate(self.seed)?;
        let sweeps = result.sweeps.iter();
        let named = sweeps.map(|(far_end, sweep)| (far_end.to_string(), sweep));
        Ok(self.written(&result, named))
    }

    /// The folder's files from sweeps and what they were named for.
    pub(crate) fn written<'a>(
        &self,
        result: &Simulation,
        sweeps: impl Iterator<Item = (String, &'a Sweep)>,
    ) -> Vec<ExampleFile> {
        let sweeps = sweeps.map(|(far_end, sweep)| ExampleFile {
            path: format!("{}/{far_end}.s1p", self.folder),
            text: one_port(sweep, self.notation, &self.comment(&far_end)),
        });
        let notes = ExampleFile {
            path: format!("{}/notes.md", self.folder),
            text: self.notes(result),
        };
        sweeps.chain([notes]).collect()
    }

    fn comment(&self, far_end: &str) -> String {
        format!(
            "INVENTED example data, simulated: no such museum, no such cable.\n\
             Radio room of the Sorrel Point lighthouse museum: {}; far end: {far_end}.",
            self.title
        )
    }

    fn notes(&self, result: &Simulation) -> String {
        let truth = &result.truth;
        let at_hz = 100e6;
        format!(
            "# {title}\n\n\
             Invented: no such museum, no such cable. Written by `make-examples`, seed {seed}.\n\n\
             {story}\n\n\
             What a person at the bench knows:\n\n\
             | what | value | option |\n\
             | --- | --- | --- |\n\
             | length between the plugs, by tape | {tape} m | `--length {tape}m` |\n\
             | the kit's load, by ohmmeter | {load:.2} ohm | `--load-ohms {load:.2}` |\n\
             | jacket | {jacket} | {marked} |\n\n\
             True values (at 100 MHz):\n\n\
             | what | value |\n\
             | --- | --- |\n\
             | characteristic impedance | {z0:.2} ohm |\n\
             | one-way delay between the plugs | {delay:.3} ns |\n\
             | one-way delay with both plugs | {connected:.3} ns |\n\
             | velocity factor | {vf:.4} |\n\
             | loss of the piece | {loss:.4} dB |\n\
             | length between the plugs | {length:.3} m |\n\
             | the kit's load | {load_true:.3} ohm |\n",
            title = self.title,
            seed = self.seed,
            story = self.story,
            tape = self.tape_m,
            load = truth.load_ohm,
            jacket = self.jacket,
            marked = self.marked_options,
            z0 = truth.impedance_ohm(at_hz),
            delay = truth.one_way_delay_s(at_hz) * 1e9,
            connected = truth.connected_one_way_delay_s(at_hz) * 1e9,
            vf = truth.velocity_factor(at_hz),
            loss = truth.loss_db(at_hz),
            length = truth.length_m,
            load_true = truth.load_ohm,
        )
    }
}

fn harbour_75() -> Example {
    Example {
        folder: "harbour-75",
        title: "Harbour receiver patch cable",
        story: "It ran from the harbour-watch receiver to the wall socket. The keeper's list says \
                75 ohm; the museum wants to know before it goes to the television in the tea room.",
        jacket: "75 ohm",
        marked_options: "`--marked-impedance 75`",
        tape_m: 2.4,
        notation: Notation::Ri,
        scenario: Scenario::new(Cable::solid_pe_75(), 2.402)
            .plugged_with(Some(Connector::BNC))
            .measured_with(Instrument::POCKET)
            .ended_by(&[FarEnd::Open, FarEnd::Load])
            .on_grid(linear_grid(1e6, 300e6, 401)),
        seed: 1871,
    }
}

fn lamp_room_50() -> Example {
    Example {
        folder: "lamp-room-50",
        title: "Lamp-room jumper",
        story: "A jumper between the marine set and its antenna switch, below the lamp. It looks \
                as good as new and is to stay in use at 156 MHz.",
        jacket: "50 ohm, velocity factor 0.66",
        marked_options: "`--marked-impedance 50 --marked-velocity-factor 0.66`",
        tape_m: 1.78,
        notation: Notation::Ma,
        scenario: Scenario::new(Cable::solid_pe_50(), 1.777)
            .plugged_with(Some(Connector::N))
            .measured_with(Instrument::POCKET)
            .ended_by(&[FarEnd::Open, FarEnd::Short, FarEnd::Load])
            .on_grid(linear_grid(1e6, 500e6, 401)),
        seed: 1902,
    }
}

fn drawer_mislabelled() -> Example {
    Example {
        folder: "drawer-mislabelled",
        title: "Cable from the drawer",
        story: "From the bottom drawer of the chart table, without a maker's name. The jacket says \
                50 ohm. Two ways of measuring it agree with each other and not with the jacket.",
        jacket: "50 ohm, velocity factor 0.66",
        marked_options: "`--marked-impedance 50 --marked-velocity-factor 0.66`",
        tape_m: 1.12,
        notation: Notation::Db,
        scenario: Scenario::new(
            Cable::of_impedance(61.5, Dielectric::SolidPe, 2.95e-3),
            1.118,
        )
        .plugged_with(Some(Connector::BNC))
        .measured_with(Instrument::POCKET)
        .ended_by(&[FarEnd::Open, FarEnd::Load])
        .on_grid(linear_grid(1e6, 400e6, 401)),
        seed: 1936,
    }
}

fn stairs_dented() -> Example {
    let cable = Cable::solid_pe_50();
    Example {
        folder: "stairs-dented",
        title: "Cable from the stairs",
        story: "It runs up the tower stairs. An iron door has closed on it 1.60 m from the lower \
                plug and left 4 cm of it crushed; the jacket sprang back, so nobody sees it.",
        jacket: "50 ohm, velocity factor 0.66",
        marked_options: "`--marked-impedance 50 --marked-velocity-factor 0.66`",
        tape_m: 4.21,
        notation: Notation::Ri,
        scenario: Scenario::new(cable, 4.208)
            .with_body(Body::dented(cable, 4.208, 1.6, 0.04, 0.75))
            .plugged_with(Some(Connector::BNC))
            .measured_with(Instrument::POCKET)
            .ended_by(&[FarEnd::Open, FarEnd::Load])
            .on_grid(linear_grid(1e6, 600e6, 401)),
        seed: 1953,
    }
}
