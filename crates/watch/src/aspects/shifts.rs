//! Shifts: who was on duty from when to when, what they read, checked and signed.

use crate::fold::Item;
use crate::time::Written;
use ledger::{DeviceId, Digest, LineId, PersonId, order};
use record::{
    BreakBegan, CheckedItem, EquipmentChecked, InstructionsRead, NoticeRead, OtherDuty,
    ReliefOffered, ReliefTaken, ShiftBegan, ShiftEnded, ZoneId,
};
use serde::Serialize;
use std::collections::BTreeMap;

/// One guard's stretch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Shift {
    /// Whose.
    pub who: PersonId,
    /// On which device it goes on: where it began, or one that the house let in since.
    pub dev: DeviceId,
    /// The line that began it: "I am here", or a relief taken.
    pub began: Written,
    /// From when that guard was answerable, ms UTC.
    pub from_ms: i64,
    /// Until when; none while on duty.
    pub until_ms: Option<i64>,
    /// Planned end, ms UTC.
    pub planned_until_ms: Option<i64>,
    /// The phone stays silent.
    pub silent: bool,
    /// Instructions that were read.
    pub instructions_read: Vec<Read>,
    /// The privacy notice was read.
    pub notice_read: Option<Written>,
    /// The kit that was checked; the newest check of each item.
    pub equipment: BTreeMap<CheckedItem, bool>,
    /// When it was checked.
    pub equipment_checked: Option<Written>,
    /// Zones in which the call path was tried.
    pub call_tried: Vec<ZoneId>,
    /// Whose watch was taken over, by which line.
    pub relief_taken: Option<(LineId, PersonId)>,
    /// Observations that were named at taking over.
    pub taken_open: Vec<LineId>,
    /// The offer to the next guard.
    pub relief_offered: Option<Written>,
    /// Observations that were named at offering.
    pub offered_open: Vec<LineId>,
    /// Who took over.
    pub relieved_by: Option<PersonId>,
    /// The line with which it was ended and signed.
    pub ended: Option<Written>,
    /// The drawn signature.
    pub signature: Option<Digest>,
    /// The guard stated that nothing was left open.
    pub all_clear: Option<bool>,
    /// Rounds walked, as the guard counts them.
    pub rounds_stated: Option<u32>,
    /// Breaks.
    pub breaks: Vec<Break>,
    /// Other duties that were given, from and until, ms UTC.
    pub other_duties: Vec<(i64, Option<i64>)>,
}

impl Shift {
    /// Its end or its signature, whichever is later, ms UTC; none while it lasts.
    pub fn until_signed_ms(&self) -> Option<i64> {
        let signed = self.ended.as_ref().map(|ended| ended.when.at_ms);
        self.until_ms.max(signed)
    }
}

/// Instructions that were read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Read {
    /// The line.
    pub written: Written,
    /// The blob that was read.
    pub instructions: Digest,
    /// Its version.
    pub version: u32,
}

/// A break.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Break {
    /// The line that began it.
    pub line: LineId,
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until; none while it lasts.
    pub until_ms: Option<i64>,
    /// Who covers it.
    pub covered_by: Option<PersonId>,
}

/// A guard on duty now.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Duty {
    /// Who.
    pub who: PersonId,
    /// Since when, ms UTC.
    pub since_ms: i64,
    /// The line that began it.
    pub line: LineId,
    /// The device.
    pub dev: DeviceId,
    /// The guard is on a break.
    pub on_break: bool,
}

/// A planned shift.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Scheduled {
    /// The line.
    pub written: Written,
    /// Who.
    pub person: PersonId,
    /// From, ms UTC.
    pub from_ms: i64,
    /// Until, ms UTC.
    pub until_ms: i64,
}

#[derive(Default)]
pub(crate) struct Fold {
    shifts: Vec<Shift>,
    scheduled: order::Map<(PersonId, i64), Scheduled>,
}

/// Shifts and what follows from them.
pub(crate) struct Shifts {
    pub(crate) shifts: Vec<Shift>,
    pub(crate) on_duty: Vec<Duty>,
    pub(crate) scheduled: Vec<Scheduled>,
}

impl Fold {
    pub(crate) fn began(&mut self, item: &Item<'_>, body: &ShiftBegan) {
        if let Some(shift) = self.on_duty(&item.kept.who) {
            shift.planned_until_ms = body.until_ms.or(shift.planned_until_ms);
            return;
        }
        let mut shift = Shift::beginning(item);
        (shift.planned_until_ms, shift.silent) = (body.until_ms, body.silent);
        self.shifts.push(shift);
    }

    /// The house let another device of a guard in, in the middle of the shift: it goes on there.
    pub(crate) fn enrolled(&mut self, body: &record::Enrolled) {
        if let Some(shift) = body.person.as_ref().and_then(|who| self.on_duty(who)) {
            shift.dev = body.device;
        }
    }

    pub(crate) fn relief_taken(&mut self, item: &Item<'_>, body: &ReliefTaken) {
        let at_ms = item.at_ms();
        if self.on_duty(&item.kept.who).is_none() {
            self.shifts.push(Shift::beginning(item));
        }
        let taker = self.on_duty(&item.kept.who).expect("just put on duty");
        taker.relief_taken = Some((item.id(), body.from.clone()));
        taker.taken_open = body.open.clone();
        if let Some(giver) = self.last_of(&body.from).filter(|shift| shift.who != item.kept.who) {
            giver.relieved_by = Some(item.kept.who.clone());
            giver.until_ms = giver.until_ms.or(Some(at_ms));
        }
    }

