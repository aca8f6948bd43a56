//! `POST /sync`: a phone's lines in, receipts and others' lines out.

mod giving;
mod heads;
mod taking;

pub(crate) use taking::{Bringer, Judged, Refused, take};

use crate::device::Device;
use crate::people;
use crate::problem::Problem;
use crate::server::App;
use axum::extract::State;
use axum::{Extension, Json};
use giving::{GIVEN_MAX, give, keys, others};
use heads::Heads;
use ledger::Head;
use phone::sync::{Is, Outcome, Reply, Request, VERSION};

/// `POST /sync`
pub(crate) async fn answer(
    State(app): State<App>,
    Extension(Device(dev)): Extension<Device>,
    Json(request): Json<Request>,
) -> Result<Json<Reply>, Problem> {
    let t1 = app.clock.now_ms();
    if request.v != VERSION {
        let says = format!("version {} of the conversation is not known here", request.v);
        return Err(Problem::Bad(says));
    }
    let judged = take(&app, Bringer::Phone(dev), &request.lines).await?;
    // Only now: a phone that comes back with its lines is judged with them.
    app.heard(dev);
    let held = request.head.as_ref();
    let given = others(&app, dev, &request.watches, held).await?;
    let head = app.publish().await?;
    let Head { origin, size, .. } = head.claimed().clone();
    let consistency = match held.filter(|held| held.origin == origin) {
        Some(held) if held.size > 0 && held.size < size => {
            app.store.consistency(&origin, held.size, size).await?
        }
        _ => Vec::new(),
    };
    let mut heads = Heads::new(&app, head);
    let mut outcomes = Vec::new();
    for line in judged {
        outcomes.push(outcome(&app, &mut heads, line).await?);
    }
    let more = given.len() > GIVEN_MAX;
    let lines = give(&app, &mut heads, &given[..given.len().min(GIVEN_MAX)]).await?;
    let (head, logs) = heads.told(held);
    Ok(Json(Reply {
        v: VERSION,
        t1,
        t2: app.clock.now_ms(),
        head: head.to_string(),
        consistency,
        outcomes,
        keys: keys(&app, &given).await?,
        lines,
        watches: crate::enrolment::watches_of(&app, dev),
        people: people::who_may_take_over(&app, dev).await?,
        more,
        logs,
    }))
}

async fn outcome(app: &App, heads: &mut Heads, line: Judged) -> Result<Outcome, Problem> {
    let id = line.id;
    let bare =
        |is| Outcome { id, is, leaf: None, proof: None, log: None, missing: None, says: None };
    let (is, place) = match line.outcome {
        Err(refused) => {
            return Ok(Outcome { says: Some(refused.to_string()), ..bare(Is::Refused) });
        }
        Ok(store::Outcome::Refused(refusal)) => {
            return Ok(Outcome { says: Some(refusal.to_string()), ..bare(Is::Refused) });
        }
        Ok(store::Outcome::Forked { with }) => {
            let says = format!("another line, {with}, has this place in the chain");
            return Ok(Outcome { says: Some(says), ..bare(Is::Forked) });
        }
        Ok(store::Outcome::Held { missing }) => {
            let first = missing.first().map(|range| (range.start, range.end - 1));
            return Ok(Outcome { missing: first, ..bare(Is::Held) });
        }
        Ok(store::Outcome::Received(place)) => (Is::Received, place),
        Ok(store::Outcome::Again(place)) => (Is::Again, place),
    };
    let (head, log) = heads.of(app, &place.origin).await?;
    let receipts = app.store.receipts(&head, &[place.index]).await?;
    let receipt = receipts.into_iter().next();
    let receipt = receipt.ok_or_else(|| Problem::Machine("the receipt is missing".into()))?;
    Ok(Outcome {
        leaf: String::from_utf8(receipt.leaf.to_bytes()).ok(),
        proof: Some(receipt.proof.path),
        log,
        ..bare(is)
    })
}
