//! The desk and the server: orders, terms, impairments, paper, alerts, release, delivery.

use super::Tell;
use crate::clock::span_s;
use crate::form::Blanks;
use crate::head::{code, id};
use crate::teller::{Teller, named};
use ledger::Digest;
use record::*;
use std::collections::BTreeMap;

pub(super) const FORMS: &[(&str, Tell)] = &[
    ("<who> plans <other> from <from> to <until>", plans),
    ("<who> sets the gap of <zone> to <gap>", sets_gap),
    ("<who> receives an order of <from>, gap of <zone> <gap>", order),
    ("<who> receives order <number> of <from>, gap of <zone> <gap>", order),
    ("<who> finds out that <system> is out since <time>, expected back <until>", found_out),
    ("<who> finds out that <system> is out since <time>", found_out),
    ("<who> restores <system> with <steps>", restores),
    ("<who> notifies <party> by <means> of the end of <system>", notifies_end),
    ("<who> notifies <party> by <means> of <system>", notifies),
    ("<who> allows paper, <why>", allows_paper),
    ("<who> hands over <n> sheets", hands_over),
    ("<who> types from paper of <other>, <time>, <class> in <zone>: <text>", types_finding),
    ("<who> types from paper of <other>, <time> <zone>", types),
    ("<who> hears by telephone from <other>, <time> <zone>", hears),
    ("<who> alerts, <cause> in <zone>", alerts),
    ("<who> takes the alert", takes_alert),
    ("<who> sets a hold", sets_hold),
    ("<who> lifts the hold", lifts_hold),
    ("<who> visits as <party>", visits),
    ("<who> reviews the <of>", reviews),
    ("<who> countersigns the <of>", countersigns),
    ("<who> sends report <number> of the <of>, <from> to <until>", sends_numbered),
    ("<who> sends the report", sends),
    ("<who> fails to send the report", fails_to_send),
    ("<who> releases the watch by <by> in writing", releases_in_writing),
    ("<who> releases the watch by <by>", releases),
];

fn plans(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let from_ms = teller.clock.near(blanks.get("from"), at_ms)?;
    let until_ms = teller.clock.after(blanks.get("until"), from_ms)?;
    let scheduled = Scheduled {
        person: teller.person(blanks.get("other"))?,
        from_ms,
        until_ms,
        withdrawn: false,
    };
    teller.write(blanks.get("who"), at_ms, scheduled, named("person", blanks.get("other")))?;
    Ok(())
}

fn sets_gap(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    teller.head.gaps.insert(id(blanks.get("zone"))?, span_s(blanks.get("gap"))?);
    teller.set_terms(at_ms)?;
    Ok(())
}

fn order(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let order = OrderReceived {
        from: code(blanks.get("from"))?,
        number: Some(blanks.get("number").to_owned()).filter(|number| !number.is_empty()),
        at_ms: blanks.as_of_ms().unwrap_or(at_ms),
        written: true,
        blob: None,
        gaps_s: BTreeMap::from([(id(blanks.get("zone"))?, span_s(blanks.get("gap"))?)]),
        people_at_least: None,
        watch_until_ms: None,
    };
    teller.write(blanks.get("who"), at_ms, order, Words::default())?;
    Ok(())
}

fn found_out(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let expected = Some(blanks.get("until")).filter(|until| !until.is_empty());
    let found = ImpairmentFound {
        system: code(blanks.get("system"))?,
        from_ms: teller.clock.near(blanks.get("time"), at_ms)?,
        planned: false,
        expected_ms: expected.map(|until| teller.clock.after(until, at_ms)).transpose()?,
        steps: Vec::new(),
    };
    teller.write(blanks.get("who"), at_ms, found, Words::default())?;
    Ok(())
}

