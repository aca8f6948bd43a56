//! Room on the disk: writes are refused while there is still enough to refuse them cleanly.

use crate::error::StoreError;
use std::path::{Path, PathBuf};

/// The share of a disk that is kept free when no other reserve is set, percent.
pub const RESERVE_PERCENT: u64 = 2;

/// Below this share free somebody should be told, percent.
pub const ALARM_PERCENT: u64 = 10;

/// Room on a disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// Bytes free to us.
    pub free_bytes: u64,
    /// Bytes in all.
    pub total_bytes: u64,
}

impl Room {
    /// Whether somebody should be told.
    pub fn is_low(self) -> bool {
        self.free_bytes < self.total_bytes / 100 * ALARM_PERCENT
    }
}

/// The folders that must keep room.
#[derive(Debug, Clone)]
pub(crate) struct Reserve {
    folders: Vec<PathBuf>,
    least_bytes: Option<u64>,
}

impl Reserve {
    pub(crate) fn new(folders: Vec<PathBuf>, least_bytes: Option<u64>) -> Reserve {
        Reserve { folders, least_bytes }
    }

    /// The room of the fullest disk.
    pub(crate) fn room(&self) -> Result<Room, StoreError> {
        let mut fullest = Room { free_bytes: u64::MAX, total_bytes: u64::MAX };
        for folder in &self.folders {
            let room = room_of(folder)?;
            if room.free_bytes < fullest.free_bytes {
                fullest = room;
            }
        }
        Ok(fullest)
    }

    /// Refuses a write of this many bytes that would eat into the reserve.
    pub(crate) fn check(&self, bytes: u64) -> Result<(), StoreError> {
        for folder in &self.folders {
            let room = room_of(folder)?;
            let least = self.least_bytes.unwrap_or(room.total_bytes / 100 * RESERVE_PERCENT);
            if room.free_bytes < least.saturating_add(bytes) {
                let free_bytes = room.free_bytes;
                return Err(StoreError::LowDisk { free_bytes, least_bytes: least });
            }
        }
        Ok(())
    }
}

fn room_of(folder: &Path) -> Result<Room, StoreError> {
    let room =
        rustix::fs::statvfs(folder).map_err(|error| StoreError::file(folder, &error.into()))?;
    let size = room.f_frsize;
    Ok(Room { free_bytes: room.f_bavail * size, total_bytes: room.f_blocks * size })
}
