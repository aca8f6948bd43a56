//! What is looked at once a night without anybody asking: every line, hash and blob is read again and
//! compared with what was promised, and the room on the disks is watched.

use crate::server::App;
use crate::succession;
use std::time::Duration;

/// Between two scrubs (our own default).
const EVERY_MS: i64 = 24 * 60 * 60 * 1_000;

/// After the start of the server, when phones that waited have been served.
const FIRST_AFTER_MS: i64 = 10 * 60 * 1_000;

/// How often it is asked whether one is due.
const ASK_EVERY: Duration = Duration::from_secs(30);

/// What the newest scrub came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LastScrub {
    /// When it ended, ms UTC.
    pub(crate) at_ms: i64,
    pub(crate) lines: u64,
    pub(crate) blobs: u64,
    /// What does not hold, in words.
    pub(crate) faults: Vec<String>,
}

/// Scrubs once a night for as long as the server runs.
pub(crate) async fn run(app: App) {
    let mut due_mono_ms = app.clock.mono_ms() + FIRST_AFTER_MS;
    let mut was_low = false;
    loop {
        tokio::time::sleep(ASK_EVERY).await;
        was_low = warn_of_room(&app, was_low);
        app.limits.forget_the_quiet();
        if let Err(problem) = succession::turn(&app).await {
            tracing::error!(%problem, "the log of the year that is over could not be closed");
        }
        if app.clock.mono_ms() >= due_mono_ms {
            due_mono_ms = app.clock.mono_ms() + EVERY_MS;
            scrub(&app).await;
        }
    }
}

/// Reads everything again and keeps what was found for [`crate::health`].
pub(crate) async fn scrub(app: &App) {
    match app.store.scrub().await {
        Ok(scrubbed) => {
            let faults: Vec<String> = scrubbed.faults.iter().map(ToString::to_string).collect();
            for fault in &faults {
                tracing::error!(fault, "the record does not hold: keep the disk, restore a backup");
            }
            let at_ms = app.clock.now_ms();
            let (lines, blobs) = (scrubbed.lines, scrubbed.blobs);
            app.set_scrub(LastScrub { at_ms, lines, blobs, faults });
        }
        Err(error) => tracing::error!(%error, "the record could not be read again"),
    }
}

/// Says once that a disk has become full, and once that it has room again.
fn warn_of_room(app: &App, was_low: bool) -> bool {
    let Ok(room) = app.store.room() else { return was_low };
    let free_mib = room.free_bytes / (1 << 20);
    match (was_low, room.is_low()) {
        (false, true) => tracing::warn!(free_mib, "little room on a disk: make some"),
        (true, false) => tracing::info!(free_mib, "there is room on the disks again"),
        _ => {}
    }
    room.is_low()
}
