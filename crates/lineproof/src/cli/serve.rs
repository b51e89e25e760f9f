//! `lineproof serve`: the bench in the browser.

use std::net::IpAddr;

use clap::Args;

use super::shelf::WhichShelf;
use crate::server::listen::ServeRequest;

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
    pub no_browser: bool,
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
