//! A copy of a store that is being served: everything up to the heads at its beginning.

use crate::error::StoreError;
use crate::moving::{Moved, UpTo, copy};
use crate::options::Options;
use crate::store::Store;

/// Copies a store into an empty one while it is served. Lines that come in meanwhile are not in it;
/// phones keep their lines until a later head, so nothing of theirs is lost by restoring it. The marks
/// stay where they are: what a backup brings back must not reach them.
pub async fn back_up(from: &Options, to: &Options) -> Result<Moved, StoreError> {
    let source = Store::open_reader(from).await?;
    copy(source, from, to, UpTo::SignedHeads).await
}
