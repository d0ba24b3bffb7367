//! Settings, each with its flag and its environment variable.

use std::net::SocketAddr;
use std::path::PathBuf;

/// The folder for the data when none is named.
pub const DATA: &str = "data";

/// How the server is run.
#[derive(Clone, Debug, clap::Args)]
pub struct Config {
    /// Folder that holds the database file; it is made if it is missing
    #[arg(long, env = "SLACKWATER_DATA", default_value = DATA)]
    pub data: PathBuf,

    /// Address and port to listen on; 127.0.0.1 is reached from this machine only
    #[arg(long, env = "SLACKWATER_LISTEN", default_value = "127.0.0.1:8642")]
    pub listen: SocketAddr,

    /// Set this when people reach the server over HTTPS: the session cookie is then sent over HTTPS only
    #[arg(long, env = "SLACKWATER_HTTPS")]
    pub https: bool,
}

impl Config {
    /// The database file inside the data folder.
    pub fn database(&self) -> PathBuf {
        self.data.join("slackwater.db")
    }
}