fn restores(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let steps = match blanks.get("steps") {
        "every step" => RestorationStep::ALL.to_vec(),
        steps => steps.split(" and ").map(code).collect::<Result<_, _>>()?,
    };
    let restored = ImpairmentRestored {
        system: code(blanks.get("system"))?,
        at_ms: blanks.as_of_ms().unwrap_or(at_ms),
        steps,
    };
    teller.write(blanks.get("who"), at_ms, restored, Words::default())?;
    Ok(())
}

fn notice(teller: &mut Teller, blanks: &Blanks, at_ms: i64, restored: bool) -> Result<(), String> {
    let notified = Notified {
        party: code(blanks.get("party").trim_start_matches("the "))?,
        means: code(blanks.get("means"))?,
        system: Some(code(blanks.get("system"))?),
        restored,
        at_ms: blanks.as_of_ms(),
    };
    teller.write(blanks.get("who"), at_ms, notified, Words::default())?;
    Ok(())
}

fn notifies(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    notice(teller, blanks, at_ms, false)
}

fn notifies_end(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    notice(teller, blanks, at_ms, true)
}

fn allows_paper(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let allowed = PaperAllowed { why: code(blanks.get("why"))?, guard: None };
    teller.write(blanks.get("who"), at_ms, allowed, Words::default())?;
    Ok(())
}

fn hands_over(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let sheets = blanks
        .get("n")
        .parse()
        .map_err(|_| format!("{:?} is no number of sheets", blanks.get("n")))?;
    teller.write(
        blanks.get("who"),
        at_ms,
        PaperHandedOver { sheets, to: None },
        Words::default(),
    )?;
    Ok(())
}

fn types(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let (writer, stated_ms, body) = told_look(teller, blanks, at_ms)?;
    let sheet = Some(page_of(teller, blanks));
    let typed = Transcribed { sheet, writer, at_ms: stated_ms, states: "seen".to_owned(), body };
    let line = teller.write(blanks.get("who"), at_ms, typed, Words::default())?;
    teller.memory.last.insert(blanks.get("who").to_owned(), line);
    Ok(())
}

/// The picture of the page that somebody wrote.
fn page_of(teller: &mut Teller, blanks: &Blanks) -> Digest {
    teller.blob(format!("page of {}", blanks.get("other")).into_bytes())
}

fn types_finding(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let class: HazardClass = code(blanks.get("class"))?;
    let found = Observed {
        class,
        severity: class.default_severity(),
        zone: Some(id(blanks.get("zone"))?),
        stop: None,
        place: None,
        at_ms: None,
        again: None,
    };
    let typed = Transcribed {
        sheet: Some(page_of(teller, blanks)),
        writer: teller.person(blanks.get("other"))?,
        at_ms: teller.clock.near(blanks.get("time"), at_ms)?,
        states: "observed".to_owned(),
        body: Entry::from(found).to_body(),
    };
    let words = Words::from_text(blanks.get("text"));
    teller.write(blanks.get("who"), at_ms, typed, words)?;
    Ok(())
}

fn hears(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let (by, stated_ms, body) = told_look(teller, blanks, at_ms)?;
    let heard = PhonedIn { by, at_ms: stated_ms, states: "seen".to_owned(), body };
    let line = teller.write(blanks.get("who"), at_ms, heard, Words::default())?;
    teller.memory.last.insert(blanks.get("who").to_owned(), line);
    Ok(())
}

type Body = serde_json::Map<String, serde_json::Value>;

fn told_look(
    teller: &mut Teller,
    blanks: &Blanks,
    at_ms: i64,
) -> Result<(ledger::PersonId, i64, Body), String> {
    let mut seen = super::round::seen(teller, blanks)?;
    (seen.how, seen.tag) = (HowSeen::Hand, None);
    let stated_ms = teller.clock.near(blanks.get("time"), at_ms)?;
    Ok((teller.person(blanks.get("other"))?, stated_ms, Entry::from(seen).to_body()))
}

