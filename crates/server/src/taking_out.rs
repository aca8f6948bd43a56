//! Taking the bundle of a watch out of a data folder from the command line.
//!
//! An export like any other: stated, sealed and covered by a new head. While a server runs only that
//! server may write, so it is asked to make the bundle.

use crate::opening::Opened;
use crate::options::{Options, StartError};
use crate::problem::Problem;
use crate::server::Server;
use crate::settings::Kept;
use crate::{asked_here, export, scribe};
use ledger::WatchId;
use std::net::SocketAddr;
use std::path::PathBuf;
use store::{Store, StoreError};

/// Why nothing was taken out.
#[derive(Debug, thiserror::Error)]
pub enum TakeOutError {
    /// The folder holds no record.
    #[error(
        "{}: no record is kept here; name the folder that the server uses with --data",
        .0.display()
    )]
    NoRecord(PathBuf),
    /// The record has no such watch.
    #[error("there is no watch {watch} in this record")]
    NoWatch {
        /// The watch asked for.
        watch: WatchId,
        /// Those that there are.
        known: Vec<WatchId>,
    },
    /// A server holds the record and did not answer here.
    #[error(
        "a server is running on this record and did not answer in this folder: name the folder that \
         it uses with --data, or take the bundle from the watch's page of the desk"
    )]
    NoAnswer,
    /// The running server did not do it.
    #[error("the running server says: {0}")]
    Refused(String),
    /// The server could not be opened.
    #[error(transparent)]
    Start(#[from] StartError),
    /// The store could not be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// It could not be packed.
    #[error(transparent)]
    Problem(#[from] Problem),
}

/// Takes the bundle of a watch out of the folder and database that the options name.
pub async fn take_out(options: Options, watch: &WatchId) -> Result<Vec<u8>, TakeOutError> {
    let keys = options.data.join("keys");
    if !keys.join("device.key").exists() || !keys.join("log.key").exists() {
        return Err(TakeOutError::NoRecord(options.data));
    }
    let reader = Store::open_reader(&options.store()).await?;
    if watch.is_org() || reader.lines_of_watch(watch, None, 1).await?.is_empty() {
        let known = watches(&reader).await?;
        return Err(TakeOutError::NoWatch { watch: watch.clone(), known });
    }
    reader.close().await;
    let local = SocketAddr::from(([127, 0, 0, 1], 0));
    match Store::open(&options.store()).await {
        Ok(store) => {
            let app = Server::open(options.clone(), local, store).await?;
            let bytes = export::bundle_of(&app, watch, &scribe::nobody()).await?;
            let store = app.store.clone();
            drop(app);
            store.close().await;
            Ok(bytes)
        }
        Err(StoreError::InUse) => {
            let answer = asked_here::ask(&options.data, watch).await.map_err(StartError::File)?;
            answer.ok_or(TakeOutError::NoAnswer)?.map_err(TakeOutError::Refused)
        }
        Err(error) => Err(StartError::from(error).into()),
    }
}

/// All watches that were opened here.
async fn watches(store: &Store) -> Result<Vec<WatchId>, StoreError> {
    let opened = store.settings(Opened::COLLECTION, "").await?;
    Ok(opened.into_iter().filter_map(|setting| WatchId::new(setting.at.key).ok()).collect())
}
