//! Reading is work for whoever works on a watch, and an entry for everybody else; so is taking a table away. One entry
//! stands for each person, watch or table, and hour, so that a page left open does not fill the record.

use crate::account::Caller;
use crate::api::Program;
use crate::problem::Problem;
use crate::roles::{Rule, Who};
use crate::scribe::Statement;
use crate::server::App;
use crate::standing::Standing;
use axum::RequestExt;
use axum::extract::{RawPathParams, Request};
use axum::http::Method;
use ledger::{PersonId, WatchId};
use record::{Exported, Role, Table, Viewed, Words};
use std::collections::BTreeMap;

/// Within so long it is the same reading, ms (our own figure).
const SAME_MS: i64 = 60 * 60_000;

/// So long before a planned shift and after it its handing over is still part of it, ms (our own figure).
const AROUND_MS: i64 = 60 * 60_000;

/// What was noted within the last hour, and when, ms UTC. A start forgets it: then once more is noted.
#[derive(Debug, Default)]
pub(crate) struct Noted(tokio::sync::Mutex<BTreeMap<Reading, i64>>);

/// Who reads what.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Reading {
    /// The watch; what is the house's belongs to `org`.
    watch: WatchId,
    by: PersonId,
    what: What,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum What {
    /// The pages of a watch, in this role.
    Pages(Role),
    Taken(Table),
}

/// An entry that is owed before a request is answered.
#[derive(Debug, Clone)]
pub(crate) struct Owed {
    reading: Reading,
    words: Words,
}

/// What a request that was let in owes the record. Nothing for a watch that is not there or not theirs to see.
pub(crate) async fn owed(app: &App, rule: &Rule, request: &mut Request) -> Option<Owed> {
    let of_watch = rule.path.contains("{watch}");
    let pages = rule.method == Method::GET && matches!(rule.who, Who::Signed(_)) && of_watch;
    // A bundle and a report are led and write what they are themselves.
    if rule.table.is_none() && (!pages || rule.by_leader) {
        return None;
    }
    let watch = match of_watch {
        true => watch_of(request).await?,
        false => WatchId::org(),
    };
    let caller = request.extensions().get::<Caller>();
    let book = app.book();
    let live = book.watch(&watch);
    if of_watch && !caller.is_none_or(|caller| caller.may_see(live.and_then(|l| l.site.as_ref()))) {
        return None;
    }
    let (by, what, words) = match (rule.table, caller) {
        (Some(table), Some(caller)) => (&caller.id, What::Taken(table), Words::default()),
        (Some(table), None) => {
            let program = request.extensions().get::<Program>()?;
            (&program.id, What::Taken(table), Words::from_text(&program.name))
        }
        (None, caller) => {
            let (caller, standing) = (caller?, &live?.standing);
            if at_work(caller, standing, app.clock.now_ms()) {
                return None;
            }
            (&caller.id, What::Pages(caller.role), Words::default())
        }
    };
    if of_watch && live.is_none() {
        return None;
    }
    Some(Owed { reading: Reading { watch, by: by.clone(), what }, words })
}

/// The watch of the path, as the route reads it.
async fn watch_of(request: &mut Request) -> Option<WatchId> {
    let params = request.extract_parts::<RawPathParams>().await.ok()?;
    let watch = params.iter().find(|(name, _)| *name == "watch")?.1;
    WatchId::new(watch).ok()
}

/// Whether reading this watch is this person's work now: of the desk's people until the watch is released, of a shift
/// lead during the own shift there. Auditors and clients look from outside.
fn at_work(caller: &Caller, standing: &Standing, now_ms: i64) -> bool {
    match caller.role {
        Role::Dispatcher | Role::Keeper | Role::Proprietor => !standing.is_over(now_ms),
        Role::ShiftLead => {
            let planned = standing.planned.iter().any(|(who, from_ms, until_ms)| {
                *who == caller.id && (from_ms - AROUND_MS..until_ms + AROUND_MS).contains(&now_ms)
            });
            planned || standing.on_duty.iter().any(|duty| duty.who == caller.id)
        }
        _ => false,
    }
}

/// Writes the entry, unless it stands there already.
pub(crate) async fn note(app: &App, owed: Owed) -> Result<(), Problem> {
    let Owed { reading, words } = owed;
    let now_ms = app.clock.now_ms();
    // Held while it is written: who comes second has an entry that is durable.
    let mut noted = app.noted.0.lock().await;
    noted.retain(|_, at_ms| (0..SAME_MS).contains(&(now_ms - *at_ms)));
    if noted.contains_key(&reading) {
        return Ok(());
    }
    let by = &reading.by;
    let statement = match reading.what {
        What::Pages(role) => Statement::with(Viewed { by: by.clone(), role }, words),
        What::Taken(table) => {
            let head = app.publish().await?.claimed().quoted();
            Statement::with(Exported { head, by: by.clone(), table: Some(table) }, words)
        }
    };
    app.scribe.write(app, &reading.watch, by, vec![statement]).await?;
    noted.insert(reading, now_ms);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use ledger::Digest;

    const HOUR: i64 = 3_600_000;

    #[track_caller]
    fn check(role: Role, at_h: i64, standing: &Standing, at_work_then: bool) {
        let id = PersonId::new("p-1").unwrap();
        let session = Digest::of(b"session");
        let caller = Caller { id, name: "Ana Rell".into(), role, sites: Vec::new(), session };
        assert_eq!(at_work(&caller, standing, at_h * HOUR), at_work_then, "{role:?} at {at_h} h");
    }

    #[test]
    fn the_desk_works_on_a_watch_until_it_is_released_and_a_shift_lead_during_the_own_shift() {
        let own = (PersonId::new("p-1").unwrap(), 20 * HOUR, 28 * HOUR);
        let other = (PersonId::new("p-2").unwrap(), 10 * HOUR, 20 * HOUR);
        let planned = vec![other, own];
        let standing = Standing { planned, released_ms: Some(40 * HOUR), ..Standing::default() };
        for role in [Role::Dispatcher, Role::Keeper, Role::Proprietor] {
            check(role, 3, &standing, true);
            check(role, 41, &standing, false);
        }
        check(Role::ShiftLead, 12, &standing, false);
        check(Role::ShiftLead, 19, &standing, true);
        check(Role::ShiftLead, 24, &standing, true);
        check(Role::ShiftLead, 29, &standing, false);
        check(Role::Auditor, 24, &standing, false);
        check(Role::Client, 24, &standing, false);
    }
}
