//! `rattlewatch verify BUNDLE`: judges the record of one watch.

use crate::file_source::FileSource;
use crate::threads::Threads;
use anyhow::Context;
use bundle::{How, Verdict};
use ledger::Vkey;
use std::io::{IsTerminal, Write};
use std::path::PathBuf;
use std::process::ExitCode;

/// Verify the bundle of one watch: chains, signatures, the log, seals, erasures, photos
///
/// Ends with 0 if all holds, 1 if there are faults, 2 if the bundle could not be read.
#[derive(clap::Args)]
pub(crate) struct Args {
    /// The bundle, a zip file
    bundle: PathBuf,
    /// Print the result as JSON
    #[arg(long)]
    json: bool,
    /// The key of the log, as it came to you another way; may be given several times
    #[arg(long = "log-key", value_name = "KEY")]
    log_keys: Vec<Vkey>,
}

/// Bundles below this size are done before anybody would read how far they are.
const PROGRESS_FROM_BYTES: u64 = 64 * 1024 * 1024;

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let source = FileSource::open(&args.bundle)
        .with_context(|| format!("{} could not be opened", args.bundle.display()))?;
    let mut percent_told = 0;
    let shows = std::io::stderr().is_terminal();
    let mut progress = |done: u64, total: u64| {
        let percent = (done * 100).checked_div(total).unwrap_or(100);
        if shows && total >= PROGRESS_FROM_BYTES && percent > percent_told {
            percent_told = percent;
            eprint!("\r{percent} % of the log verified");
        }
    };
    let how = How {
        workers: &Threads::of_this_machine(),
        progress: &mut progress,
        log_keys: &args.log_keys,
        keep: None,
    };
    let verdict = bundle::verify_with(&source, how)
        .with_context(|| format!("{} could not be read", args.bundle.display()))?;
    if percent_told > 0 {
        eprintln!();
    }
    let mut out = std::io::stdout().lock();
    if args.json {
        writeln!(out, "{}", serde_json::to_string(&verdict)?)?;
    } else {
        print(&verdict, &mut out)?;
    }
    Ok(if verdict.ok { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn print(verdict: &Verdict, out: &mut impl Write) -> std::io::Result<()> {
    let watch = verdict.watch.as_ref().map_or("This bundle", |watch| watch.as_str());
    match verdict.faults.len() {
        0 => writeln!(out, "{watch}: all holds.")?,
        1 => writeln!(out, "{watch}: 1 fault.")?,
        count => writeln!(out, "{watch}: {count} faults.")?,
    }
    writeln!(out, "{} lines of {} devices verified.", verdict.lines, verdict.devices)?;
    if let Some(head) = &verdict.head {
        writeln!(
            out,
            "Newest head: {} with {} leaves, root {}.",
            head.origin, head.size, head.root
        )?;
    }
    for key in &verdict.log_keys {
        writeln!(out, "Log key: {key}")?;
    }
    if let Some(server) = &verdict.server {
        writeln!(out, "Server: {server}")?;
    }
    if !verdict.faults.is_empty() {
        writeln!(out, "\nWrong:")?;
    }
    for fault in &verdict.faults {
        match (fault.file.as_str(), fault.line) {
            ("", _) => writeln!(out, "- {}", fault.says)?,
            (file, None) => writeln!(out, "- {file}: {}", fault.says)?,
            (file, Some(line)) => writeln!(out, "- {file}, line {line}: {}", fault.says)?,
        }
    }
    writeln!(out, "\nThis does not show:")?;
    verdict.cannot_know.iter().try_for_each(|open| writeln!(out, "- {open}"))
}
