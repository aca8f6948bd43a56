//! `rattlewatch demo`: the demonstration in a folder of its own, served.

use super::serve::start;
use std::net::SocketAddr;
use std::path::PathBuf;
use std::process::ExitCode;

/// Show everything with Gannet Quay, a made-up place where nothing can be dialled
///
/// Makes a new folder for each run, opens a watch there and serves it.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The folder of everything that is kept; must be new
    #[arg(long)]
    data: Option<PathBuf>,
    /// Where to listen
    #[arg(long, default_value = "127.0.0.1:8090")]
    listen: SocketAddr,
    /// Where mail is handed in, if reports are to go out
    #[arg(long)]
    smtp: Option<String>,
    /// The folder with the phone's files
    #[arg(long, default_value = "target/web")]
    web: PathBuf,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let own = || PathBuf::from(format!("target/demo/{}", std::process::id()));
    let data = args.data.unwrap_or_else(own);
    let options = server::Options {
        listen: args.listen,
        smtp: args.smtp,
        printer: std::env::current_exe().ok(),
        web: Some(args.web),
        ..server::Options::in_folder(&data)
    };
    start(options, true, false)
}
