//! From a request to serve to a server that listens, until it is told to stop.

use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::thread;
use std::time::Duration;

use thiserror::Error;
use tokio::net::TcpListener;
use uuid::Uuid;

use super::access::AccessControl;
use super::{Settings, Shared, router};

/// Port that is tried first, so that a bookmark works again tomorrow.
pub const USUAL_PORT: u16 = 7550;
/// How long answers that are on their way are waited for at the end.
const PATIENCE: Duration = Duration::from_secs(2);
/// Shortest token that may be chosen, characters.
const SHORTEST_TOKEN: usize = 16;

/// What is asked of a server.
#[derive(Clone, Debug)]
pub struct ServeRequest {
    /// Interface; the loopback interface if absent.
    pub listen: Option<IpAddr>,
    /// Port; the usual one if absent, or one that is free.
    pub port: Option<u16>,
    /// Names that this machine goes by, for an interface that others reach.
    pub names: Vec<String>,
    /// Token for an interface that others reach; made up if absent.
    pub token: Option<String>,
    /// File of the shelf.
    pub shelf: Option<PathBuf>,
}

/// Why nothing is served.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ServeError {
    /// The address is taken or not ours.
    #[error("cannot listen on {address}")]
    Listen {
        /// Which.
        address: SocketAddr,
        /// What the system says.
        source: io::Error,
    },
    /// A token that can be guessed.
    #[error(
        "the token has {found} characters: expected at least {SHORTEST_TOKEN} letters, digits, `-` or `_`"
    )]
    Token {
        /// Its length.
        found: usize,
    },
    /// The threads can't be started, or the server stops by itself.
    #[error("the server stopped")]
    Stopped(#[source] io::Error),
}

impl ServeError {
    /// One next step.
    pub fn help(&self) -> Option<&'static str> {
        match self {
            Self::Listen { .. } => Some("choose another address with `--listen` or `--port`"),
            Self::Token { .. } => Some("omit `--token` to have one generated"),
            Self::Stopped(_) => None,
        }
    }
}

/// What is being served, for whoever started it.
#[derive(Clone, Debug)]
pub struct Served {
    /// Where it listens.
    pub address: SocketAddr,
    /// Token that others need; absent on the loopback interface.
    pub token: Option<String>,
}

/// Serves until the process is told to stop; `started` is called when it listens.
///
/// # Errors
/// [`ServeError`].
pub fn serve(request: &ServeRequest, started: impl FnOnce(&Served)) -> Result<(), ServeError> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .map_err(ServeError::Stopped)?;
    let served = runtime.block_on(run(request, started));
    // What is still being computed is nobody's any more.
    runtime.shutdown_background();
    served
}

async fn run(request: &ServeRequest, started: impl FnOnce(&Served)) -> Result<(), ServeError> {
    let ip = request.listen.unwrap_or(Ipv4Addr::LOCALHOST.into());
    let token = (!ip.is_loopback()).then(|| token(request.token.as_deref()));
    let token = token.transpose()?;
    let listener = listener(ip, request.port).await?;
    let address = listener.local_addr().map_err(ServeError::Stopped)?;
    let access = match &token {
        Some(token) => AccessControl::with_token(address, request.names.clone(), token.clone()),
        None => AccessControl::loopback(address),
    };
    let shared = Shared::new(Settings {
        shelf: request.shelf.clone(),
        access,
        workers: thread::available_parallelism().map_or(1, usize::from),
    });
    started(&Served { address, token });
    let serving = axum::serve(listener, router(shared)).with_graceful_shutdown(told_to_stop());
    tokio::select! {
        served = serving => served.map_err(ServeError::Stopped),
        () = patience_ends() => Ok(()),
    }
}

/// The port that is asked for; else the usual one, or, if that is taken, any.
async fn listener(ip: IpAddr, port: Option<u16>) -> Result<TcpListener, ServeError> {
    let usual = SocketAddr::new(ip, port.unwrap_or(USUAL_PORT));
    let bound = match TcpListener::bind(usual).await {
        Err(error) if port.is_none() && error.kind() == io::ErrorKind::AddrInUse => {
            TcpListener::bind(SocketAddr::new(ip, 0)).await
        }
        bound => bound,
    };
    bound.map_err(|source| ServeError::Listen {
        address: usual,
        source,
    })
}

fn token(chosen: Option<&str>) -> Result<String, ServeError> {
    let Some(chosen) = chosen else {
        return Ok(Uuid::new_v4().simple().to_string());
    };
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if chosen.len() >= SHORTEST_TOKEN && chosen.chars().all(plain) {
        Ok(chosen.to_owned())
    } else {
        let found = chosen.chars().count();
        Err(ServeError::Token { found })
    }
}

/// Ends at Ctrl-C.
async fn told_to_stop() {
    let _no_signal_no_stop = tokio::signal::ctrl_c().await;
}

/// Ends a little later: a stream of progress would hold a graceful end up.
async fn patience_ends() {
    told_to_stop().await;
    tokio::time::sleep(PATIENCE).await;
}
