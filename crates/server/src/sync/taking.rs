//! Lines in: what a phone sends of its own, what it took along for another, and what somebody at the desk brings
//! from a phone's file. Each is checked with the key of the device that wrote it; one that cannot be taken stops no
//! other.

use crate::book::{Book, Known};
use crate::problem::Problem;
use crate::server::App;
use crate::{intake, restored};
use ledger::{DeviceId, LineFault, LineId, WatchId};
use phone::sync::{LineFrom, SentLine};
use std::collections::BTreeSet;
use store::Incoming;

/// Who brings lines.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Bringer {
    /// A phone.
    Phone(DeviceId),
    /// Somebody at the desk, who may see every watch of the house.
    Desk,
}

/// Why a line is not taken.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub(crate) enum Refused {
    #[error("this device is not let in, or no longer")]
    Bringer,
    #[error("the device that wrote this is not let in to its watch, or no longer")]
    Writer,
    #[error("{0}")]
    Fault(LineFault),
    #[error("this device has no part in {0}")]
    NoPart(WatchId),
    #[error("only the house states {0}: ask the desk to write it")]
    HouseOnly(&'static str),
    #[error("there is no watch {0}")]
    NoWatch(WatchId),
}

/// What is known of a line before the head that its receipt leads to.
#[derive(Debug)]
pub(crate) struct Judged {
    pub(crate) id: LineId,
    pub(crate) outcome: Result<store::Outcome, Refused>,
}

/// Verifies and appends lines; what is judged stands in their order. Returns after all of it is durable and what
/// follows from it is written.
pub(crate) async fn take(
    app: &App,
    bringer: Bringer,
    lines: &[SentLine],
) -> Result<Vec<Judged>, Problem> {
    let mut checked = Vec::new();
    for sent in lines {
        if let Bringer::Phone(dev) = bringer
            && restored::refills(app)
            && let Some(watch) = stated_watch(sent)
        {
            restored::let_in_again(app, dev, &watch).await?;
        }
        checked.push(check(app, bringer, sent));
    }
    let incoming: Vec<Incoming> = checked.iter().flatten().cloned().collect();
    let mut outcomes = Vec::new().into_iter();
    if !incoming.is_empty() {
        outcomes =
            intake::take_in(app, incoming, intake::Whose::Device).await?.outcomes.into_iter();
    }
    let outcome = |checked: Result<Incoming, Refused>| match checked {
        Ok(_) => Ok(outcomes.next().expect("the store judges every line")),
        Err(refused) => Err(refused),
    };
    let ids = lines.iter().map(|sent| sent.signed().id());
    let outcomes = checked.into_iter().map(outcome);
    let judged: Vec<Judged> =
        ids.zip(outcomes).map(|(id, outcome)| Judged { id, outcome }).collect();
    after_taking(app, &judged, lines).await?;
    Ok(judged)
}

/// What follows from lines that were just taken: a line after the release changes where its chain ends,
/// which is stated again.
async fn after_taking(app: &App, judged: &[Judged], lines: &[SentLine]) -> Result<(), Problem> {
    let taken = judged.iter().zip(lines);
    let taken = taken.filter(|(line, _)| matches!(line.outcome, Ok(store::Outcome::Received(_))));
    let taken: Vec<ledger::Line> =
        taken.filter_map(|(_, sent)| serde_json::from_str(&sent.line).ok()).collect();
    if restored::refills(app) {
        for line in &taken {
            restored::list_again(app, line).await?;
        }
    }
    let watches: BTreeSet<&WatchId> = taken.iter().map(|line| &line.watch).collect();
    for watch in watches {
        let released_ms = app.book().watch(watch).and_then(|live| live.standing.released_ms);
        if released_ms.is_some() {
            crate::seal::seal(app, watch).await?;
        }
    }
    Ok(())
}

fn check(app: &App, bringer: Bringer, sent: &SentLine) -> Result<Incoming, Refused> {
    let book = app.book();
    let refills = restored::refills(app);
    let writer = match bringer {
        Bringer::Phone(dev) => {
            let known = book.device(dev).ok_or(Refused::Bringer)?;
            match sent.stated_device().filter(|writer| *writer != dev) {
                // Where the end of a log was lost a phone brings what it holds of others: of this server, too,
                // and of phones that may speak no longer.
                Some(writer) if refills => book.any_device(writer).unwrap_or(known),
                // What it took along for a phone that cannot send.
                Some(writer) if !app.scribe.is_ours(writer) => had_a_part(&book, writer, sent)?,
                _ => known,
            }
        }
        Bringer::Desk => {
            let stated = sent.stated_device().filter(|writer| !app.scribe.is_ours(*writer));
            had_a_part(&book, stated.ok_or(Refused::Writer)?, sent)?
        }
    };
    let line = sent.verify(&writer.key).map_err(Refused::Fault)?;
    if let Bringer::Phone(dev) = bringer
        && (!book.may(dev, &line.watch) || (line.dev != dev && line.watch.is_org()))
    {
        return Err(Refused::NoPart(line.watch.clone()));
    }
    if let Some(kind) = crate::house_only::refuses(&line)
        && !app.scribe.is_ours(line.dev)
    {
        return Err(Refused::HouseOnly(kind));
    }
    if !line.watch.is_org() && book.watch(&line.watch).is_none() && !refills {
        return Err(Refused::NoWatch(line.watch.clone()));
    }
    Ok(Incoming { line, private: sent.private.clone().map(String::into_bytes) })
}

/// A phone that is let in and had a part in what it wrote about.
fn had_a_part<'a>(book: &'a Book, writer: DeviceId, sent: &SentLine) -> Result<&'a Known, Refused> {
    let watch = stated_watch(sent).ok_or(Refused::Writer)?;
    book.device(writer).filter(|_| book.may(writer, &watch)).ok_or(Refused::Writer)
}

/// The watch that a line says it is of; nothing is checked.
fn stated_watch(sent: &SentLine) -> Option<WatchId> {
    serde_json::from_str::<ledger::Line>(&sent.line).ok().map(|line| line.watch)
}
