//! A question on the command line: asked with its arguments, answered as text or JSON.

use clap::{ArgMatches, Args};

use crate::facts::Surface;
use crate::questions::ask::{Answer, Ask};
use crate::questions::unanswered::Unanswered;
use crate::{exit, output};

/// Asks, prints the answer or why there is none, and gives the exit code.
pub(crate) fn print<A: Ask>(matches: &ArgMatches) -> u8 {
    let arguments = match A::from_arg_matches(matches) {
        Ok(arguments) => arguments,
        Err(error) => return output::usage(&error),
    };
    let answer = match arguments.ask() {
        Ok(answer) => answer,
        Err(unanswered) => return refused(&unanswered),
    };
    for message in answer.messages() {
        output::message(&message);
    }
    match answer.code() {
        exit::USAGE => exit::USAGE,
        code if arguments.json() => output::json(&answer.json(), code),
        code => output::result(&answer.text(arguments.units()), code),
    }
}

/// Reads the arguments of a verb with a way of its own and goes it.
pub(crate) fn verb<A: Args>(matches: &ArgMatches, run: impl FnOnce(&A) -> u8) -> u8 {
    match A::from_arg_matches(matches) {
        Ok(arguments) => run(&arguments),
        Err(error) => output::usage(&error),
    }
}

/// Says why there is no answer; gives the exit code.
pub(crate) fn refused(unanswered: &Unanswered) -> u8 {
    for message in &unanswered.messages {
        output::message(message);
    }
    if let Some(error) = &unanswered.error {
        let help = unanswered.help.as_ref();
        output::error(error.as_ref(), help.map(|help| help.on(Surface::Terminal)));
    }
    unanswered.code
}
