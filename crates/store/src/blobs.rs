//! Blobs: photos, plans, signatures, each named by its SHA-256 and durable before it is acknowledged.

use crate::disk::{Reserve, Wants};
use crate::error::StoreError;
use crate::high_water::sync_folder;
use futures_util::TryStreamExt;
use ledger::Digest;
use object_store::local::LocalFileSystem;
use object_store::path::Path as Name;
use object_store::{ObjectStore, ObjectStoreExt, PutMode, PutOptions};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use tokio::sync::Mutex;

/// The largest blob unless another limit is set.
pub const BLOB_BYTES_MAX: u64 = 64 << 20;

/// The blobs of a store.
#[derive(Debug, Clone)]
pub struct Blobs {
    kept: Arc<dyn ObjectStore>,
    /// Blobs that come in pieces, until they are whole.
    pieces: Arc<Mutex<PathBuf>>,
    reserve: Reserve,
    limit_bytes: u64,
}

/// How far a blob has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// It is whole, has the digest it is named by, and is durable.
    Whole,
    /// This many bytes are here; send on from there.
    Part {
        /// Bytes here.
        have: u64,
    },
}

impl Blobs {
    pub(crate) fn open(
        folder: &Path,
        reserve: Reserve,
        limit_bytes: u64,
    ) -> Result<Blobs, StoreError> {
        let (kept, pieces) = (folder.join("kept"), folder.join("pieces"));
        for folder in [&kept, &pieces] {
            std::fs::create_dir_all(folder).map_err(|error| StoreError::file(folder, &error))?;
        }
        sync_folder(folder)?;
        // Without fsync an acknowledged photo can vanish at a power loss; it is off by default.
        let kept = LocalFileSystem::new_with_prefix(&kept).map_err(|error| fault(&error))?;
        Ok(Blobs {
            kept: Arc::new(kept.with_fsync(true)),
            pieces: Arc::new(Mutex::new(pieces)),
            reserve,
            limit_bytes,
        })
    }

    /// Keeps bytes under their digest and returns when they are durable. Again is no error.
    pub async fn put(&self, named: Digest, bytes: Vec<u8>) -> Result<(), StoreError> {
        if bytes.len() as u64 > self.limit_bytes {
            return Err(StoreError::BlobTooLarge { limit_bytes: self.limit_bytes });
        }
        let found = Digest::of(&bytes);
        if found != named {
            return Err(StoreError::OtherDigest { named, found });
        }
        if self.has(named).await? {
            return Ok(());
        }
        self.reserve.check(bytes.len() as u64, Wants::Blob)?;
        let options = PutOptions { mode: PutMode::Create, ..PutOptions::default() };
        match self.kept.put_opts(&name(named), bytes.into(), options).await {
            Ok(_) | Err(object_store::Error::AlreadyExists { .. }) => Ok(()),
            Err(error) => Err(fault(&error)),
        }
    }

    /// Whether the blob is here, whole.
    pub async fn has(&self, named: Digest) -> Result<bool, StoreError> {
        match self.kept.head(&name(named)).await {
            Ok(_) => Ok(true),
            Err(object_store::Error::NotFound { .. }) => Ok(false),
            Err(error) => Err(fault(&error)),
        }
    }

    /// The bytes of a blob, checked against its name; none if it is not here.
    pub async fn get(&self, named: Digest) -> Result<Option<Vec<u8>>, StoreError> {
        let bytes = match self.kept.get(&name(named)).await {
            Ok(found) => found.bytes().await.map_err(|error| fault(&error))?,
            Err(object_store::Error::NotFound { .. }) => return Ok(None),
            Err(error) => return Err(fault(&error)),
        };
        if Digest::of(&bytes) != named {
            return Err(StoreError::damaged(format!("blob {named} has other bytes than its name")));
        }
        Ok(Some(bytes.to_vec()))
    }

