//! Paper that comes in: a picture of a log sheet or of a notepad page is kept as a blob, what can be
//! read is proposed beside it, a person confirms each row and types what is handwritten. The lines that
//! follow name the picture, the writer and the one who typed.

mod bring;
mod compare;
mod handed_in;
mod lines;
mod page;
mod picture;
mod write;

pub(crate) use bring::{bring, show};
pub(crate) use handed_in::to_type;
pub(crate) use page::show as page;
pub(crate) use picture::get as picture;
pub(crate) use write::write;

use crate::one_watch::{Seen, find};
use crate::{App, Problem, account::Caller};
use ledger::Digest;
use sheet::{Expected, GrayPicture, Reading};

/// A page of paper of a watch: its picture and what was read from it.
struct Paper {
    seen: Seen,
    digest: Digest,
    reading: Reading,
    /// The picture as it came, for a page that could not be straightened.
    upright: GrayPicture,
}

/// Reads a picture again. It is a function of its bytes, so nothing has to be kept of a reading.
async fn read(
    app: &App,
    (watch, digest): (&str, &str),
    caller: &Caller,
    now_ms: i64,
) -> Result<Paper, Problem> {
    let seen = find(app, watch, caller, now_ms).await?;
    let digest: Digest = digest.parse().map_err(|_| Problem::NotFound)?;
    let bytes = app.store.blobs().get(digest).await?.ok_or(Problem::NotFound)?;
    let expected = expected(&seen);
    let read = tokio::task::spawn_blocking(move || {
        let upright = GrayPicture::decode(&bytes)?;
        let reading = sheet::read(&upright, &expected);
        Ok::<_, sheet::PictureFault>((reading, upright))
    });
    let read = read.await.map_err(|fault| Problem::Machine(fault.to_string()))?;
    let (reading, upright) = read.map_err(|fault| Problem::Bad(fault.to_string()))?;
    Ok(Paper { seen, digest, reading, upright })
}

/// Only sheets of this watch are read; another one is named for what it is.
fn expected(seen: &Seen) -> Expected {
    let zones = seen.state.zones.iter().map(|zone| zone.id.clone()).collect();
    let standing = &seen.live.standing;
    let span_ms = standing.until_ms.map(|until_ms| (standing.from_ms, until_ms));
    Expected::of_watch(seen.id.clone(), zones, span_ms)
}

impl Paper {
    /// Whether its boxes may be taken for ticks of this watch.
    fn fits(&self) -> bool {
        self.reading.faults.is_empty()
    }
}
