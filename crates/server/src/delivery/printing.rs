//! The report is printed by a child process: one at a time, with a time-out, so that a report that
//! goes wrong or takes long never keeps an alert waiting.

use super::Report;
use crate::problem::Problem;
use crate::secret;
use crate::server::App;
use record::ReviewOf;
use std::path::Path;
use std::process::Stdio;
use std::time::Duration;
use tokio::process::Command;
use tokio::sync::Mutex;
use words::Lang;

/// Longer than any report takes (our own default).
const TIMEOUT: Duration = Duration::from_secs(120);

/// More address space than any report takes (our own default).
#[cfg(target_os = "linux")]
const MEMORY_KIB: u64 = 4 * 1024 * 1024;

static ONE_AT_A_TIME: Mutex<()> = Mutex::const_new(());

/// The program with a limit on its memory, where the system knows one: a report that grows without end
/// ends itself, not the server.
#[cfg(target_os = "linux")]
fn limited(program: &Path) -> Command {
    let mut command = Command::new("sh");
    // The shell sets the limit on itself and then becomes the program; a system that refuses the
    // limit prints without it.
    let script = format!("ulimit -v {MEMORY_KIB} 2>/dev/null; exec \"$0\" \"$@\"");
    command.args(["-c", &script]).arg(program);
    command
}

#[cfg(not(target_os = "linux"))]
fn limited(program: &Path) -> Command {
    Command::new(program)
}

/// What is printed.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Print<'a> {
    /// The language of whoever reads it.
    pub(crate) lang: Lang,
    /// The report; none: the whole watch as it stands.
    pub(crate) report: Option<&'a Report>,
}

impl Print<'_> {
    /// The options of `rattlewatch print night`.
    fn options(self) -> Vec<String> {
        let mut options = vec!["--lang".to_owned(), self.lang.tag().to_owned()];
        let Some(report) = self.report else { return options };
        let mut option = |name: &str, value: String| options.extend([name.to_owned(), value]);
        let of = match report.of {
            ReviewOf::Shift => Some("shift"),
            ReviewOf::Day => Some("day"),
            ReviewOf::Watch => None,
        };
        if let Some(of) = of {
            option("--since", report.from_ms.to_string());
            option("--until", report.until_ms.to_string());
            option("--of", of.to_owned());
        }
        if let Some(issued) = &report.issued {
            option("--counted", issued.counted.to_string());
            option("--issued", issued.at_ms.to_string());
        }
        if report.number > 1 {
            option("--amends", (report.number - 1).to_string());
        }
        options
    }
}

/// Prints a night report from a bundle.
pub(crate) async fn print(app: &App, bundle: &[u8], what: Print<'_>) -> Result<Vec<u8>, Problem> {
    let Some(program) = &app.options.printer else {
        return Err(Problem::Machine("no program is named that prints reports".to_owned()));
    };
    let _turn = ONE_AT_A_TIME.lock().await;
    let folder = app.options.data.join("printing").join(secret::id("r"));
    let failed = |what: &str, error: &dyn std::fmt::Display| {
        Problem::Machine(format!("the report could not be printed: {what}: {error}"))
    };
    tokio::fs::create_dir_all(&folder).await.map_err(|e| failed("no folder", &e))?;
    let (from, to) = (folder.join("watch.zip"), folder.join("night.pdf"));
    tokio::fs::write(&from, bundle).await.map_err(|e| failed("the bundle", &e))?;
    let child = limited(program)
        .args(["print", "night", "--from"])
        .arg(&from)
        .arg("-o")
        .arg(&to)
        .args(what.options())
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .kill_on_drop(true)
        .output();
    let output = tokio::time::timeout(TIMEOUT, child).await;
    let printed = match output {
        Err(_) => Err(failed("it took too long", &"stopped after 120 s")),
        Ok(Err(error)) => Err(failed("the program", &error)),
        // 1 is a report from a record that does not verify: it goes out, and says so on every page.
        Ok(Ok(output)) if !matches!(output.status.code(), Some(0 | 1)) => {
            let says = String::from_utf8_lossy(&output.stderr).trim().to_owned();
            Err(failed("the program", &says))
        }
        Ok(Ok(_)) => tokio::fs::read(&to).await.map_err(|e| failed("the report", &e)),
    };
    // Whether or not it went well, nothing of the watch stays behind.
    if let Err(error) = tokio::fs::remove_dir_all(&folder).await {
        tracing::warn!(%error, "a folder of a printed report could not be removed");
    }
    printed
}
