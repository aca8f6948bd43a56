//! Room on the disk: writes are refused while there is still enough to refuse them cleanly.

use crate::error::StoreError;
use std::path::{Path, PathBuf};

/// The share of a disk that is kept free when no other reserve is set, percent.
const RESERVE_PERCENT: u64 = 2;

/// The most that is kept free when no other reserve is set: on a large disk two percent are more than a night
/// of ten thousand phones writes, and refusing lines over it would lose what it should save.
const RESERVE_BYTES_MAX: u64 = 1 << 30;

/// What wants to be written, from what waits best to what waits worst: a photo stays on its phone for a night, a
/// line tells the desk what happens, and without the server's own lines and settings no alert goes out.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Wants {
    Blob,
    Line,
    Own,
}

impl Wants {
    /// What stays free of a reserve, so that each is refused later than the one before.
    fn least_bytes(self, reserve_bytes: u64) -> u64 {
        match self {
            Wants::Blob => reserve_bytes,
            Wants::Line => reserve_bytes / 2,
            Wants::Own => reserve_bytes / 4,
        }
    }
}

/// Somebody should be told while fewer reserves than this are free.
const ALARM_RESERVES: u64 = 5;

/// Room on a disk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Room {
    /// Bytes free to us.
    pub free_bytes: u64,
    /// Below this no photo is taken in, below half of it no line of a phone, below a quarter nothing is written, bytes.
    pub reserve_bytes: u64,
}

impl Room {
    /// The room on the disk of a folder, with the usual reserve.
    ///
    /// # Errors
    ///
    /// The folder cannot be looked at.
    pub fn of(folder: &Path) -> Result<Room, StoreError> {
        Reserve::new(Vec::new(), None).room_of(folder)
    }

    /// Whether somebody should be told.
    pub fn is_low(self) -> bool {
        self.free_bytes < self.alarm_bytes()
    }

    /// Below this somebody should be told, bytes.
    pub fn alarm_bytes(self) -> u64 {
        self.reserve_bytes.saturating_mul(ALARM_RESERVES)
    }

    /// Whether photos are refused.
    pub fn refuses_photos(self) -> bool {
        self.free_bytes < Wants::Blob.least_bytes(self.reserve_bytes)
    }

    /// Whether lines of phones are refused.
    pub fn refuses_lines(self) -> bool {
        self.free_bytes < Wants::Line.least_bytes(self.reserve_bytes)
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
        let mut fullest = Room { free_bytes: u64::MAX, reserve_bytes: 0 };
        for folder in &self.folders {
            let room = self.room_of(folder)?;
            if room.free_bytes < fullest.free_bytes {
                fullest = room;
            }
        }
        Ok(fullest)
    }

    /// Refuses a write of this many bytes that would eat into what is kept free of the like.
    pub(crate) fn check(&self, bytes: u64, wants: Wants) -> Result<(), StoreError> {
        for folder in &self.folders {
            let Room { free_bytes, reserve_bytes, .. } = self.room_of(folder)?;
            let least_bytes = wants.least_bytes(reserve_bytes);
            if free_bytes < least_bytes.saturating_add(bytes) {
                return Err(StoreError::LowDisk { free_bytes, least_bytes });
            }
        }
        Ok(())
    }

    fn room_of(&self, folder: &Path) -> Result<Room, StoreError> {
        let room =
            rustix::fs::statvfs(folder).map_err(|error| StoreError::file(folder, &error.into()))?;
        let free_bytes = room.f_bavail * room.f_frsize;
        let total_bytes = room.f_blocks * room.f_frsize;
        let usual = (total_bytes / 100 * RESERVE_PERCENT).min(RESERVE_BYTES_MAX);
        let reserve_bytes = self.least_bytes.unwrap_or(usual);
        Ok(Room { free_bytes, reserve_bytes })
    }
}