    /// Takes a blob away for good. That it is not there is no error.
    pub async fn erase(&self, named: Digest) -> Result<(), StoreError> {
        match self.kept.delete(&name(named)).await {
            Ok(()) | Err(object_store::Error::NotFound { .. }) => Ok(()),
            Err(error) => Err(fault(&error)),
        }
    }

    /// How far a blob has come, to send on from there.
    pub async fn progress(&self, named: Digest) -> Result<Progress, StoreError> {
        if self.has(named).await? {
            return Ok(Progress::Whole);
        }
        let folder = self.pieces.lock().await;
        Ok(Progress::Part { have: length(&folder.join(named.to_string()))? })
    }

    /// Takes the next piece of a blob of `total` bytes. Each piece is durable when this returns; the
    /// last one makes the blob whole, if the bytes have the digest, or starts it over.
    pub async fn put_piece(
        &self,
        named: Digest,
        total: u64,
        offset: u64,
        piece: &[u8],
    ) -> Result<Progress, StoreError> {
        if total > self.limit_bytes {
            return Err(StoreError::BlobTooLarge { limit_bytes: self.limit_bytes });
        }
        if self.has(named).await? {
            return Ok(Progress::Whole);
        }
        self.reserve.check(piece.len() as u64, Wants::Blob)?;
        let folder = self.pieces.lock().await;
        let path = folder.join(named.to_string());
        let have = length(&path)?;
        if offset != have || have + piece.len() as u64 > total {
            return Err(StoreError::PieceOffset { have, offset });
        }
        append_piece(&path, piece)?;
        let have = have + piece.len() as u64;
        if have < total {
            return Ok(Progress::Part { have });
        }
        let whole = std::fs::read(&path).map_err(|error| StoreError::file(&path, &error))?;
        let kept = self.put(named, whole).await;
        if matches!(kept, Ok(()) | Err(StoreError::OtherDigest { .. })) {
            std::fs::remove_file(&path).map_err(|error| StoreError::file(&path, &error))?;
        }
        kept.map(|()| Progress::Whole)
    }

    /// The digests of all blobs here, in order.
    pub async fn list(&self) -> Result<Vec<Digest>, StoreError> {
        let names: Vec<_> = self.kept.list(None).try_collect().await.map_err(|e| fault(&e))?;
        let digest = |location: &Name| location.filename()?.parse().ok();
        let mut digests: Vec<Digest> =
            names.iter().filter_map(|meta| digest(&meta.location)).collect();
        digests.sort();
        Ok(digests)
    }
}

/// Two hex digits of folders, so that no folder grows without bound.
fn name(digest: Digest) -> Name {
    let text = digest.to_string();
    Name::from(format!("{}/{text}", &text[..2]))
}

fn length(path: &Path) -> Result<u64, StoreError> {
    match std::fs::metadata(path) {
        Ok(meta) => Ok(meta.len()),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(0),
        Err(error) => Err(StoreError::file(path, &error)),
    }
}

fn append_piece(path: &Path, piece: &[u8]) -> Result<(), StoreError> {
    let fault = |error: std::io::Error| StoreError::file(path, &error);
    let mut file =
        std::fs::OpenOptions::new().create(true).append(true).open(path).map_err(fault)?;
    file.write_all(piece).map_err(fault)?;
    file.sync_data().map_err(|error| StoreError::Fatal { says: error.to_string().as_str().into() })
}

fn fault(error: &object_store::Error) -> StoreError {
    let says: Arc<str> = error.to_string().as_str().into();
    let mut source: Option<&dyn std::error::Error> = Some(error);
    while let Some(cause) = source {
        let io = cause.downcast_ref::<std::io::Error>();
        if io.and_then(std::io::Error::raw_os_error)
            == Some(rustix::io::Errno::NOSPC.raw_os_error())
        {
            return StoreError::LowDisk { free_bytes: 0, least_bytes: 0 };
        }
        source = cause.source();
    }
    match says.contains("sync") {
        true => StoreError::Fatal { says },
        false => StoreError::File { path: "blobs".into(), says },
    }
}
