//! A throw-away PostgreSQL cluster for the tests of one run, on a free port, in a folder that goes
//! when the run ends, however it ends.

use sqlx::{AssertSqlSafe, Connection, PgConnection};
use std::net::TcpListener;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

/// The URL of a new, empty database.
pub(crate) async fn new_database() -> String {
    static CLUSTER: OnceLock<Cluster> = OnceLock::new();
    static COUNT: AtomicU32 = AtomicU32::new(0);
    let start = tokio::task::spawn_blocking(|| CLUSTER.get_or_init(Cluster::start).port.clone());
    let server = format!("postgres://postgres@127.0.0.1:{}", start.await.unwrap());
    let name = format!("t{}", COUNT.fetch_add(1, Ordering::Relaxed));
    let mut connection = PgConnection::connect(&format!("{server}/postgres")).await.unwrap();
    let create = AssertSqlSafe(format!("CREATE DATABASE {name} TEMPLATE template0"));
    sqlx::query(create).execute(&mut connection).await.unwrap();
    format!("{server}/{name}")
}

struct Cluster {
    programs: PathBuf,
    port: String,
    /// Ends the cluster when this process is gone and the pipe to it closes.
    _keeper: Option<std::process::Child>,
}

impl Cluster {
    fn start() -> Cluster {
        let programs = programs();
        let folder = tempfile::Builder::new().prefix("store-pg-").tempdir().unwrap().keep();
        // The server refuses to run as root; as root the whole folder belongs to `postgres`.
        std::fs::set_permissions(&folder, std::fs::Permissions::from_mode(0o777)).unwrap();
        let port =
            TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port().to_string();
        let data = folder.join("data").display().to_string();
        let sockets = folder.display().to_string();
        let mut cluster = Cluster { programs, port, _keeper: None };
        let stop = cluster.command("pg_ctl", &["-D", &data, "-m", "immediate", "stop"]);
        cluster._keeper = Some(keeper(&folder, &stop));
        cluster.run("initdb", &["-A", "trust", "-U", "postgres", "-D", &data, "-N"]);
        let settings = format!(
            "-c listen_addresses=127.0.0.1 -c port={} -c unix_socket_directories={sockets} \
             -c max_connections=200",
            cluster.port
        );
        let log = folder.join("log").display().to_string();
        cluster.run("pg_ctl", &["-w", "-D", &data, "-l", &log, "-o", &settings, "start"]);
        cluster
    }

    fn run(&self, program: &str, arguments: &[&str]) {
        let command = self.command(program, arguments);
        let done = Command::new("sh").args(["-c", &command]).stdin(Stdio::null()).output().unwrap();
        assert!(
            done.status.success(),
            "{command}\n{}{}",
            String::from_utf8_lossy(&done.stdout),
            String::from_utf8_lossy(&done.stderr)
        );
    }

    /// The shell command, as `postgres` when we are root.
    fn command(&self, program: &str, arguments: &[&str]) -> String {
        let quoted = |text: &str| format!("'{}'", text.replace('\'', r"'\''"));
        let mut command = quoted(&self.programs.join(program).display().to_string());
        for argument in arguments {
            command.push(' ');
            command.push_str(&quoted(argument));
        }
        match rustix::process::geteuid().is_root() {
            true => format!("su postgres -c {}", quoted(&command)),
            false => command,
        }
    }
}

fn keeper(folder: &Path, stop: &str) -> std::process::Child {
    let script = format!("read _; {stop}; rm -rf '{}'", folder.display());
    Command::new("sh")
        .args(["-c", &script])
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// Where the PostgreSQL programs are.
pub(crate) fn programs() -> PathBuf {
    let packaged = std::fs::read_dir("/usr/lib/postgresql").into_iter().flatten().flatten();
    let mut folders: Vec<PathBuf> = packaged.map(|entry| entry.path().join("bin")).collect();
    folders.sort();
    folders.reverse();
    let path = std::env::var_os("PATH").unwrap_or_default();
    folders.extend(std::env::split_paths(&path));
    let whole =
        |folder: &PathBuf| ["initdb", "pg_ctl"].iter().all(|name| folder.join(name).exists());
    folders.into_iter().find(whole).expect(
        "PostgreSQL is needed for these tests: install `postgresql` (Debian, Ubuntu, Fedora) or put \
         initdb and pg_ctl on the PATH",
    )
}
