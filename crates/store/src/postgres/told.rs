//! News between the servers of one database: each commit of lines notifies whoever listens.

use super::fault;
use crate::backend::Told;
use crate::error::StoreError;
use async_trait::async_trait;
use sqlx::postgres::PgListener;
use sqlx::{Pool, Postgres};

/// Named in the statement that appends, too.
const CHANNEL: &str = "rattlewatch";

/// A connection that only listens. One that breaks is made again by itself; what was told meanwhile is
/// not told again, so whoever waits also looks now and then.
#[derive(Debug)]
pub(super) struct Listening(PgListener);

impl Listening {
    pub(super) async fn begin(readers: &Pool<Postgres>) -> Result<Listening, StoreError> {
        let mut listener = PgListener::connect_with(readers).await.map_err(fault)?;
        listener.listen(CHANNEL).await.map_err(fault)?;
        Ok(Listening(listener))
    }
}

#[async_trait]
impl Told for Listening {
    async fn next(&mut self) -> Result<(), StoreError> {
        self.0.recv().await.map(|_| ()).map_err(fault)
    }
}
