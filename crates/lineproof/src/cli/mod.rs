//! The command line: a verb for each question, and one for the bench in the browser. One definition
//! for each argument feeds parser and help.

pub(crate) mod ask;
pub(crate) mod facts;
pub(crate) mod plane;
pub mod serve;
pub(crate) mod sweeps;

use clap::{ArgMatches, Args, Command};

use crate::questions;

/// The whole command line.
pub fn command() -> Command {
    let serve = serve::ServeArgs::augment_args(Command::new("serve"))
        .about("Serve the browser page")
        .after_help(serve::EXAMPLES);
    Command::new("lineproof")
        .version(env!("CARGO_PKG_VERSION"))
        .about("Tells what a coaxial cable is and whether it is sound, from the sweeps of a small vector network analyser")
        .after_help(
            "Write quantities with their unit: 1.5m, 4ft11in, 145MHz, 8.2dB/100m@100MHz.\n\
             Results go to standard output, messages to standard error.\n\
             Exit codes: 0 answered, 1 answered but a file was left out, 2 invalid command line, \
             3 the data do not determine the answer, 4 no file could be used, \
             5 the result could not be written.",
        )
        .subcommand_required(true)
        .arg_required_else_help(true)
        .subcommands(questions::ALL.iter().map(questions::ask::Question::verb))
        .subcommand(serve)
}

/// Does what the arguments say; gives the exit code.
pub(crate) fn run(matches: &ArgMatches) -> u8 {
    let (name, arguments) = matches.subcommand().expect("a verb is required");
    match questions::ALL.iter().find(|q| q.name == name) {
        Some(question) => (question.print)(arguments),
        None => serve::serve(arguments),
    }
}

#[cfg(test)]
mod tests {
    #[test]
    fn the_definition_is_consistent() {
        super::command().debug_assert();
    }
}
