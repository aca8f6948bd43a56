//! What codes are called on the phone's buttons.

use crate::correcting::LateWhy;
use record::{
    CheckedItem, HazardClass, Means, PaperWhy, Party, PermitCheck, Severity, System, WhatDone,
    WhyNot,
};
use words::{Lang, codes, correcting, paper, phone as w};

pub(crate) fn class(lang: Lang, class: HazardClass) -> &'static str {
    match class {
        HazardClass::Fire => w::class_fire(lang),
        HazardClass::Exits => w::class_exits(lang),
        HazardClass::FireDoors => w::class_fire_doors(lang),
        HazardClass::Protection => w::class_protection(lang),
        HazardClass::Access => w::class_access(lang),
        HazardClass::HotWork => w::class_hot_work(lang),
        HazardClass::Rubbish => w::class_rubbish(lang),
        HazardClass::Flammables => w::class_flammables(lang),
        HazardClass::Heating => w::class_heating(lang),
        HazardClass::Electrical => w::class_electrical(lang),
        HazardClass::Batteries => w::class_batteries(lang),
        HazardClass::People => w::class_people(lang),
    }
}

pub(crate) fn severity(lang: Lang, severity: Severity) -> &'static str {
    match severity {
        Severity::LifeNow => w::severity_life_now(lang),
        Severity::ThisRound => w::severity_this_round(lang),
        Severity::ThisShift => w::severity_this_shift(lang),
        Severity::Note => w::severity_note(lang),
    }
}

pub(crate) fn done(lang: Lang, done: WhatDone) -> &'static str {
    match done {
        WhatDone::Cleared => w::did_cleared(lang),
        WhatDone::Shut => w::did_shut(lang),
        WhatDone::SwitchedOff => w::did_switched_off(lang),
        WhatDone::MovedOutside => w::did_moved_outside(lang),
        WhatDone::WorkStopped => w::did_work_stopped(lang),
        WhatDone::Cooled => w::did_cooled(lang),
        WhatDone::Posted => w::did_posted(lang),
        WhatDone::Told => w::did_told(lang),
        WhatDone::LookedAgain => w::did_looked_again(lang),
        WhatDone::NothingFound => w::did_nothing_found(lang),
        WhatDone::CauseFound => w::did_cause_found(lang),
        WhatDone::LeftArea => w::did_left_area(lang),
        WhatDone::Other => w::did_other(lang),
    }
}

pub(crate) fn why_not(lang: Lang, why: WhyNot) -> &'static str {
    match why {
        WhyNot::Locked => w::why_locked(lang),
        WhyNot::Blocked => w::why_blocked(lang),
        WhyNot::Unsafe => w::why_unsafe(lang),
        WhyNot::Refused => w::why_refused(lang),
        WhyNot::Work => w::why_work(lang),
        WhyNot::Occupied => w::why_occupied(lang),
        WhyNot::Other => w::why_other(lang),
    }
}

pub(crate) fn item(lang: Lang, item: CheckedItem) -> &'static str {
    match item {
        CheckedItem::Phone => w::item_phone(lang),
        CheckedItem::Signal => w::item_signal(lang),
        CheckedItem::Radio => w::item_radio(lang),
        CheckedItem::Horn => w::item_horn(lang),
        CheckedItem::Flashlight => w::item_flashlight(lang),
        CheckedItem::Keys => w::item_keys(lang),
        CheckedItem::Extinguisher => w::item_extinguisher(lang),
        CheckedItem::Vest => w::item_vest(lang),
        CheckedItem::Paper => w::item_paper(lang),
    }
}

pub(crate) fn party(lang: Lang, party: Party) -> &'static str {
    match party {
        Party::FireService => w::party_fire_service(lang),
        Party::Authority => w::party_authority(lang),
        Party::Monitoring => w::party_monitoring(lang),
        Party::Insurer => w::party_insurer(lang),
        Party::Owner => w::party_owner(lang),
        Party::Coordinator => w::party_coordinator(lang),
        Party::Supervisor => w::party_supervisor(lang),
        Party::Dispatcher => w::party_dispatcher(lang),
        Party::Occupants => w::party_occupants(lang),
        Party::Foreman => w::party_foreman(lang),
        Party::Electrician => w::party_electrician(lang),
        Party::Utility => w::party_utility(lang),
        Party::Police => w::party_police(lang),
        Party::Engineer => w::party_engineer(lang),
        Party::Other => w::party_other(lang),
    }
}

pub(crate) fn permit_check(lang: Lang, check: PermitCheck) -> &'static str {
    match check {
        PermitCheck::Clear35Ft => codes::permit_check_clear35_ft(lang),
        PermitCheck::SprinklersOn => codes::permit_check_sprinklers_on(lang),
        PermitCheck::ExtinguisherReady => codes::permit_check_extinguisher_ready(lang),
        PermitCheck::EquipmentGood => codes::permit_check_equipment_good(lang),
        PermitCheck::FlammablesGone => codes::permit_check_flammables_gone(lang),
        PermitCheck::OtherSideChecked => codes::permit_check_other_side_checked(lang),
        PermitCheck::OpeningsCovered => codes::permit_check_openings_covered(lang),
        PermitCheck::DuctsClosed => codes::permit_check_ducts_closed(lang),
        PermitCheck::EnclosedPurged => codes::permit_check_enclosed_purged(lang),
        PermitCheck::ColdNotPossible => codes::permit_check_cold_not_possible(lang),
        PermitCheck::DetectorsNoted => codes::permit_check_detectors_noted(lang),
        PermitCheck::WatchNamed => codes::permit_check_watch_named(lang),
    }
}

pub(crate) fn paper_why(lang: Lang, why: PaperWhy) -> &'static str {
    match why {
        PaperWhy::PhoneDead => paper::why_phone_dead(lang),
        PaperWhy::PhoneLost => paper::why_phone_lost(lang),
        PaperWhy::PhoneFaulty => paper::why_phone_faulty(lang),
        PaperWhy::NoPhone => paper::why_no_phone(lang),
        PaperWhy::Terms => paper::why_terms(lang),
    }
}

pub(crate) fn late_why(lang: Lang, why: LateWhy) -> &'static str {
    match why {
        LateWhy::PutRight => correcting::late_put_right(lang),
        LateWhy::People => correcting::late_people(lang),
        LateWhy::Way => correcting::late_way(lang),
        LateWhy::HotWork => correcting::late_hot_work(lang),
        LateWhy::Phone => correcting::late_phone(lang),
        LateWhy::Unwell => correcting::late_unwell(lang),
    }
}

/// The means that a guard on a round has, each with its word.
pub(crate) fn means(lang: Lang) -> [(Means, &'static str); 5] {
    [
        (Means::Phone, w::means_phone(lang)),
        (Means::Radio, w::means_radio(lang)),
        (Means::InPerson, w::means_in_person(lang)),
        (Means::Text, w::means_text(lang)),
        (Means::Mail, w::means_mail(lang)),
    ]
}

/// What is out, as the top line says it.
pub(crate) fn out(lang: Lang, out: &[System]) -> Option<&'static str> {
    let (alarm, sprinkler) = (out.contains(&System::FireAlarm), out.contains(&System::Sprinkler));
    Some(match (alarm, sprinkler, out) {
        (_, _, []) => return None,
        (true, true, _) => w::out_alarm_sprinkler(lang),
        (true, false, _) => w::out_alarm(lang),
        (false, true, _) => w::out_sprinkler(lang),
        (false, false, [System::None]) => w::out_none(lang),
        (false, false, _) => w::out_other(lang),
    })
}
