//! The seat of the one server that orders lines: a connection that holds an advisory lock and stirs once
//! a second. One that hangs without dying loses it: whoever stands by ends that connection. What the
//! hanging server does when it wakes up is the fence's matter: its epoch is over.

use super::fault;
use crate::error::StoreError;
use sqlx::{Connection, PgConnection};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Mutex;
use tokio::task::JoinHandle;

/// How long one waits for the seat before saying that it is taken.
const TRIES: u32 = 20;
const PAUSE: Duration = Duration::from_millis(250);

const STIRS_EVERY: Duration = Duration::from_secs(1);

/// A holder that has not stirred for so long hangs, s (our own default).
const STALE_S: f64 = 6.0;

/// One server a schema: the lock's number comes from the names of database and schema.
const TRY: &str =
    "SELECT pg_try_advisory_lock(hashtextextended('rattlewatch ' || current_schema(), 0))";

/// Ends the connection that holds the lock and does not stir. The two halves of the number are those of
/// `pg_locks` (PostgreSQL documentation, section "pg_locks").
const END_STALE: &str = "SELECT pg_terminate_backend(l.pid) \
     FROM pg_locks l JOIN pg_stat_activity a ON a.pid = l.pid \
     WHERE l.locktype = 'advisory' AND l.granted AND l.objsubid = 1 \
     AND l.database = (SELECT oid FROM pg_database WHERE datname = current_database()) \
     AND ((l.classid::bigint << 32) | l.objid::bigint) \
         = hashtextextended('rattlewatch ' || current_schema(), 0) \
     AND a.query_start < clock_timestamp() - make_interval(secs => $1)";

#[derive(Debug)]
pub(super) struct Seat {
    connection: Arc<Mutex<Option<PgConnection>>>,
    stirring: JoinHandle<()>,
}

/// Takes the seat if it is free, or if whoever holds it hangs.
pub(super) async fn take(connection: &mut PgConnection) -> Result<(), StoreError> {
    for _ in 0..TRIES {
        let taken: bool =
            sqlx::query_scalar(TRY).fetch_one(&mut *connection).await.map_err(fault)?;
        if taken {
            return Ok(());
        }
        let ended = sqlx::query(END_STALE).bind(STALE_S).execute(&mut *connection).await;
        if ended.map_err(fault)?.rows_affected() > 0 {
            tracing::warn!("the server that ordered the lines hangs: its seat is taken from it");
        }
        tokio::time::sleep(PAUSE).await;
    }
    Err(StoreError::InUse)
}

impl Seat {
    /// Keeps the seat that a connection has taken.
    pub(super) fn hold(connection: PgConnection) -> Seat {
        let connection = Arc::new(Mutex::new(Some(connection)));
        let held = connection.clone();
        let stirring = tokio::spawn(async move {
            loop {
                tokio::time::sleep(STIRS_EVERY).await;
                let mut held = held.lock().await;
                let Some(connection) = held.as_mut() else { return };
                if let Err(error) = sqlx::query("SELECT 1").execute(connection).await {
                    // Whether anything may still be written is for the fence to say.
                    tracing::warn!(%error, "the seat of this server was lost");
                    *held = None;
                    return;
                }
            }
        });
        Seat { connection, stirring }
    }

    /// Gives the seat back.
    pub(super) async fn leave(&self) {
        self.stirring.abort();
        if let Some(connection) = self.connection.lock().await.take() {
            // An error means that the connection, and the lock with it, is gone already.
            let _ = connection.close().await;
        }
    }
}

impl Drop for Seat {
    fn drop(&mut self) {
        self.stirring.abort();
    }
}
