//! `rattlewatch print KIND --from BUNDLE -o FILE.pdf`: paper from the record of one watch.

use anyhow::{Context, anyhow, bail};
use report::{Copy, Folded, Issue, LogSheet, Paper, Request};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use words::Lang;

/// Print paper from the bundle of one watch
///
/// What the record does not hold stays blank, to be filled in by hand. A bundle that does not verify is
/// printed all the same, with a warning on every page, and the exit code is 1 instead of 0. It is 2 when
/// nothing could be printed.
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
    /// With `hours`: also write the shifts as CSV
    #[arg(long, value_name = "FILE.csv")]
    csv: Option<PathBuf>,
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

#[derive(Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Kind {
    /// The night report
    Night,
    /// The log sheet of the watch or shift about that instant
    Sheet,
    /// The incident report
    Incident,
    /// The impairment notice and its tags
    Impairment,
    /// The restoration notice
    Restored,
    /// The hot work permit
    Permit,
    /// The route card of each guard, for the pocket
    Route,
    /// A tag with a code for every stop, to cut out
    Tags,
    /// The custodian's certificate, a draft for counsel
    Certificate,
    /// The time sheet
    Hours,
}

impl Kind {
    /// What `report` makes by that name; a log sheet is laid out by its own room.
    fn paper(self) -> Option<report::Kind> {
        Some(match self {
            Kind::Sheet => return None,
            Kind::Night => report::Kind::Night,
            Kind::Incident => report::Kind::Incident,
            Kind::Impairment => report::Kind::Impairment,
            Kind::Restored => report::Kind::Restored,
            Kind::Permit => report::Kind::Permit,
            Kind::Route => report::Kind::Route,
            Kind::Tags => report::Kind::Tags,
            Kind::Certificate => report::Kind::Certificate,
            Kind::Hours => report::Kind::Hours,
        })
    }
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
    if args.csv.is_some() && args.kind != Kind::Hours {
        bail!("--csv goes with `print hours` only");
    }
    let bytes = std::fs::read(&args.from)
        .with_context(|| format!("{} could not be read", args.from.display()))?;
    let Folded { watch, documents, head, unaltered, last_rx_ms } =
        report::from_bundle(bundle::open(&bytes))?;
    let about_ms = args.about.or(last_rx_ms).unwrap_or(0);
    let paper = match args.paper {
        Sheet::A4 => Paper::A4,
        Sheet::Letter => Paper::Letter,
    };
    let digest = ledger::Digest::of(&bytes);
    let Some(kind) = args.kind.paper() else {
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
        let ident = format!("{} sheet {}", watch.id(), digest);
        write(&args.out, &log_sheet.to_pdf(&ident)?)?;
        return Ok(ended(&args.from, unaltered));
    };
    let request = Request {
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
        bundle: Some(digest),
    };
    let ident = format!("{} {} {} {digest}", watch.id(), kind.name(), args.number);
    if let Some(path) = &args.csv {
        write(path, report::hours_csv(&request).as_bytes())?;
    }
    write(&args.out, &kind.to_pdf(&request, &ident)?)?;
    Ok(ended(&args.from, unaltered))
}

fn write(path: &Path, bytes: &[u8]) -> anyhow::Result<()> {
    std::fs::write(path, bytes).with_context(|| format!("{} could not be written", path.display()))
}

/// Paper from a record that does not verify is printed, says so on every page, and ends with 1.
fn ended(from: &Path, unaltered: report::Unaltered) -> ExitCode {
    if unaltered == report::Unaltered::Checked {
        return ExitCode::SUCCESS;
    }
    eprintln!(
        "rattlewatch: {} does not verify; the pages say so. Run `rattlewatch verify` on it",
        from.display()
    );
    ExitCode::FAILURE
}

/// The order of a log sheet's columns.
fn columns(path: Option<&Path>) -> anyhow::Result<sheet::Columns> {
    let Some(path) = path else { return Ok(sheet::Columns::default()) };
    let named = || path.display().to_string();
    let text =
        std::fs::read_to_string(path).with_context(|| format!("{} could not be read", named()))?;
    text.parse().with_context(named)
}
