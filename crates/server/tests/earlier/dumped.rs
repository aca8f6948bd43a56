//! A house in PostgreSQL as text: written by `pg_dump`, read into an empty database.

use crate::cluster;
use sqlx::{AssertSqlSafe, Connection, PgConnection};
use std::fs;
use std::path::Path;
use std::process::Command;

/// The URL of a database into which a dump was read.
pub(crate) async fn loaded(dump: &str) -> String {
    let url = cluster::new_database().await;
    let mut connection = PgConnection::connect(&url).await.unwrap();
    sqlx::raw_sql(AssertSqlSafe(dump.to_owned())).execute(&mut connection).await.unwrap();
    connection.close().await.unwrap();
    url
}

/// Moves the house of a folder into PostgreSQL and writes what is there, once: a dump is never written over.
pub(crate) async fn dump(folder: &Path, to: &Path) {
    if to.exists() {
        println!("{} is there already and is kept for good", to.display());
        return;
    }
    let copy = tempfile::tempdir().unwrap();
    crate::copy_tree(folder, copy.path());
    let url = cluster::new_database().await;
    let from = crate::options(copy.path());
    let mut moved = crate::options(copy.path());
    moved.database = Some(url.clone());
    store::move_store(&from.store(), &moved.store()).await.unwrap();
    let dump = cluster::programs().join("pg_dump");
    let arguments = ["--no-owner", "--no-privileges", "--inserts", "--dbname", &url];
    let output = Command::new(dump).args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    // What only its own reader understands, what a server of another version does not know, and remarks. A value may go
    // over several lines.
    let left_out = ["\\", "--", "SET ", "SELECT pg_catalog.set_config"];
    let (mut kept, mut in_value) = (String::new(), false);
    for line in text.lines() {
        let ours = !line.is_empty() && left_out.iter().all(|start| !line.starts_with(start));
        if in_value || ours {
            kept.push_str(line);
            kept.push('\n');
        }
        in_value = (in_value || line.starts_with("INSERT ")) && !line.ends_with(");");
    }
    fs::write(to, kept).unwrap();
}
