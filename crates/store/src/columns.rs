//! Columns to types, refusing what cannot have been written by us.

use crate::error::StoreError;
use ledger::{Digest, LineId, Signature, WatchId};
use std::sync::Arc;

pub(crate) fn digest(bytes: &[u8]) -> Result<Digest, StoreError> {
    let bytes = bytes.try_into().map_err(|_| {
        StoreError::damaged(format!("a digest has {} bytes instead of 32", bytes.len()))
    })?;
    Ok(Digest(bytes))
}

pub(crate) fn line_id(bytes: &[u8]) -> Result<LineId, StoreError> {
    digest(bytes).map(LineId)
}

pub(crate) fn signature(bytes: &[u8]) -> Result<Signature, StoreError> {
    let bytes = bytes.try_into().map_err(|_| {
        StoreError::damaged(format!("a signature has {} bytes instead of 64", bytes.len()))
    })?;
    Ok(Signature(bytes))
}

pub(crate) fn watch(text: &str) -> Result<WatchId, StoreError> {
    WatchId::new(text).map_err(|error| StoreError::damaged(error.to_string()))
}

pub(crate) fn digests(bytes: &[u8]) -> Result<Vec<Digest>, StoreError> {
    bytes.chunks(32).map(digest).collect()
}

pub(crate) fn bytes_of(digests: &[Digest]) -> Vec<u8> {
    digests.iter().flat_map(|digest| digest.0).collect()
}

pub(crate) fn name(text: String) -> Arc<str> {
    Arc::from(text)
}
