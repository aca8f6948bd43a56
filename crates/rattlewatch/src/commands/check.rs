//! `rattlewatch check ADDRESS`: whether a server that was just set up can be relied on tonight, seen from
//! outside as phones and desks will see it, and what to do where it cannot.

mod folder;
mod outside;
mod phone_files;

use anyhow::{Context, ensure};
use std::path::PathBuf;
use std::process::ExitCode;

/// Check a deployment: the way to the server, its certificate, clock, proxy, phone files, folders
///
/// Give the address that people and phones use. Nothing is written. Ends with 0 if all holds, 1 if
/// something does not (each line says what to do), 2 if nothing could be asked.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The address of the server, for instance `https://desk.example.org`
    address: String,
    /// A certificate to trust besides those of this machine, PEM
    #[arg(long, value_name = "FILE")]
    ca: Option<PathBuf>,
    /// The data folder, if the server runs on this machine
    #[arg(long, value_name = "FOLDER")]
    data: Option<PathBuf>,
    /// The folder of the high-water marks, if it is not in the data folder
    #[arg(long, requires = "data")]
    high_water: Option<PathBuf>,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
}

/// What one look found.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Found {
    /// What was looked at, one word.
    what: &'static str,
    ok: bool,
    /// What was found and, where it does not hold, what to do next.
    says: String,
}

impl Found {
    fn holds(what: &'static str, says: impl Into<String>) -> Found {
        Found { what, ok: true, says: says.into() }
    }

    fn fails(what: &'static str, says: impl Into<String>) -> Found {
        Found { what, ok: false, says: says.into() }
    }
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let address = args.address.trim_end_matches('/').to_owned();
    ensure!(
        address.starts_with("https://") || address.starts_with("http://"),
        "{address} is no address: write it with https://, for instance https://desk.example.org"
    );
    let ca = args
        .ca
        .as_ref()
        .map(|file| std::fs::read(file).with_context(|| file.display().to_string()));
    let server = outside::Server::new(address, ca.transpose()?.as_deref())?;
    let runtime = tokio::runtime::Runtime::new().context("the runtime could not be started")?;
    let mut found = runtime.block_on(async {
        let mut found = server.look().await;
        if found.iter().all(|found| found.what != "answer" || found.ok) {
            found.push(phone_files::look(&server).await);
        }
        found
    });
    if let Some(data) = &args.data {
        let marks = args.high_water.unwrap_or_else(|| data.join("high-water"));
        found.extend(folder::look(data, &marks));
    }
    print(&found, args.json);
    Ok(if found.iter().all(|found| found.ok) { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn print(found: &[Found], json: bool) {
    if json {
        let checks: Vec<_> = found
            .iter()
            .map(
                |found| serde_json::json!({"what": found.what, "ok": found.ok, "says": found.says}),
            )
            .collect();
        let ok = found.iter().all(|found| found.ok);
        println!("{}", serde_json::json!({"ok": ok, "checks": checks}));
        return;
    }
    for found in found {
        let mark = if found.ok { "holds" } else { "FAILS" };
        println!("{mark}  {:<12}{}", found.what, found.says);
    }
    let failed = found.iter().filter(|found| !found.ok).count();
    match failed {
        0 => println!(
            "\nAll {} hold. Ring one guard's phone and send one trial alert as well.",
            found.len()
        ),
        1 => println!("\n1 of {} does not hold.", found.len()),
        _ => println!("\n{failed} of {} do not hold.", found.len()),
    }
}
