//! How the phone becomes somebody's: token, key, first line, six digits, in.

use crate::effect::{Body, Effect, Method, Ticket};
use crate::model::{Effects, Membership, Model, Notice};
use crate::moment::Moment;
use crate::stored::{Enrolling, Name, Put, StoredDevice, note};
use crate::sync::{EnrolReply, EnrolRequest, RequestNote, confirmation_code};
use crate::writing::{Then, say_as};
use ledger::{Digest, LineId, PersonId, PublicKey, WatchId};
use record::{Enrolled, KeyKept, Role, Words};

/// So often the phone asks whether the code was confirmed, ms.
const EVERY_MS: i64 = 2_000;

/// After so long without an answer a question counts as lost, ms.
const LOST_MS: i64 = 15_000;

/// A question of the enrolment that is under way.
#[derive(Debug, Default)]
pub(crate) struct Question {
    ticket: Option<Ticket>,
    asked_mono_ms: i64,
    next_mono_ms: i64,
}

/// A token was given. A phone that is in stays what it is; a new token on a phone that never got in
/// starts again with a new key, since the first line of the old one names the old token.
pub(crate) fn enrol(model: &mut Model, token: &str, effects: &mut Effects) {
    let token = token_of(token);
    if matches!(model.membership, Membership::In(_)) || token.is_empty() {
        return;
    }
    let same = match &model.membership {
        Membership::Asking { token: held } | Membership::Waiting { token: held, .. } => {
            *held == token
        }
        _ => false,
    };
    if same {
        return;
    }
    model.membership = Membership::Asking { token: token.clone() };
    model.device = None;
    model.tips.clear();
    model.lines.clear();
    let ticket = model.ticket();
    let puts = vec![note(Name::Enrolling, &Enrolling { token })];
    effects.push(Effect::Save { ticket, guard: None, puts });
    effects.push(Effect::MakeKey);
}

/// The token in what was typed, scanned or linked: what follows `enrol=`, else all of it.
fn token_of(text: &str) -> String {
    let text = text.trim();
    let token = text.rsplit_once("enrol=").map_or(text, |(_, token)| token);
    token.split(['&', '#', '?']).next().unwrap_or_default().trim().to_owned()
}

/// The key is there and proven: state it as the first line.
pub(crate) fn key_made(model: &mut Model, at: &Moment, key: PublicKey, keep: KeyKept) {
    model.device = Some(StoredDevice { key, keep });
    let Membership::Asking { token } = &model.membership else { return };
    let entry = Enrolled {
        device: key.device(),
        key,
        keep,
        role: Role::Guard,
        person: None,
        token: Some(Digest::of(token.as_bytes())),
        by: None,
    };
    // Whose phone it will be is for the desk to say.
    let nobody = PersonId::new("enrolling").expect("follows the form of ids");
    let org = WatchId::org();
    say_as(model, at, org, nobody, entry.into(), Words::default(), Then::Enrol, Vec::new());
}

/// No key can be kept here.
pub(crate) fn key_failed(model: &mut Model) {
    model.membership = Membership::None;
    model.notice = Some(Notice::KeyFailed);
}

/// The first line is kept: ask.
pub(crate) fn line_kept(model: &mut Model, at: &Moment, _line: LineId, effects: &mut Effects) {
    model.enrolment.next_mono_ms = at.mono_ms;
    step(model, at, effects);
}

/// Asks what is to be asked now.
pub(crate) fn step(model: &mut Model, at: &Moment, effects: &mut Effects) {
    let lost = at.mono_ms - model.enrolment.asked_mono_ms > LOST_MS;
    let busy = model.enrolment.ticket.is_some() && !lost;
    if busy || at.mono_ms < model.enrolment.next_mono_ms {
        return;
    }
    match &model.membership {
        Membership::Asking { token } => ask(model, at, token.clone(), effects),
        Membership::Waiting { token, .. } => poll(model, at, token.clone(), effects),
        _ => {}
    }
}

