//! A line with its entry read, as the fold keeps it.

use crate::held::Held;
use ledger::{Auth, Clk, DeviceId, Digest, LineId, PersonId};
use record::{Entry, Words};
use serde::Serialize;

/// By which way a statement reached the record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Via {
    /// Written by the person on their device.
    Device,
    /// Told by telephone and written at the desk.
    PhonedIn,
    /// Typed from a sheet of paper.
    Paper,
}

/// One line, read.
#[derive(Debug, Clone)]
pub struct Kept {
    /// The line's id.
    pub id: LineId,
    /// The device that signed.
    pub dev: DeviceId,
    /// Its number in that device's chain.
    pub seq: u64,
    /// Whose statement it is: the caller or the writer of the sheet, if it came that way.
    pub who: PersonId,
    /// Who wrote the line.
    pub by: PersonId,
    /// How the writer was known.
    pub auth: Auth,
    /// The device's clocks.
    pub clk: Clk,
    /// What is stated: the inner statement, if it was phoned in or typed from paper.
    pub said: Entry,
    /// How it came.
    pub via: Via,
    /// The picture of the page that it was typed from.
    pub page: Option<Digest>,
    /// The time that the statement gives for itself, ms UTC.
    pub stated_ms: Option<i64>,
    /// Why the body could not be read as its kind, if it could not.
    pub fault: Option<String>,
    /// The build that wrote it.
    pub app: String,
    /// Its words, names and position, if held.
    pub words: Option<Words>,
    /// Whether there is or was a private line.
    pub has_private: bool,
}

impl Kept {
    pub(crate) fn of(held: Held) -> Kept {
        let (id, line) = (held.line.id(), held.line.into_value());
        let (outer, fault) = read(&line.kind, &line.body);
        let mut kept = Kept {
            id,
            dev: line.dev,
            seq: line.seq,
            who: line.who.clone(),
            by: line.who,
            auth: line.auth,
            clk: line.clk,
            stated_ms: outer.stated_ms(),
            said: outer,
            via: Via::Device,
            page: None,
            fault,
            app: line.app,
            words: held.words,
            has_private: line.private.is_some(),
        };
        kept.unwrap_told();
        kept
    }

    /// Looks inside what was phoned in or typed from paper. A statement inside a statement inside a
    /// statement is shown as unknown: nobody tells the desk what somebody typed from a sheet.
    fn unwrap_told(&mut self) {
        let (via, who, states, body, page) = match &self.said {
            Entry::PhonedIn(told) => (Via::PhonedIn, &told.by, &told.states, &told.body, None),
            Entry::Transcribed(told) => {
                (Via::Paper, &told.writer, &told.states, &told.body, told.sheet)
            }
            _ => return,
        };
        let (inner, fault) = match read(states, body) {
            (Entry::PhonedIn(_) | Entry::Transcribed(_), _) => (
                Entry::Unknown { kind: states.clone(), body: body.clone() },
                Some("told twice over".to_owned()),
            ),
            read => read,
        };
        (self.page, self.via, self.who) = (page, via, who.clone());
        (self.said, self.fault) = (inner, fault);
    }
}

fn read(kind: &str, body: &serde_json::Map<String, serde_json::Value>) -> (Entry, Option<String>) {
    match Entry::from_body(kind, body) {
        Ok(entry) => (entry, None),
        Err(fault) => {
            (Entry::Unknown { kind: kind.to_owned(), body: body.clone() }, Some(fault.says))
        }
    }
}
