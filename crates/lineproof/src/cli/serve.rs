//! `lineproof serve`: the bench in the browser.

use std::net::IpAddr;

use clap::{ArgMatches, Args, FromArgMatches};

use crate::questions::shelf::arguments::WhichShelf;
use crate::server::listen::{ServeError, ServeRequest, Served, serve as listen};
use crate::{exit, output};

/// Examples under the help of the verb.
pub const EXAMPLES: &str = "\
Examples:
  lineproof serve
  lineproof serve --port 8000 --no-browser
  lineproof serve --listen 0.0.0.0 --name bench.example

Only this machine is served unless --listen names another interface. Then everybody who reaches that
interface and has the token can read and change your shelf, and nothing on the way is encrypted: do
it only in a network that you trust.";

/// Arguments of `serve`.
#[derive(Args, Debug)]
pub struct ServeArgs {
    /// Interface to serve besides the loopback one, for example 0.0.0.0; asks visitors for a token
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<IpAddr>,
    /// Port; 7550 or a free one if not given, 0 for any
    #[arg(long)]
    port: Option<u16>,
    /// Name that others reach this machine by, if it has one
    #[arg(long, value_name = "NAME", requires = "listen")]
    name: Vec<String>,
    /// Token that visitors need; made up if not given
    #[arg(
        long,
        value_name = "TOKEN",
        env = "LINEPROOF_TOKEN",
        hide_env_values = true,
        requires = "listen"
    )]
    token: Option<String>,
    /// Do not open the page
    #[arg(long)]
    no_browser: bool,
    #[command(flatten)]
    which: WhichShelf,
}

impl ServeArgs {
    /// The request that the arguments make.
    pub fn request(&self) -> ServeRequest {
        ServeRequest {
            listen: self.listen,
            port: self.port,
            names: self.name.clone(),
            token: self.token.clone(),
            shelf: self.which.path(),
        }
    }
}

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
