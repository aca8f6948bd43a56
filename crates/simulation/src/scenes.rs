//! What happens at Gannet Quay and in the Gannet Hotel on the night of the demonstration. Invented
//! people and places; nothing here has a number that can be dialled.

use crate::Opening;
use crate::act::Act;
use crate::guard::Pace;
use crate::office::DeskAct;
use phone::CardStage::{Alarmed, EngineHere, Opened, Out, Seen};
use record::{HazardClass, Party, WhatDone};

/// One watch of the demonstration and who keeps it.
pub(crate) struct Scene {
    pub(crate) opening: Opening,
    /// Whoever begins, then whoever takes over.
    pub(crate) guards: &'static [Cast],
    /// What the desk does, by the minute.
    pub(crate) desk: &'static [(u32, DeskAct)],
}

/// A guard, the pace, and what happens by the minute.
pub(crate) struct Cast {
    pub(crate) name: &'static str,
    pub(crate) language: &'static str,
    pub(crate) pace: Pace,
    pub(crate) acts: &'static [(u32, Act)],
}

const MINUTE_MS: i64 = 60_000;

/// Nine storeys, guests asleep, the alarm panel down: each floor every 15 minutes.
pub(crate) const HOTEL: Scene = Scene {
    opening: Opening {
        name: "Gannet Hotel",
        address: "4 Quay Street",
        floors: 9,
        gap_min: 15,
        out: "fire_alarm",
        guard: "Marta Ilves",
        language: "en",
        order: "Order 26-114",
        plan: Some(include_str!("../../../fixtures/plans/gannet-hotel.plan.json")),
    },
    guards: &[Cast {
        name: "Marta Ilves",
        language: "en",
        pace: Pace { stride_ms: 30_000, rest_ms: 2 * MINUTE_MS },
        acts: &[
            (
                18,
                Act::Observes {
                    class: HazardClass::FireDoors,
                    at: "floor-6-b",
                    words: "Stair door wedged open with a paint tin",
                    done: WhatDone::Shut,
                    right: true,
                    told: Some(Party::Owner),
                },
            ),
            (52, Act::HeldUp(9)),
            (
                96,
                Act::Observes {
                    class: HazardClass::Electrical,
                    at: "floor-2-a",
                    words: "Lift motor room: fan heater left on, cable warm",
                    done: WhatDone::SwitchedOff,
                    right: true,
                    told: None,
                },
            ),
            (172, Act::Emergency(&[Opened, Seen, Alarmed, Out])),
            (181, Act::Emergency(&[EngineHere])),
            (196, Act::StoodDown),
        ],
    }],
    desk: &[
        (3, DeskAct::Notifies { party: "monitoring", system: "fire_alarm" }),
        (5, DeskAct::Notifies { party: "fire_service", system: "fire_alarm" }),
        (9, DeskAct::Notifies { party: "owner", system: "fire_alarm" }),
    ],
};

/// A six-level warehouse being turned into flats, sprinklers shut: each level every 30 minutes.
pub(crate) const QUAY: Scene = Scene {
    opening: Opening {
        name: "Gannet Quay",
        address: "1 Quay Street",
        floors: 6,
        gap_min: 30,
        out: "sprinkler",
        guard: "Jon Abara",
        language: "es",
        order: "Order 26-115",
        plan: Some(include_str!("../../../fixtures/plans/gannet-quay.plan.json")),
    },
    guards: &[
        Cast {
            name: "Jon Abara",
            language: "es",
            pace: Pace { stride_ms: 30_000, rest_ms: 5 * MINUTE_MS },
            acts: &[
                (8, Act::PermitsWork { at: "level-4", number: "Q-17" }),
                (12, Act::WorkBegins),
                (
                    33,
                    Act::Observes {
                        class: HazardClass::Heating,
                        at: "flat-45",
                        words: "Lámpara de secado pegada a la lona",
                        done: WhatDone::SwitchedOff,
                        right: true,
                        told: Some(Party::Foreman),
                    },
                ),
                (44, Act::PermitsWork { at: "level-2", number: "Q-18" }),
                (48, Act::WorkBegins),
                (60, Act::SignalLost),
                (
                    71,
                    Act::Observes {
                        class: HazardClass::Batteries,
                        at: "charger-room",
                        words: "Batería de taladro hinchada en el cargador",
                        done: WhatDone::MovedOutside,
                        right: false,
                        told: None,
                    },
                ),
                (90, Act::HeldUp(14)),
                (120, Act::SignalBack),
                (124, Act::LastSpark(0)),
                (139, Act::LooksBack(0)),
                (150, Act::LastSpark(1)),
                (160, Act::Restarts),
                (166, Act::LooksBack(1)),
                (186, Act::LooksBack(0)),
                (200, Act::Offers),
                (206, Act::Ends),
            ],
        },
        Cast {
            name: "Ana Pires",
            language: "en",
            pace: Pace { stride_ms: 30_000, rest_ms: 5 * MINUTE_MS },
            acts: &[
                (203, Act::TakesOver),
                (212, Act::LooksBack(0)),
                (214, Act::LooksBack(1)),
                (
                    222,
                    Act::Observes {
                        class: HazardClass::Flammables,
                        at: "hoist-foot",
                        words: "Smell of solvent by the hoist, lid off a drum; lid on, door open",
                        done: WhatDone::CauseFound,
                        right: true,
                        told: Some(Party::Dispatcher),
                    },
                ),
                (240, Act::LooksBack(0)),
                (242, Act::LooksBack(1)),
                (268, Act::LooksBack(0)),
                (270, Act::LooksBack(1)),
                (300, Act::Dies),
            ],
        },
    ],
    desk: &[
        (4, DeskAct::Notifies { party: "fire_service", system: "sprinkler" }),
        (7, DeskAct::Notifies { party: "insurer", system: "sprinkler" }),
        (304, DeskAct::AllowsPaper),
        (
            326,
            DeskAct::Notepad {
                walked: &[
                    ("ground", "G"),
                    ("level-1", "L1"),
                    ("level-2", "L2"),
                    ("level-3", "L3"),
                    ("level-4", "L4"),
                    ("level-5", "L5"),
                ],
                minutes_ago: 16,
            },
        ),
    ],
};

/// A small place whose guard has not come yet: a visitor may take the phone.
pub(crate) const SCHOOL: Opening = Opening {
    name: "Tern Street School",
    address: "12 Tern Street",
    floors: 2,
    gap_min: 30,
    out: "fire_alarm",
    guard: "Noor Haddad",
    language: "en",
    order: "Order 26-116",
    plan: None,
};
