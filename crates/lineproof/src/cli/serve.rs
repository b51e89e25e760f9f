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

By default only this machine is served. With --listen, everyone who can reach that interface and has
the token can read and change your shelf. The connection is not encrypted: use it only in a network
that you trust.";

/// Arguments of `serve`.
#[derive(Args, Debug)]
pub struct ServeArgs {
    /// Interface to serve besides loopback, such as 0.0.0.0; visitors need the token
    #[arg(long, value_name = "ADDRESS")]
    listen: Option<IpAddr>,
    /// Port; default 7550 or a free one; 0 for any
    #[arg(long)]
    port: Option<u16>,
    /// Name by which others reach this machine
    #[arg(long, value_name = "NAME", requires = "listen")]
    name: Vec<String>,
    /// Token that visitors need; default: a random one
    #[arg(
        long,
        value_name = "TOKEN",
        env = "LINEPROOF_TOKEN",
        hide_env_values = true,
        requires = "listen"
    )]
    token: Option<String>,
    /// Do not open a browser
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
            "warning: everyone who can reach {} and has the token can read and change the shelf; \
             the connection is not encrypted\ntoken: {token}",
            served.address
        ));
    }
    output::message("Press Ctrl-C to stop.");
    if browser && served.token.is_none() && open::that_detached(&address).is_err() {
        output::message("warning: cannot open a browser; open the address above yourself");
    }
}
