//! The codes of terms and standards in the reader's words.
//!
//! The words are in `crates/words/lang/*/term_codes.words`; this file only says which key belongs to which code.

use crate::codes::{
    Alternative, Known, LogItem, Medium, Origin, Party, Records, Requirement, Step, System,
    ZoneKind,
};
use crate::say::Say;
use crate::standards::{Demand, Timing};
use crate::terms::facts::Kind;
use crate::terms::{GaveWayTo, TermName};
use words::{Lang, term_codes};

macro_rules! say {
    ($($code:ident { $($variant:ident => $key:ident,)* })*) => {
        $(
            impl Say for $code {
                fn say(self, lang: Lang) -> &'static str {
                    match self {
                        $($code::$variant => term_codes::$key(lang),)*
                    }
                }
            }
        )*
    };
}

say! {
    System {
        FireAlarm => system_fire_alarm,
        Sprinkler => system_sprinkler,
        Standpipe => system_standpipe,
        WaterSupply => system_water_supply,
        SpecialHazard => system_special_hazard,
        SmokeControl => system_smoke_control,
    }
    Origin {
        Code => origin_code,
        Authority => origin_authority,
        Client => origin_client,
        Contract => origin_contract,
        House => origin_house,
    }
    Known {
        Read => known_read,
        SecondHand => known_second_hand,
        FromMemory => known_from_memory,
    }
    Alternative {
        Evacuate => alternative_evacuate,
        TemporarySupply => alternative_temporary_supply,
        IgnitionControl => alternative_ignition_control,
    }
    Party {
        FireDepartment => party_fire_department,
        Authority => party_authority,
        StateFireMarshal => party_state_fire_marshal,
        OtherAuthorities => party_other_authorities,
        Insurer => party_insurer,
        AlarmCompany => party_alarm_company,
        Owner => party_owner,
        Supervisors => party_supervisors,
        Occupants => party_occupants,
        Staff => party_staff,
        ImpairmentCoordinator => party_impairment_coordinator,
        Technician => party_technician,
        Employer => party_employer,
        ResponsiblePerson => party_responsible_person,
    }
    LogItem {
        Date => log_item_date,
        SiteAddress => log_item_site_address,
        Name => log_item_name,
        JobTitle => log_item_job_title,
        Signature => log_item_signature,
        Initials => log_item_initials,
        RoundTime => log_item_round_time,
        RoundBegan => log_item_round_began,
        RoundEnded => log_item_round_ended,
        Area => log_item_area,
        DutyPeriods => log_item_duty_periods,
        StructureEntered => log_item_structure_entered,
        Findings => log_item_findings,
        Corrections => log_item_corrections,
        FireReport => log_item_fire_report,
        FireServiceCall => log_item_fire_service_call,
        DayStatement => log_item_day_statement,
        EmergencyNumbers => log_item_emergency_numbers,
        Notes => log_item_notes,
        WatchBeganEnded => log_item_watch_began_ended,
        Record => log_item_record,
    }
    Medium {
        Phone => medium_phone,
        Paper => medium_paper,
        Both => medium_both,
    }
    ZoneKind {
        All => zone_kind_all,
        Sleeping => zone_kind_sleeping,
        Site => zone_kind_site,
        Structure => zone_kind_structure,
        HotWork => zone_kind_hot_work,
    }
    Requirement {
        Age18 => requirement_age18,
        ExtinguisherTraining => requirement_extinguisher_training,
        EvacuationTraining => requirement_evacuation_training,
        YearlyTraining => requirement_yearly_training,
        OrderInOtherLanguages => requirement_order_in_other_languages,
        AwakeUnimpaired => requirement_awake_unimpaired,
        WrittenPatrolPlan => requirement_written_patrol_plan,
        Certificate => requirement_certificate,
        Identification => requirement_identification,
        KnowsBuilding => requirement_knows_building,
        FiveCapabilities => requirement_five_capabilities,
        MeansToCall => requirement_means_to_call,
        Phone => requirement_phone,
        KnowsAddress => requirement_knows_address,
        Keys => requirement_keys,
        Contacts => requirement_contacts,
        Extinguisher => requirement_extinguisher,
        EntranceSigns => requirement_entrance_signs,
        Radios => requirement_radios,
        PersonAtPanel => requirement_person_at_panel,
        CoordinatorSupervises => requirement_coordinator_supervises,
        AddressByPhone => requirement_address_by_phone,
        FightsOnlySmallFires => requirement_fights_only_small_fires,
        AuthorityStarts => requirement_authority_starts,
        BuildingStaffAtFirst => requirement_building_staff_at_first,
        KnowsAlarm => requirement_knows_alarm,
        InspectedDaily => requirement_inspected_daily,
    }
    Records {
        Maintenance => records_maintenance,
        HotWorkPermit => records_hot_work_permit,
        Extinguishers => records_extinguishers,
        Training => records_training,
        Impairments => records_impairments,
        LogBooks => records_log_books,
    }
    Step {
        NameCoordinator => step_name_coordinator,
        ExtentAndDuration => step_extent_and_duration,
        InspectAreas => step_inspect_areas,
        Recommend => step_recommend,
        TellFireDepartment => step_tell_fire_department,
        TellInsurerAndOthers => step_tell_insurer_and_others,
        TellSupervisors => step_tell_supervisors,
        TagConnectionsAndValves => step_tag_connections_and_valves,
        TagPanels => step_tag_panels,
        ToolsReady => step_tools_ready,
        TestedOperational => step_tested_operational,
        TagRemoved => step_tag_removed,
    }
    Timing {
        AtOnce => timing_at_once,
        OnAlarm => timing_on_alarm,
        Before => timing_before,
        AtStart => timing_at_start,
        AtRestoration => timing_at_restoration,
        Within => timing_within,
        Daily => timing_daily,
        OnRequest => timing_on_request,
        OnSite => timing_on_site,
    }
    Demand {
        AdoptedCode => demand_adopted_code,
        Outage => demand_outage,
        Construction => demand_construction,
        Gathering => demand_gathering,
        NuisanceAlarms => demand_nuisance_alarms,
        HotWork => demand_hot_work,
        HotWorkConflict => demand_hot_work_conflict,
        AfterWork => demand_after_work,
        AfterWorkChecks => demand_after_work_checks,
        LongestGap => demand_longest_gap,
        FirstRound => demand_first_round,
        People => demand_people,
        CrowdManagers => demand_crowd_managers,
        OtherDuties => demand_other_duties,
        Notify => demand_notify,
        LogContent => demand_log_content,
        Delivery => demand_delivery,
        Retention => demand_retention,
        OtherRetention => demand_other_retention,
        WhoEnds => demand_who_ends,
        WatchLimit => demand_watch_limit,
        Qualification => demand_qualification,
        ImpairmentSteps => demand_impairment_steps,
        RestorationSteps => demand_restoration_steps,
        ExtinguisherTravel => demand_extinguisher_travel,
        ExtinguisherArea => demand_extinguisher_area,
        HotWorkExtinguisher => demand_hot_work_extinguisher,
        ExitTravel => demand_exit_travel,
        CommonPath => demand_common_path,
        HotWorkRadius => demand_hot_work_radius,
    }
    TermName {
        Required => term_name_required,
        Gap => term_name_gap,
        FirstRound => term_name_first_round,
        People => term_name_people,
        OtherDuties => term_name_other_duties,
        WatchUntil => term_name_watch_until,
        ChecksEvery => term_name_checks_every,
        ChecksUntil => term_name_checks_until,
        Retain => term_name_retain,
    }
    GaveWayTo {
        Stricter => gave_way_to_stricter,
        Authority => gave_way_to_authority,
        LaterOrder => gave_way_to_later_order,
        OnlyTheAuthorityLoosens => gave_way_to_only_the_authority_loosens,
        NeedsNameAndTime => gave_way_to_needs_name_and_time,
    }
    Kind {
        Flag => kind_flag,
        Number => kind_number,
        WholeNumber => kind_whole_number,
        Text => kind_text,
        Time => kind_time,
        Day => kind_day,
        TimeOfDay => kind_time_of_day,
        Hours => kind_hours,
        List => kind_list,
        Section => kind_section,
        Sections => kind_sections,
    }
}
