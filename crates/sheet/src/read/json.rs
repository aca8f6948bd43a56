//! A reading as JSON; `docs/paper-sheet.md` says what each member means.

use super::{BoxRead, Kind, Reading};
use crate::{SheetCode, ZoneRef};
use serde_json::{Value, json};
use words::Lang;

impl Reading {
    /// The reading for a program. Sentences are in the reader's language.
    pub fn to_json(&self, lang: Lang) -> Value {
        let code = self.code.as_ref();
        let tz_min = code.map_or(0, |code| i64::from(code.tz_min));
        let boxes: Vec<Value> = self.boxes.iter().map(|one| one.to_json(tz_min)).collect();
        let faults: Vec<Value> = self
            .faults
            .iter()
            .map(|fault| json!({ "is": fault.name(), "says": fault.say(lang) }))
            .collect();
        json!({
            "v": 1,
            "kind": match self.kind { Kind::Sheet => "sheet", Kind::Notepad => "notepad" },
            "code": code.map(SheetCode::text),
            "watch": code.map(|code| code.watch.to_string()),
            "page": code.map(|code| code.page),
            "of": code.map(|code| code.of),
            "set": code.map(|code| format!("{:08x}", code.set)),
            "layout": code.map(|_| crate::LAYOUT_VERSION),
            "paper": code.map(|code| code.size),
            "ticked": self.boxes.iter().filter(|one| one.ticked && !one.unsure).count(),
            "unsure": self.boxes.iter().filter(|one| one.unsure).count(),
            "boxes": boxes,
            "faults": faults,
            "straightened": self.straightened.as_ref().map(|page| {
                json!({ "width": page.width(), "height": page.height() })
            }),
        })
    }
}

impl BoxRead {
    fn to_json(&self, tz_min: i64) -> Value {
        let window = self.window.map(|window| {
            let clock = |at_ms| words::clock(at_ms, tz_min);
            json!({
                "from_ms": window.from_ms,
                "until_ms": window.until_ms,
                "says": format!("{}–{}", clock(window.from_ms), clock(window.until_ms)),
            })
        });
        json!({
            "row": self.row + 1,
            "column": self.column + 1,
            "zone": match &self.zone {
                ZoneRef::Id(id) => Some(id.to_string()),
                ZoneRef::Digest(_) | ZoneRef::Blank => None,
            },
            "zone_digest": match &self.zone {
                ZoneRef::Digest(digest) => Some(digest),
                ZoneRef::Id(_) | ZoneRef::Blank => None,
            },
            "window": window,
            "ticked": self.ticked,
            "unsure": self.unsure,
            "ink_permille": self.ink_permille,
            "at": self.at,
        })
    }
}
