//! `rattlewatch print KIND --from BUNDLE -o FILE.pdf`: paper from the record of one watch.

use anyhow::{Context, anyhow};
use report::{Copy, Folded, Issue, LogSheet, Night, Paper};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use words::Lang;

/// Print paper from the bundle of one watch
#[derive(clap::Args)]
pub(crate) struct Args {
    /// What to print
    #[arg(value_enum)]
    kind: Kind,
    /// The bundle, a zip file
    #[arg(long, value_name = "BUNDLE")]
    from: PathBuf,
    /// Where to write the PDF
    #[arg(short, long, value_name = "FILE.pdf")]
    out: PathBuf,
    /// The language: en or es
    #[arg(long, default_value = "en")]
    lang: String,
    /// The sheet
    #[arg(long, value_enum, default_value = "a4")]
    paper: Sheet,
    /// Who reads it: the own house also sees what only asks somebody to look
    #[arg(long, value_enum, default_value = "client")]
    copy: Reader,
    /// The number of this report; 2 and more amend the one before
    #[arg(long, default_value_t = 1)]
    number: u32,
    /// What an amendment changes; may be given several times
    #[arg(long = "changes", value_name = "TEXT")]
    changes: Vec<String>,
    /// Report the watch about this instant, ms since 1970 UTC; the last receipt in the bundle if not given
    #[arg(long, value_name = "MS")]
    about: Option<i64>,
    /// Report only from this instant on, ms since 1970 UTC
    #[arg(long, value_name = "MS", requires = "until")]
    since: Option<i64>,
    /// … until this instant, ms since 1970 UTC
    #[arg(long, value_name = "MS", requires = "since")]
    until: Option<i64>,
    /// A log sheet filled from the record instead of one to fill in by hand
    #[arg(long)]
    filled: bool,
    /// The order of a log sheet's columns: a file with one name on each line
    #[arg(long, value_name = "FILE")]
    columns: Option<PathBuf>,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Kind {
    /// The night report
    Night,
    /// The log sheet of the watch or shift about that instant
    Sheet,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Sheet {
    A4,
    Letter,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Reader {
    Client,
    House,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let lang = Lang::ALL
        .into_iter()
        .find(|lang| lang.tag() == args.lang)
        .ok_or_else(|| anyhow!("there is no language {:?}; there are en and es", args.lang))?;
    let bytes = std::fs::read(&args.from)
        .with_context(|| format!("{} could not be read", args.from.display()))?;
    let Folded { watch, documents, head, unaltered, last_rx_ms } =
        report::from_bundle(bundle::open(&bytes))?;
    let about_ms = args.about.or(last_rx_ms).unwrap_or(0);
    let paper = match args.paper {
        Sheet::A4 => Paper::A4,
        Sheet::Letter => Paper::Letter,
    };
    if let Kind::Sheet = args.kind {
        let columns = columns(args.columns.as_deref())?;
        let log_sheet = LogSheet {
            watch: &watch,
            about_ms,
            span_ms: args.since.zip(args.until),
            documents: &documents,
            unaltered,
            filled: args.filled,
            columns: &columns,
            lang,
            paper,
        };
        let ident = format!("{} sheet {}", watch.id(), ledger::Digest::of(&bytes));
        return write(&args.out, &log_sheet.to_pdf(&ident)?);
    }
    let night = Night {
        watch: &watch,
        about_ms,
        span_ms: args.since.zip(args.until),
        documents: &documents,
        head,
        unaltered,
        copy: match args.copy {
            Reader::Client => Copy::Client,
            Reader::House => Copy::House,
        },
        issue: Issue { number: args.number, issued_ms: about_ms, changes: args.changes },
        lang,
        paper,
    };
    let ident = format!("{} {} {}", watch.id(), args.number, ledger::Digest::of(&bytes));
    let pdf = report::compose(&night).to_pdf(&ident, about_ms)?;
    write(&args.out, &pdf)
}

fn write(path: &Path, pdf: &[u8]) -> anyhow::Result<ExitCode> {
    std::fs::write(path, pdf)
        .with_context(|| format!("{} could not be written", path.display()))?;
    Ok(ExitCode::SUCCESS)
}

/// The order of a log sheet's columns.
fn columns(path: Option<&Path>) -> anyhow::Result<sheet::Columns> {
    let Some(path) = path else { return Ok(sheet::Columns::default()) };
    let named = || path.display().to_string();
    let text =
        std::fs::read_to_string(path).with_context(|| format!("{} could not be read", named()))?;
    text.parse().with_context(named)
}
