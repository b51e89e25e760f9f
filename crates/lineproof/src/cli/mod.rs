//! The command line: one definition per flag feeds parser and help; each verb turns its arguments
//! into a ready-made request.

pub mod assay;
pub mod compare;
pub mod correct;
pub mod cut;
pub mod fitness;
pub mod label;
pub mod line_files;
pub(crate) mod look;
mod marking;
pub mod plan;
pub(crate) mod plane;
mod read;
pub mod readings;
pub mod report;
pub mod serve;
pub mod shelf;
pub mod sort;
mod source;
pub mod types;
pub(crate) mod values;

use clap::{Parser, Subcommand};

/// The whole command line.
#[derive(Debug, Parser)]
#[command(
    name = "lineproof",
    version,
    about = "Tells what a coaxial cable is, from the sweeps of a small vector network analyser",
    after_help = "Quantities carry their unit: 1.5m, 4ft11in, 145MHz, 8.2dB/100m@100MHz.\n\
                  Results go to standard output, messages to standard error.\n\
                  Exit codes: 0 answered, 1 answered but a file was left out, 2 usage, \
                  3 the data do not determine the answer, 4 no file could be used, \
                  5 the result could not be written."
)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub verb: Verb,
}

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// From all sweeps of one cable: impedance, delay, loss, and whether the jacket is right
    #[command(after_help = assay::EXAMPLES)]
    Assay(Box<assay::AssayArgs>),
    /// What changed between two sets of sweeps of one cable, and where
    #[command(after_help = compare::EXAMPLES)]
    Compare(Box<compare::CompareArgs>),
    /// The same methods from values read off a screen
    #[command(after_help = readings::EXAMPLES)]
    Readings(Box<readings::ReadingsArgs>),
    /// From raw sweeps, or a calibration that took its standards as ideal, to corrected sweeps
    #[command(after_help = correct::EXAMPLES)]
    Correct(Box<correct::CorrectArgs>),
    /// Which sweep to take, and what it cannot show
    #[command(after_help = plan::EXAMPLES)]
    Plan(plan::PlanArgs),
    /// The record of cables: list, show, edit, export
    #[command(after_help = shelf::EXAMPLES)]
    Shelf(shelf::ShelfArgs),
    /// A page about one cable or many that prints well
    #[command(after_help = report::EXAMPLES)]
    Report(report::ReportArgs),
    /// Labels to stick onto cables, with a code for a phone's camera
    #[command(after_help = label::EXAMPLES)]
    Label(Box<label::LabelArgs>),
    /// A whole box: one line for each cable, worst first
    #[command(after_help = sort::EXAMPLES)]
    Sort(Box<sort::SortArgs>),
    /// What a cable does for a use: loss, SWR, voltage, heat
    #[command(after_help = fitness::EXAMPLES)]
    Use(Box<fitness::UseArgs>),
    /// Where to cut: transformers, stubs, phasing and delay lines, a fault out
    #[command(after_help = cut::EXAMPLES)]
    Cut(Box<cut::CutArgs>),
    /// A cable as a computed two-port Touchstone file of any length
    #[command(after_help = line_files::NETWORK_EXAMPLES)]
    Network(Box<line_files::NetworkArgs>),
    /// What stands behind a known line, from a sweep at its near end
    #[command(after_help = line_files::REMOVAL_EXAMPLES)]
    RemoveLine(Box<line_files::RemovalArgs>),
    /// The catalogue: all types, one of them, or which one something may be
    #[command(after_help = types::EXAMPLES)]
    Types(Box<types::TypesArgs>),
    /// The bench in the browser
    #[command(after_help = serve::EXAMPLES)]
    Serve(serve::ServeArgs),
}

#[cfg(test)]
mod tests {
    use clap::CommandFactory;

    #[test]
    fn the_definition_is_consistent() {
        super::Cli::command().debug_assert();
    }
}