    pub(crate) fn relief_offered(&mut self, item: &Item<'_>, body: &ReliefOffered) {
        if let Some(shift) = self.last_of(&item.kept.who) {
            shift.relief_offered = Some(item.written.clone());
            shift.offered_open = body.open.clone();
        }
    }

    /// The signature may come after the relief; it does not lengthen the duty then.
    pub(crate) fn ended(&mut self, item: &Item<'_>, body: &ShiftEnded) {
        let Some(shift) = self.last_of(&item.kept.who) else { return };
        shift.ended = Some(item.written.clone());
        shift.until_ms = shift.until_ms.or(Some(item.effective.at_ms));
        shift.signature = body.signature;
        shift.all_clear = Some(body.all_clear);
        shift.rounds_stated = Some(body.rounds);
    }

    pub(crate) fn instructions_read(&mut self, item: &Item<'_>, body: &InstructionsRead) {
        if let Some(shift) = self.last_of(&item.kept.who) {
            shift.instructions_read.push(Read {
                written: item.written.clone(),
                instructions: body.instructions,
                version: body.version,
            });
        }
    }

    pub(crate) fn notice_read(&mut self, item: &Item<'_>, _body: &NoticeRead) {
        if let Some(shift) = self.last_of(&item.kept.who) {
            shift.notice_read = Some(item.written.clone());
        }
    }

    pub(crate) fn equipment(&mut self, item: &Item<'_>, body: &EquipmentChecked) {
        if let Some(shift) = self.last_of(&item.kept.who) {
            shift.equipment.extend(body.items.iter().map(|(item, there)| (*item, *there)));
            shift.equipment_checked = Some(item.written.clone());
            shift.call_tried.extend(body.zone.clone());
        }
    }

    pub(crate) fn break_began(&mut self, item: &Item<'_>, body: &BreakBegan) {
        if let Some(shift) = self.on_duty(&item.kept.who) {
            shift.breaks.push(Break {
                line: item.id(),
                from_ms: item.at_ms(),
                until_ms: None,
                covered_by: body.covered_by.clone(),
            });
        }
    }

    pub(crate) fn break_ended(&mut self, item: &Item<'_>) {
        if let Some(shift) = self.on_duty(&item.kept.who)
            && let Some(open) = shift.breaks.iter_mut().rfind(|b| b.until_ms.is_none())
        {
            open.until_ms = Some(item.at_ms());
        }
    }

    pub(crate) fn other_duty(&mut self, item: &Item<'_>, body: &OtherDuty) {
        let Some(shift) = self.last_of(&item.kept.who) else { return };
        match (body.began, shift.other_duties.last_mut()) {
            (true, _) => shift.other_duties.push((item.at_ms(), None)),
            (false, Some((_, until_ms @ None))) => *until_ms = Some(item.at_ms()),
            (false, _) => {}
        }
    }

    pub(crate) fn scheduled(&mut self, item: &Item<'_>, body: &record::Scheduled) {
        let key = (body.person.clone(), body.from_ms);
        if body.withdrawn {
            self.scheduled.remove(&key);
            return;
        }
        let scheduled = Scheduled {
            written: item.written.clone(),
            person: body.person.clone(),
            from_ms: body.from_ms,
            until_ms: body.until_ms,
        };
        self.scheduled.insert(key, scheduled);
    }

    pub(crate) fn finish(&mut self, until_ms: i64) -> Shifts {
        let shifts = std::mem::take(&mut self.shifts);
        let on_duty = shifts
            .iter()
            .filter(|shift| shift.until_ms.is_none() && shift.from_ms <= until_ms)
            .map(|shift| Duty {
                who: shift.who.clone(),
                since_ms: shift.from_ms,
                line: shift.began.line,
                dev: shift.dev,
                on_break: shift.breaks.iter().any(|b| b.until_ms.is_none()),
            })
            .collect();
        let mut scheduled: Vec<Scheduled> =
            std::mem::take(&mut self.scheduled).into_values().collect();
        order::sort_by(&mut scheduled, |a, b| (a.from_ms, &a.person).cmp(&(b.from_ms, &b.person)));
        Shifts { shifts, on_duty, scheduled }
    }

    fn on_duty(&mut self, who: &PersonId) -> Option<&mut Shift> {
        self.shifts.iter_mut().rfind(|shift| shift.who == *who && shift.until_ms.is_none())
    }

    fn last_of(&mut self, who: &PersonId) -> Option<&mut Shift> {
        self.shifts.iter_mut().rfind(|shift| shift.who == *who)
    }
}

impl Shift {
    fn beginning(item: &Item<'_>) -> Shift {
        Shift {
            who: item.kept.who.clone(),
            dev: item.kept.dev,
            began: item.written.clone(),
            from_ms: item.at_ms(),
            until_ms: None,
            planned_until_ms: None,
            silent: false,
            instructions_read: Vec::new(),
            notice_read: None,
            equipment: BTreeMap::new(),
            equipment_checked: None,
            call_tried: Vec::new(),
            relief_taken: None,
            taken_open: Vec::new(),
            relief_offered: None,
            offered_open: Vec::new(),
            relieved_by: None,
            ended: None,
            signature: None,
            all_clear: None,
            rounds_stated: None,
            breaks: Vec::new(),
            other_duties: Vec::new(),
        }
    }
}
