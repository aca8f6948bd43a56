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
#[command(name = "rattlewatch", version)]
struct Program {
    #[command(subcommand)]
    command: Command,
}

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

commands! {
    Backup = backup,
    Check = check,
    Export = export,
    Findings = findings,
    Import = import,
    Man = man,
    Move = moving,
    PlanExport = plan_export,
    Print = print,
    ReadSheet = read_sheet,
    Replan = replan,
    Serve = serve,
    Survey = survey,
    Restore = restore,
    Route = route,
    Staff = staff,
    Terms = terms,
    Verify = verify,
}

/// Exit code when something could not even be begun: a file that cannot be read, a wrong argument.
const COULD_NOT: u8 = 2;

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
    fn a_cause_is_said_once() {
        let error = floorplan::Plan::read(b"root:x:0:0").context("plan.json").unwrap_err();
        let said = why(&error);
        assert!(said.starts_with("plan.json: this is no plan file: expected value"), "{said}");
        assert_eq!(said.matches("expected value").count(), 1, "{said}");
        let missing = std::fs::read("/no/such/file").context("the bundle").unwrap_err();
        assert!(why(&missing).starts_with("the bundle: "), "{}", why(&missing));
    }
}
