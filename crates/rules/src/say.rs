//! Codes in the reader's words. Who shows a code asks here, so that phone, desk and paper use the same word.
//!
//! The words are in `crates/words/lang/*/codes.words`; this file only says which key belongs to which code.

mod entry;
mod finding;
mod finding_of_record;
mod innocent;
mod names;
pub mod rounds;
pub mod survey;

pub use entry::{ONE_NIGHT_MS, Reader};
pub use names::Names;

use record::codes::*;
use words::{Lang, codes};

/// A code that can be said.
pub trait Say {
    /// The code in words, as they stand inside a sentence or on a control.
    fn say(self, lang: Lang) -> &'static str;
}

/// A system as a noun, as it stands on a notice; [`Say`] tells that it is out.
pub fn system(lang: Lang, system: System) -> &'static str {
    use words::paper_impairment as nouns;
    match system {
        System::FireAlarm => nouns::system_fire_alarm(lang),
        System::Sprinkler => nouns::system_sprinkler(lang),
        System::Standpipe => nouns::system_standpipe(lang),
        System::WaterSupply => nouns::system_water_supply(lang),
        System::SpecialHazard => nouns::system_special_hazard(lang),
        System::SmokeControl => nouns::system_smoke_control(lang),
        System::Monitoring => nouns::system_monitoring(lang),
        System::EmergencyLighting => nouns::system_emergency_lighting(lang),
        System::None => System::None.say(lang),
    }
}

macro_rules! say {
    ($($code:ident { $($variant:ident => $key:ident,)* })*) => {
        $(
            impl Say for $code {
                fn say(self, lang: Lang) -> &'static str {
                    match self {
                        $($code::$variant => codes::$key(lang),)*
                    }
                }
            }
        )*
    };
}