fn ask(model: &mut Model, at: &Moment, token: String, effects: &mut Effects) {
    let Some(device) = model.device.clone() else { return };
    let first = model.lines.values().find(|kept| {
        kept.line.watch.is_org() && kept.line.seq == 0 && kept.line.dev == device.key.device()
    });
    let Some(first) = first else { return };
    let request = EnrolRequest {
        token,
        key: device.key,
        keep: device.keep,
        line: first.stored.line.clone(),
        sig: first.stored.sig,
    };
    let body = serde_json::to_string(&request).expect("a request holds text");
    send(model, at, Method::Post, "/enrol".to_owned(), Body::Text(body), effects);
}

fn poll(model: &mut Model, at: &Moment, token: String, effects: &mut Effects) {
    send(model, at, Method::Get, format!("/enrol/{token}"), Body::Empty, effects);
}

fn send(
    model: &mut Model,
    at: &Moment,
    method: Method,
    path: String,
    body: Body,
    effects: &mut Effects,
) {
    let Some(device) = model.device.as_ref().map(|device| device.key.device()) else { return };
    let bytes = match &body {
        Body::Text(text) => text.as_bytes(),
        _ => b"",
    };
    let note = RequestNote::new(device, &path, bytes, at.wall_ms).text();
    let ticket = model.ticket();
    model.enrolment.ticket = Some(ticket);
    model.enrolment.asked_mono_ms = at.mono_ms;
    model.enrolment.next_mono_ms = at.mono_ms + EVERY_MS;
    effects.push(Effect::Send { ticket, method, path, body, note });
}

/// An answer came. False if it was not one to us.
pub(crate) fn answered(
    model: &mut Model,
    at: &Moment,
    ticket: Ticket,
    status: u16,
    body: &[u8],
    effects: &mut Effects,
) -> bool {
    if model.enrolment.ticket.take_if(|asked| *asked == ticket).is_none() {
        return false;
    }
    let token = match &model.membership {
        Membership::Asking { token } | Membership::Waiting { token, .. } => token.clone(),
        _ => return true,
    };
    match ledger::json::parse::<EnrolReply>(body) {
        Ok(EnrolReply::Waiting { .. }) if status < 300 => {
            // The code shown is the one computed here: the server cannot choose it.
            let Some(key) = model.device.as_ref().map(|device| device.key) else { return true };
            let code = confirmation_code(&key, &token);
            model.membership = Membership::Waiting { token, code };
        }
        Ok(EnrolReply::In(member)) if status < 300 => {
            model.log.watches = member.watches.clone();
            model.log.people = member.people.clone();
            model.choices.watch = member.watches.first().cloned();
            let ticket = model.ticket();
            let puts = vec![
                note(Name::Member, &member),
                note(Name::Log, &model.log),
                note(Name::Choices, &model.choices),
                Put::Note { name: Name::Enrolling, json: None },
            ];
            model.membership = Membership::In(member);
            effects.push(Effect::Save { ticket, guard: None, puts });
            effects.push(Effect::PersistStorage);
            crate::syncing::woke(model, at);
        }
        Ok(EnrolReply::Refused { .. }) => model.membership = Membership::Refused,
        _ if matches!(status, 400 | 403 | 404 | 409 | 410) => {
            model.membership = Membership::Refused;
        }
        _ => {}
    }
    true
}

/// No answer came. False if it was not asked by us.
pub(crate) fn no_answer(model: &mut Model, ticket: Ticket) -> bool {
    model.enrolment.ticket.take_if(|asked| *asked == ticket).is_some()
}

#[cfg(test)]
mod tests {
    use super::token_of;

    #[test]
    fn a_token_comes_out_of_a_link_or_a_typed_word() {
        let check = |text: &str| assert_eq!(token_of(text), "t-9f2c");
        check("https://watch.example/phone/#enrol=t-9f2c");
        check(" t-9f2c \n");
        check("#enrol=t-9f2c&x=1");
        assert_eq!(token_of("  "), "");
    }
}
