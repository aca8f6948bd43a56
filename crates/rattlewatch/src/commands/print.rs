//! `rattlewatch print KIND --from BUNDLE -o FILE.pdf`: paper from the record of one watch.

use anyhow::{Context, anyhow, bail};
use ledger::LineId;
use record::ReviewOf;
use report::{Amended, Copy, Folded, Issue, LogSheet, Nth, Paper, Request, Stretch};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use watch::Watch;
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
    /// The language of the answer: en or es
    #[arg(long, value_name = "TAG", value_parser = super::language, default_value = "en")]
    lang: Lang,
    /// The sheet
    #[arg(long, value_enum, default_value = "a4")]
    paper: Sheet,
    /// Who reads it: the own house also sees what only asks somebody to look
    #[arg(long, value_enum, default_value = "client")]
    copy: Reader,
    /// With `hours`: also write the shifts as CSV
    #[arg(long, value_name = "FILE.csv")]
    csv: Option<PathBuf>,
    /// Report one shift: 1 for the first, 2, … or `last`
    #[arg(long, value_name = "N", value_parser = shift, conflicts_with_all = ["day", "since"])]
    shift: Option<Nth>,
    /// Report one day of the watch, 24 hours from its beginning: the date on which it began, 2026-03-02
    #[arg(long, value_name = "DATE", conflicts_with = "since")]
    day: Option<String>,
    /// Report the watch about this instant, such as 2026-03-02T06:00:00-06:00; the last receipt in the
    /// bundle if not given
    #[arg(long, value_name = "TIME", value_parser = super::instant)]
    about: Option<i64>,
    /// Report only from this instant on
    #[arg(long, value_name = "TIME", value_parser = super::instant, requires = "until")]
    since: Option<i64>,
    /// … until this instant
    #[arg(long, value_name = "TIME", value_parser = super::instant, requires = "since")]
    until: Option<i64>,
    /// What the stretch of --since and --until is called
    #[arg(long, value_enum, requires = "since")]
    of: Option<Of>,
    /// Amend this report of the same stretch, which the record says went out; what changed is worked out
    #[arg(long, value_name = "NUMBER")]
    amends: Option<u32>,
    /// The number of this report, where it is not the first and nothing is amended
    #[arg(long, default_value_t = 1, conflicts_with = "amends")]
    number: u32,
    /// Know only what this line of kind `sealed` counts
    #[arg(long, value_name = "LINE")]
    counted: Option<LineId>,
    /// When the report is issued; the last receipt in the bundle if not given
    #[arg(long, value_name = "TIME", value_parser = super::instant)]
    issued: Option<i64>,
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
enum Of {
    Shift,
    Day,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Reader {
    Client,
    House,
}

pub(crate) fn run(args: Args) -> anyhow::Result<ExitCode> {
    let lang = args.lang;
    if args.csv.is_some() && args.kind != Kind::Hours {
        bail!("--csv goes with `print hours` only");
    }
    let bytes = std::fs::read(&args.from)
        .with_context(|| format!("{} could not be read", args.from.display()))?;
    let folded = report::from_bundle(bundle::open(&bytes))?;
    let Folded { watch: whole, documents, head, unaltered, last_rx_ms } = folded;
    let counted = args.counted.map(|line| as_counted(&whole, line)).transpose()?;
    let watch = counted.as_ref().unwrap_or(&whole);
    let last_rx_ms = match counted {
        Some(_) => last_receipt(watch),
        None => last_rx_ms,
    };
    let about_ms = args.about.or(last_rx_ms).unwrap_or(0);
    let paper = match args.paper {
        Sheet::A4 => Paper::A4,
        Sheet::Letter => Paper::Letter,
    };
    let digest = ledger::Digest::of(&bytes);
    let stretch = stretch(&args, watch, about_ms)?;
    let Some(kind) = args.kind.paper() else {
        let columns = columns(args.columns.as_deref())?;
        let log_sheet = LogSheet {
            watch,
            about_ms,
            span_ms: stretch.map(|stretch| (stretch.from_ms, stretch.until_ms)),
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
    if args.amends.is_some() && kind != report::Kind::Night {
        bail!("--amends goes with `print night` only");
    }
    let before = args.amends.map(|number| before(&whole, about_ms, stretch, number)).transpose()?;
    let issue = Issue {
        number: args.amends.map_or(args.number, |amended| amended + 1),
        issued_ms: args.issued.or(last_rx_ms).unwrap_or(about_ms),
    };
    let request = Request {
        watch,
        about_ms,
        stretch,
        documents: &documents,
        head,
        unaltered,
        copy: match args.copy {
            Reader::Client => Copy::Client,
            Reader::House => Copy::House,
        },
        issue,
        amends: before.as_ref().map(|before| Amended {
            watch: &before.watch,
            first_issued_ms: before.first_issued_ms,
            issued_ms: before.issued_ms,
        }),
        lang,
        paper,
        bundle: Some(digest),
    };
    let ident = format!("{} {} {} {digest}", watch.id(), kind.name(), issue.number);
    if let Some(path) = &args.csv {
        write(path, report::hours_csv(&request).as_bytes())?;
    }
    write(&args.out, &kind.to_pdf(&request, &ident)?)?;
    Ok(ended(&args.from, unaltered))
}

/// What `--shift`, `--day` or `--since` and `--until` ask for.
fn stretch(args: &Args, watch: &Watch, about_ms: i64) -> anyhow::Result<Option<Stretch>> {
    if let Some(nth) = args.shift {
        return Ok(Some(Stretch::shift(watch, about_ms, nth)?));
    }
    if let Some(date) = &args.day {
        return Ok(Some(Stretch::day(watch, about_ms, date)?));
    }
    let of = args.of.map(|of| match of {
        Of::Shift => ReviewOf::Shift,
        Of::Day => ReviewOf::Day,
    });
    let stretch = |(from_ms, until_ms)| Stretch { of, from_ms, until_ms };
    Ok(args.since.zip(args.until).map(stretch))
}

fn shift(text: &str) -> Result<Nth, String> {
    match text {
        "last" => Ok(Nth::Last),
        _ => text.parse().map(Nth::Number).map_err(|_| "a number from 1, or `last`".to_owned()),
    }
}

/// The watch as one count of its chains has it.
fn as_counted(watch: &Watch, line: LineId) -> anyhow::Result<Watch> {
    watch.as_counted(line).ok_or_else(|| {
        anyhow!(
            "{line} is no line of kind `sealed` in this bundle: `rattlewatch verify` lists what is"
        )
    })
}

fn last_receipt(watch: &Watch) -> Option<i64> {
    watch.lines().filter_map(|line| Some(watch.sealing(line.id)?.rx_ms)).max()
}

/// The report that is amended, as the record says that it went out.
struct Before {
    watch: Watch,
    first_issued_ms: i64,
    issued_ms: i64,
}

fn before(
    watch: &Watch,
    about_ms: i64,
    stretch: Option<Stretch>,
    number: u32,
) -> anyhow::Result<Before> {
    let state = watch.about(last_receipt(watch).unwrap_or(about_ms).max(about_ms));
    let reported = |number| {
        report::issued(&state, stretch, number).and_then(|delivery| delivery.report.clone())
    };
    let of = reported(number).ok_or_else(|| {
        anyhow!("the record does not say that report {number} of this stretch went out: print it first without --amends")
    })?;
    let first = reported(1).map_or(of.issued_ms, |first| first.issued_ms);
    Ok(Before {
        watch: as_counted(watch, of.counted)?,
        first_issued_ms: first,
        issued_ms: of.issued_ms,
    })
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
