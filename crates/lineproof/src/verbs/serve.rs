//! `lineproof serve`.

use clap::{ArgMatches, FromArgMatches};

use crate::cli::serve::ServeArgs;
use crate::server::listen::{ServeError, Served, serve as listen};
use crate::{exit, output};

/// `lineproof serve`.
pub(crate) fn serve(matches: &ArgMatches) -> u8 {
    let arguments = match ServeArgs::from_arg_matches(matches) {
        Ok(arguments) => arguments,
        Err(error) => return output::usage(&error),
    };
    let started = |served: &Served| announce(served, !arguments.no_browser);
    match listen(&arguments.request(), started) {
        Ok(()) => exit::ANSWERED,
        Err(error) => {
            output::error(&error, error.help());
            match error {
                ServeError::Stopped(_) => exit::OUTPUT,
                _ => exit::USAGE,
            }
        }
    }
}

fn announce(served: &Served, browser: bool) {
    let address = format!("http://{}/", served.address);
    output::result(&format!("{address}\n"), exit::ANSWERED);
    if let Some(token) = &served.token {
        output::message(&format!(
            "warning: everybody who reaches {} and has the token can read and change the shelf; \
             nothing on the way is encrypted\ntoken: {token}",
            served.address
        ));
    }
    output::message("Ctrl-C ends it.");
    if browser && served.token.is_none() && open::that_detached(&address).is_err() {
        output::message("warning: no browser opens here; open the address above yourself");
    }
}
