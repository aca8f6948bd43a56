//! The subcommands. A new one is a file here with `Args` and `run`, its `mod` line and its line in
//! the table below.

mod backup;
mod check;
mod export;
mod findings;
mod import;
mod man;
mod moving;
mod opened;
mod plan_export;
mod print;
mod read_sheet;
mod replan;
mod restore;
mod rounds;
mod route;
mod serve;
mod staff;
mod survey;
mod terms;
mod verify;

use clap::{Parser, Subcommand};
use std::process::ExitCode;

/// Runs a fire watch and keeps a record that strangers can verify.
#[derive(Parser)]
#[command(name = "rattlewatch", version, after_help = BEGIN)]
struct Program {
    #[command(subcommand)]
    command: Command,
}

/// Where to begin, below the list of commands.
const BEGIN: &str = "\
Begin with `rattlewatch serve`: it prints a link to the first account of the desk.
Somebody gave you a bundle: `rattlewatch verify BUNDLE`, then `rattlewatch findings BUNDLE`.
`rattlewatch COMMAND --help` says what each takes and with which code it ends.";

macro_rules! commands {
    ($($name:ident = $module:ident,)*) => {
        #[derive(Subcommand)]
        enum Command {
            $($name($module::Args),)*
        }

        impl Command {
            fn run(self) -> anyhow::Result<ExitCode> {
                match self {
                    $(Command::$name(args) => $module::run(args),)*
                }
            }
        }
    };
}

// In the order of the help: the house, its copies, a watch given away, plans and rounds, people and terms.
commands! {
    Serve = serve,
    Check = check,
    Backup = backup,
    Restore = restore,
    Move = moving,
    Export = export,
    Verify = verify,
    Findings = findings,
    Print = print,
    ReadSheet = read_sheet,
    Import = import,
    Survey = survey,
    PlanExport = plan_export,
    Route = route,
    Replan = replan,
    Staff = staff,
    Terms = terms,
    Man = man,
}

/// Exit code when something could not even be begun: a file that cannot be read, a wrong argument.
const COULD_NOT: u8 = 2;

/// A language that the words are there in, by its tag or a tag of its kind (`es-MX`).
fn language(tag: &str) -> Result<words::Lang, String> {
    let primary = tag.split(['-', '_']).next().unwrap_or_default();
    let found = words::Lang::ALL.into_iter().find(|lang| lang.tag().eq_ignore_ascii_case(primary));
    found.ok_or_else(|| {
        let all: Vec<&str> = words::Lang::ALL.iter().map(|lang| lang.tag()).collect();
        format!("there is no such language; there are {}", all.join(" and "))
    })
}

/// An instant, ms since 1970 UTC: as RFC 3339 writes it, or as that number.
fn instant(text: &str) -> Result<i64, String> {
    let written = |_| text.parse::<jiff::Timestamp>().map(|at| at.as_millisecond());
    text.parse::<i64>().or_else(written).map_err(|_| {
        "write date, time and zone, for instance 2026-03-02T06:00:00-06:00, or the milliseconds since 1970 UTC"
            .to_owned()
    })
}

/// So many of something, in figures.
fn count(n: u64, one: &str, more: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { more })
}

/// Makes a folder that must be empty, for its owner only.
fn empty_folder(path: &std::path::Path) -> anyhow::Result<()> {
    use anyhow::Context;
    std::fs::create_dir_all(path).with_context(|| path.display().to_string())?;
    let mut files = std::fs::read_dir(path).with_context(|| path.display().to_string())?;
    anyhow::ensure!(files.next().is_none(), "{} is not empty: name another folder", path.display());
    #[cfg(unix)]
    std::fs::set_permissions(path, std::os::unix::fs::PermissionsExt::from_mode(0o700))?;
    Ok(())
}

/// Copies the private keys, each for its owner only.
fn copy_keys(from: &std::path::Path, to: &std::path::Path) -> anyhow::Result<()> {
    use anyhow::Context;
    empty_folder(to)?;
    for file in std::fs::read_dir(from).with_context(|| from.display().to_string())? {
        let file = file?;
        // The permissions travel with the copy.
        std::fs::copy(file.path(), to.join(file.file_name()))
            .with_context(|| file.path().display().to_string())?;
    }
    Ok(())
}

/// Runs the subcommand that the arguments name.
pub(crate) fn run() -> ExitCode {
    match Program::parse().command.run() {
        Ok(code) => code,
        Err(error) => {
            if !is_broken_pipe(&error) {
                eprintln!("rattlewatch: {}", why(&error));
            }
            ExitCode::from(COULD_NOT)
        }
    }
}

/// Prints a result. Output that cannot be written is an error with its exit code, where `print!` would panic.
fn put(text: &str) -> anyhow::Result<()> {
    use std::io::Write;
    let mut out = std::io::stdout().lock();
    out.write_all(text.as_bytes())?;
    Ok(out.flush()?)
}

/// Whoever read what is printed has read enough and gone: `rattlewatch findings … | head`.
fn is_broken_pipe(error: &anyhow::Error) -> bool {
    let io = error.downcast_ref::<std::io::Error>();
    io.is_some_and(|io| io.kind() == std::io::ErrorKind::BrokenPipe)
}

/// An error with its causes, each said once: many say their cause in their own words already.
fn why(error: &anyhow::Error) -> String {
    error.chain().map(ToString::to_string).fold(String::new(), |said, cause| match said {
        said if said.is_empty() => cause,
        said if said.contains(&cause) => said,
        said => format!("{said}: {cause}"),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use anyhow::Context;

    #[test]
    fn an_instant_is_a_number_or_has_its_zone() {
        // 2026-03-02 12:00 UTC is 06:00 six hours behind it.
        for text in ["1772452800000", "2026-03-02T06:00:00-06:00", "2026-03-02T12:00:00Z"] {
            assert_eq!(instant(text), Ok(1_772_452_800_000), "{text}");
        }
        assert!(instant("2026-03-02T06:00:00").unwrap_err().contains("zone"));
    }

    #[test]
    fn a_language_that_is_not_there_is_refused() {
        assert_eq!(language("es-MX"), Ok(words::Lang::Es));
        assert!(language("fr").unwrap_err().contains("en and es"));
    }

    #[test]
    fn a_cause_is_said_once() {
        let error = floorplan::Plan::read(b"root:x:0:0").context("plan.json").unwrap_err();
        let said = why(&error);
        assert!(said.starts_with("plan.json: this is no plan file: expected value"), "{said}");
        assert_eq!(said.matches("expected value").count(), 1, "{said}");
        let missing = std::fs::read("/no/such/file").context("the bundle").unwrap_err();
        assert!(why(&missing).starts_with("the bundle: "), "{}", why(&missing));
    }
}