say! {
    AlertCause {
        DueSoon => alert_cause_due_soon,
        Late => alert_cause_late,
        Unheard => alert_cause_unheard,
        NoRelief => alert_cause_no_relief,
        NotArrived => alert_cause_not_arrived,
        TailUnattended => alert_cause_tail_unattended,
        ObservationAgeing => alert_cause_observation_ageing,
        NotificationOwed => alert_cause_notification_owed,
        DeliveryOwed => alert_cause_delivery_owed,
        NoSignOfLife => alert_cause_no_sign_of_life,
        Emergency => alert_cause_emergency,
        Asked => alert_cause_asked,
    }
    Channel {
        Desk => channel_desk,
        Phone => channel_phone,
        Push => channel_push,
        Mail => channel_mail,
        Webhook => channel_webhook,
    }
    CheckedItem {
        Phone => checked_item_phone,
        Signal => checked_item_signal,
        Radio => checked_item_radio,
        Horn => checked_item_horn,
        Flashlight => checked_item_flashlight,
        Keys => checked_item_keys,
        Extinguisher => checked_item_extinguisher,
        Vest => checked_item_vest,
        Paper => checked_item_paper,
    }
    DemandFrom {
        Code => demand_from_code,
        Authority => demand_from_authority,
        Client => demand_from_client,
        Contract => demand_from_contract,
        House => demand_from_house,
    }
    DrillStage {
        Began => drill_stage_began,
        Real => drill_stage_real,
        Ended => drill_stage_ended,
    }
    EmergencyStage {
        Opened => emergency_stage_opened,
        Seen => emergency_stage_seen,
        Called => emergency_stage_called,
        Alarmed => emergency_stage_alarmed,
        Out => emergency_stage_out,
        EngineHere => emergency_stage_engine_here,
        StoodDown => emergency_stage_stood_down,
    }
    HazardClass {
        Fire => hazard_class_fire,
        Exits => hazard_class_exits,
        FireDoors => hazard_class_fire_doors,
        Protection => hazard_class_protection,
        Access => hazard_class_access,
        HotWork => hazard_class_hot_work,
        Rubbish => hazard_class_rubbish,
        Flammables => hazard_class_flammables,
        Heating => hazard_class_heating,
        Electrical => hazard_class_electrical,
        Batteries => hazard_class_batteries,
        People => hazard_class_people,
    }
    HowSeen {
        Tag => how_seen_tag,
        Position => how_seen_position,
        Hand => how_seen_hand,
    }
    ImpairmentStep {
        ExtentKnown => impairment_step_extent_known,
        AreasInspected => impairment_step_areas_inspected,
        OwnerAdvised => impairment_step_owner_advised,
        FireServiceTold => impairment_step_fire_service_told,
        OthersTold => impairment_step_others_told,
        SupervisorsTold => impairment_step_supervisors_told,
        Tagged => impairment_step_tagged,
        ToolsReady => impairment_step_tools_ready,
    }
    KeyKept {
        Webcrypto => key_kept_webcrypto,
        Wrapped => key_kept_wrapped,
        Soft => key_kept_soft,
        Server => key_kept_server,
    }
    Means {
        Phone => means_phone,
        Radio => means_radio,
        InPerson => means_in_person,
        Text => means_text,
        Mail => means_mail,
        Fax => means_fax,
        PullStation => means_pull_station,
        Horn => means_horn,
        App => means_app,
        Form => means_form,
    }
    PaperWhy {
        PhoneDead => paper_why_phone_dead,
        PhoneLost => paper_why_phone_lost,
        PhoneFaulty => paper_why_phone_faulty,
        NoPhone => paper_why_no_phone,
        Terms => paper_why_terms,
    }
    Party {
        FireService => party_fire_service,
        Authority => party_authority,
        Monitoring => party_monitoring,
        Insurer => party_insurer,
        Owner => party_owner,
        Coordinator => party_coordinator,
        Supervisor => party_supervisor,
        Dispatcher => party_dispatcher,
        Occupants => party_occupants,
        Foreman => party_foreman,
        Electrician => party_electrician,
        Utility => party_utility,
        Police => party_police,
        Engineer => party_engineer,
        Other => party_other,
    }
    PermitCheck {
        Clear35Ft => permit_check_clear35_ft,
        SprinklersOn => permit_check_sprinklers_on,
        ExtinguisherReady => permit_check_extinguisher_ready,
        EquipmentGood => permit_check_equipment_good,
        FlammablesGone => permit_check_flammables_gone,
        OtherSideChecked => permit_check_other_side_checked,
        OpeningsCovered => permit_check_openings_covered,
        DuctsClosed => permit_check_ducts_closed,
        EnclosedPurged => permit_check_enclosed_purged,
        ColdNotPossible => permit_check_cold_not_possible,
        DetectorsNoted => permit_check_detectors_noted,
        WatchNamed => permit_check_watch_named,
    }
    ReleasedBy {
        Authority => released_by_authority,
        Coordinator => released_by_coordinator,
        Client => released_by_client,
        House => released_by_house,
        Technician => released_by_technician,
    }
    RestorationStep {
        Tested => restoration_step_tested,
        SupervisorsTold => restoration_step_supervisors_told,
        FireServiceTold => restoration_step_fire_service_told,
        OthersTold => restoration_step_others_told,
        TagRemoved => restoration_step_tag_removed,
    }
    RestoreCause {
        Backup => restore_cause_backup,
        Move => restore_cause_move,
    }
    ReviewOf {
        Shift => review_of_shift,
        Day => review_of_day,
        Watch => review_of_watch,
    }
    Role {
        Guard => role_guard,
        ShiftLead => role_shift_lead,
        Dispatcher => role_dispatcher,
        Keeper => role_keeper,
        Proprietor => role_proprietor,
        Client => role_client,
        Inspector => role_inspector,
        Auditor => role_auditor,
        Service => role_service,
        Server => role_server,
    }
    Severity {
        LifeNow => severity_life_now,
        ThisRound => severity_this_round,
        ThisShift => severity_this_shift,
        Note => severity_note,
    }
    System {
        FireAlarm => system_fire_alarm,
        Sprinkler => system_sprinkler,
        Standpipe => system_standpipe,
        WaterSupply => system_water_supply,
        SpecialHazard => system_special_hazard,
        SmokeControl => system_smoke_control,
        Monitoring => system_monitoring,
        EmergencyLighting => system_emergency_lighting,
        None => system_none,
    }
    Table {
        Tonight => table_tonight,
        Watch => table_watch,
        Lines => table_lines,
        Findings => table_findings,
        Hours => table_hours,
        Roster => table_roster,
        Deliveries => table_deliveries,
    }
    WhatDone {
        Cleared => what_done_cleared,
        Shut => what_done_shut,
        SwitchedOff => what_done_switched_off,
        MovedOutside => what_done_moved_outside,
        WorkStopped => what_done_work_stopped,
        Cooled => what_done_cooled,
        Posted => what_done_posted,
        Told => what_done_told,
        LookedAgain => what_done_looked_again,
        NothingFound => what_done_nothing_found,
        CauseFound => what_done_cause_found,
        LeftArea => what_done_left_area,
        Other => what_done_other,
    }
    WhyCorrected {
        TakenBack => why_corrected_taken_back,
        WrongPlace => why_corrected_wrong_place,
        WrongTime => why_corrected_wrong_time,
        WrongPerson => why_corrected_wrong_person,
        WrongWords => why_corrected_wrong_words,
        Incomplete => why_corrected_incomplete,
        Severity => why_corrected_severity,
    }
    WhyNot {
        Locked => why_not_locked,
        Blocked => why_not_blocked,
        Unsafe => why_not_unsafe,
        Refused => why_not_refused,
        Work => why_not_work,
        Occupied => why_not_occupied,
        Other => why_not_other,
    }
}
