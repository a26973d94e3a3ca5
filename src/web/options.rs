//! How to serve, and what keeps it from starting.

use crate::read::Settings;
use std::net::SocketAddr;

/// How to serve.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Open to other devices; every request then needs a paired device.
    pub lan: bool,
    /// How photos are read.
    pub reading: Settings,
    /// Where phones find this machine, such as `http://192.168.1.20:8080`; for the code to scan.
    pub address: Option<String>,
}

/// Why the server stopped or did not start.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The port is taken, or may not be used.
    #[error("{address}: cannot listen there: {source}; choose another port with --port")]
    Listen {
        /// Where.
        address: SocketAddr,
        /// What the system says.
        source: std::io::Error,
    },
    /// The server failed.
    #[error("the server stopped: {0}; start it again, nothing is lost")]
    Serve(std::io::Error),
    /// The system gives no random numbers.
    #[error("no code for pairing could be made: {0}")]
    Code(String),
}
