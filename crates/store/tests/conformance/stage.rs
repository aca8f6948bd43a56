//! An empty store on one of the databases.

use crate::cluster::new_database;
use crate::devices::ORIGIN;
use sqlx::{Connection, PgConnection};
use std::path::PathBuf;
use store::{Options, Store};

/// A place for a store that can be opened again and again.
pub(crate) struct Stage {
    pub(crate) options: Options,
    folder: tempfile::TempDir,
}

impl Stage {
    pub(crate) async fn sqlite() -> Stage {
        let folder = tempfile::tempdir().unwrap();
        let mut options = Options::in_folder(folder.path());
        options.reserve_bytes = Some(0);
        Stage { options, folder }
    }

    pub(crate) async fn postgres() -> Stage {
        let mut stage = Stage::sqlite().await;
        stage.options.database = new_database().await;
        stage
    }

    /// The same blobs and marks beside a new, empty database.
    pub(crate) async fn with_new_database(&self) -> Stage {
        let mut stage = match self.options.database.starts_with("postgres") {
            true => Stage::postgres().await,
            false => Stage::sqlite().await,
        };
        stage.options.blobs = self.options.blobs.clone();
        stage.options.high_water = self.options.high_water.clone();
        stage
    }

    /// A folder that nothing uses yet.
    pub(crate) fn spare_folder(&self) -> PathBuf {
        self.folder.path().join("spare")
    }

    /// Cuts every connection to a PostgreSQL database, as a network would.
    pub(crate) async fn end_all_connections(&self) {
        if !self.options.database.starts_with("postgres") {
            return;
        }
        let mut connection = PgConnection::connect(&self.options.database).await.unwrap();
        let cut = "SELECT pg_terminate_backend(pid) FROM pg_stat_activity \
             WHERE datname = current_database() AND pid <> pg_backend_pid()";
        sqlx::query(cut).fetch_all(&mut connection).await.unwrap();
    }

    pub(crate) async fn open(&self) -> Store {
        let store = Store::open(&self.options).await.unwrap();
        store.create_log(ORIGIN).await.unwrap();
        store
    }
}

/// Runs each test on every database.
macro_rules! on_each_database {
    ($($name:ident),* $(,)?) => {
        mod sqlite {
            $(#[tokio::test]
            async fn $name() {
                super::$name(crate::stage::Stage::sqlite().await).await;
            })*
        }
        mod postgres {
            $(#[tokio::test]
            async fn $name() {
                super::$name(crate::stage::Stage::postgres().await).await;
            })*
        }
    };
}
pub(crate) use on_each_database;
