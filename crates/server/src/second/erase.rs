//! Erasing: the line that says so first, then the bytes. What was promised and not done, because the
//! machine stopped in between, is done at the next start.

use crate::problem::Problem;
use crate::scribe::Statement;
use crate::server::App;
use crate::shelf;
use ledger::{Digest, LineId, PersonId, WatchId};
use record::{Entry, Erased};
use store::{Place, PrivateLine};

/// Stored lines read at a time.
const PAGE: u32 = 2_000;

/// The picture, sound or signature that a line brings. Plans, terms and instructions stay: others read
/// the watch by them.
pub(super) fn blob_of(said: &Entry) -> Option<Digest> {
    match said {
        Entry::Photo(body) => Some(body.blob),
        Entry::Sound(body) => Some(body.blob),
        Entry::ShiftEnded(body) => body.signature,
        Entry::Countersigned(body) => body.signature,
        _ => None,
    }
}

/// Erases what is kept beside a line, on the word of two.
pub(super) async fn erase(
    app: &App,
    watch: &WatchId,
    line: LineId,
    by: &PersonId,
    second: Option<&PersonId>,
) -> Result<(), Problem> {
    shelf::bring_back(app, watch).await?;
    let (blob, words) = {
        let book = app.book();
        let fold = book.watch(watch).and_then(|live| live.fold.as_ref());
        let kept = fold.ok_or(Problem::NotFound)?.line(line).ok_or(Problem::NotFound)?;
        // The same picture may stand in another watch, to which this word does not reach.
        let blob = blob_of(&kept.said).filter(|blob| book.is_alone_with(watch, *blob));
        (blob, kept.has_private)
    };
    let said = |line, blob| -> Statement {
        Erased { line, blob, by: by.clone(), seconded_by: second.cloned() }.into()
    };
    let mut statements = Vec::new();
    statements.extend(words.then(|| said(Some(line), None)));
    statements.extend(blob.map(|blob| said(None, Some(blob))));
    app.scribe.write(app, watch, by, statements).await?;
    remove(app, watch, words.then_some(line), blob).await?;
    // The end of the server's chain has moved on.
    crate::seal::seal(app, watch).await.map(|_| ())
}

async fn remove(
    app: &App,
    watch: &WatchId,
    line: Option<LineId>,
    blob: Option<Digest>,
) -> Result<(), Problem> {
    if let Some(line) = line
        && let Some(place) = place_of(app, watch, line).await?
        && matches!(app.store.private(&place).await?, PrivateLine::Here(_))
    {
        app.store.erase_private(&place).await?;
    }
    match blob {
        Some(blob) => Ok(app.store.blobs().erase(blob).await?),
        None => Ok(()),
    }
}

async fn place_of(app: &App, watch: &WatchId, line: LineId) -> Result<Option<Place>, Problem> {
    let mut after = None;
    loop {
        let lines = app.store.lines_of_watch(watch, after.as_ref(), PAGE).await?;
        let Some(last) = lines.last() else { return Ok(None) };
        if let Some(found) = lines.iter().find(|stored| stored.id == line) {
            return Ok(Some(found.place.clone()));
        }
        after = Some(last.place.clone());
    }
}

/// Does what a line of the house promised and a stop left undone. A watch that was put away had it done before: it is
/// there for a while after its last line.
pub(crate) async fn finish(app: &App) -> Result<(), Problem> {
    let promised: Vec<(WatchId, Option<LineId>, Option<Digest>)> = {
        let book = app.book();
        let of_house = |dev| app.scribe.is_ours(dev);
        let erased = book.watches().flat_map(|(id, live)| {
            let lines = live.fold.iter().flat_map(watch::Watch::lines);
            let lines = lines.filter(move |kept| of_house(kept.dev));
            lines.filter_map(move |kept| match &kept.said {
                Entry::Erased(body) => Some((id.clone(), body.line, body.blob)),
                _ => None,
            })
        });
        erased.collect()
    };
    for (watch, line, blob) in promised {
        let blob = blob.filter(|blob| app.book().is_alone_with(&watch, *blob));
        remove(app, &watch, line, blob).await?;
    }
    Ok(())
}