fn alerts(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let alerted = Alerted {
        cause: code(blanks.get("cause"))?,
        zone: Some(id(blanks.get("zone"))?),
        due_ms: at_ms,
        step: 0,
        channel: Channel::Desk,
        to: None,
        of: None,
        withdrawn: false,
    };
    let line = teller.write(blanks.get("who"), at_ms, alerted, Words::default())?;
    teller.memory.alert = Some(line);
    Ok(())
}

fn takes_alert(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let alert = teller.memory.alert.ok_or("there is no alert to take")?;
    teller.write(blanks.get("who"), at_ms, Acknowledged { alert }, Words::default())?;
    Ok(())
}

fn sets_hold(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let line = teller.write(blanks.get("who"), at_ms, HoldSet { cause: None }, Words::default())?;
    teller.memory.hold = Some(line);
    Ok(())
}

fn lifts_hold(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let hold = teller.memory.hold.ok_or("no hold was set")?;
    teller.write(blanks.get("who"), at_ms, HoldLifted { hold }, Words::default())?;
    Ok(())
}

fn visits(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let visit = Visit { by: code(blanks.get("party"))?, announced: false, guard_found: true };
    teller.write(blanks.get("who"), at_ms, visit, Words::default())?;
    Ok(())
}

fn reviews(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let reviewed = Reviewed { of: code(blanks.get("of"))?, to_ms: at_ms };
    teller.write(blanks.get("who"), at_ms, reviewed, Words::default())?;
    Ok(())
}

fn countersigns(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let signature = Some(teller.blob(b"the client's signature".to_vec()));
    let signed = Countersigned { of: code(blanks.get("of"))?, to_ms: at_ms, signature };
    teller.write(blanks.get("who"), at_ms, signed, Words::default())?;
    Ok(())
}

fn deliver(teller: &mut Teller, blanks: &Blanks, at_ms: i64, ok: bool) -> Result<(), String> {
    teller.memory.reports += 1;
    let delivered = Delivered {
        what: Digest::of(format!("report {}", teller.memory.reports).as_bytes()),
        number: teller.memory.reports,
        channel: Channel::Mail,
        to: Digest::of(b"marshal@gannet.example"),
        ok,
        report: None,
    };
    teller.write(blanks.get("who"), at_ms, delivered, Words::default())?;
    Ok(())
}

/// The server counts the chains, prints what it knows, and says what that was.
fn sends_numbered(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    let number = blanks.get("number").parse().map_err(|_| "a report has a number".to_owned())?;
    let until_ms = teller.clock.near(blanks.get("until"), at_ms)?;
    let counted = teller.count_chains();
    let counted = teller.write("the server", at_ms, counted, Words::default())?;
    let delivered = Delivered {
        what: Digest::of(format!("report {number}").as_bytes()),
        number,
        channel: Channel::Mail,
        to: Digest::of(b"marshal@gannet.example"),
        ok: true,
        report: Some(Reported {
            of: code(blanks.get("of"))?,
            from_ms: teller.clock.near(blanks.get("from"), until_ms)?,
            until_ms,
            issued_ms: at_ms,
            counted,
        }),
    };
    teller.write(blanks.get("who"), at_ms, delivered, Words::default())?;
    Ok(())
}

fn sends(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    deliver(teller, blanks, at_ms, true)
}

fn fails_to_send(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    deliver(teller, blanks, at_ms, false)
}

fn release(teller: &mut Teller, blanks: &Blanks, at_ms: i64, written: bool) -> Result<(), String> {
    let by = code(blanks.get("by").trim_start_matches("the "))?;
    let released =
        WatchReleased { by, at_ms: blanks.as_of_ms().unwrap_or(at_ms), written, blob: None };
    teller.write(blanks.get("who"), at_ms, released, Words::default())?;
    Ok(())
}

fn releases(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    release(teller, blanks, at_ms, false)
}

fn releases_in_writing(teller: &mut Teller, blanks: &Blanks, at_ms: i64) -> Result<(), String> {
    release(teller, blanks, at_ms, true)
}
