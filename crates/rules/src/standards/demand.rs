//! What a demand is about, and what a value of it must state.

use super::{Owed, Value};

macro_rules! demands {
    ($($(#[$doc:meta])* $variant:ident = $text:literal,)+) => {
        /// What a demand is about: the name of its file.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
        pub enum Demand { $($(#[$doc])* #[serde(rename = $text)] $variant,)+ }

        impl Demand {
            /// Every demand that a file may be about.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The written form, which is also the file's name.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $text,)+ }
            }
        }
    };
}

demands! {
    /// Another profile whose demands hold here too: `adopts`.
    AdoptedCode = "adopted-code",
    /// A watch for a system out of service: `more_than` in any `within`, `owed`, `instead`.
    Outage = "outage",
    /// A watch for works on a site: `owed`.
    Construction = "construction",
    /// A watch for a gathering of people: `owed`.
    Gathering = "gathering",
    /// A watch because of repeated false alarms: `owed`.
    NuisanceAlarms = "nuisance-alarms",
    /// A watch while hot work runs: `owed`.
    HotWork = "hot-work",
    /// Hot work that needs somebody's leave, because protection is out: `owed`.
    HotWorkConflict = "hot-work-conflict",
    /// Watching after the last spark: `at_least`, or `no_number`.
    AfterWork = "after-work",
    /// Spaced checks after that: `every`, for `at_least`.
    AfterWorkChecks = "after-work-checks",
    /// Longest time a zone may stay unseen: `at_most`, or `no_number`.
    LongestGap = "longest-gap",
    /// When the first round must begin, from the start of the shift: `at_most`.
    FirstRound = "first-round",
    /// People on watch at one time: `at_least`.
    People = "people",
    /// Crowd managers: `at_least`, and one for each `per` persons.
    CrowdManagers = "crowd-managers",
    /// Whether a person on watch may have other duties: `allowed`.
    OtherDuties = "other-duties",
    /// Whom to tell and by when: `parties`, `timing`, `within`.
    Notify = "notify",
    /// What the log must show: `write`, `on`.
    LogContent = "log-content",
    /// When the log goes to whom: `parties`, `at_time`, `timing`.
    Delivery = "delivery",
    /// How long the record is kept after the watch or the work: `at_least`.
    Retention = "retention",
    /// How long a record of another kind is kept: `at_least`.
    OtherRetention = "other-retention",
    /// Who may end the watch: `parties`.
    WhoEnds = "who-ends",
    /// How long a watch may stand in at all, as a temporary measure: `at_most`.
    WatchLimit = "watch-limit",
    /// What people on watch must have or be: `need`.
    Qualification = "qualification",
    /// Steps before an impairment: `steps`.
    ImpairmentSteps = "impairment-steps",
    /// Steps at restoration: `steps`.
    RestorationSteps = "restoration-steps",
    /// Walking distance to an extinguisher: `at_most`.
    ExtinguisherTravel = "extinguisher-travel",
    /// Floor area for each extinguisher: `at_most`.
    ExtinguisherArea = "extinguisher-area",
    /// Distance from hot work to its extinguisher: `at_most`.
    HotWorkExtinguisher = "hot-work-extinguisher",
    /// Walking distance to an exit: `at_most`.
    ExitTravel = "exit-travel",
    /// Walking distance before two ways out exist: `at_most`.
    CommonPath = "common-path",
    /// Distance that counts as the other side of hot work: `at_most`.
    HotWorkRadius = "hot-work-radius",
}

impl Demand {
    /// A value about this can call for a watch.
    pub fn can_call(self) -> bool {
        matches!(
            self,
            Self::Outage
                | Self::Construction
                | Self::Gathering
                | Self::NuisanceAlarms
                | Self::HotWork
                | Self::HotWorkConflict
                | Self::AfterWork
                | Self::AfterWorkChecks
        )
    }

    /// The field that `value` must state for this demand and does not.
    pub(super) fn lacks(self, value: &Value) -> Option<&'static str> {
        let has = |present: bool, field| if present { None } else { Some(field) };
        let number = value.no_number || value.decides.is_some();
        match self {
            Self::AdoptedCode => has(value.adopts.is_some(), "adopts"),
            Self::Outage => has(
                value.more_than.is_some() || value.owed.is_some_and(Owed::leaves_it_open),
                "more_than",
            )
            .or(has(value.owed.is_some(), "owed"))
            .or(has(
                value.more_than.is_none_or(|most| most == 0)
                    || value.expected
                    || value.within.is_some(),
                "within",
            )),
            Self::Construction
            | Self::Gathering
            | Self::NuisanceAlarms
            | Self::HotWork
            | Self::HotWorkConflict => has(value.owed.is_some(), "owed"),
            Self::AfterWork | Self::Retention | Self::People => {
                has(value.at_least.is_some() || number, "at_least")
            }
            Self::OtherRetention => {
                has(value.at_least.is_some() && value.records.is_some(), "at_least, records")
            }
            Self::AfterWorkChecks => has(value.every.is_some() || number, "every")
                .or(has(value.at_least.is_some() || number, "at_least")),
            Self::LongestGap => has(value.at_most.is_some() || number, "at_most"),
            Self::FirstRound
            | Self::ExtinguisherTravel
            | Self::ExtinguisherArea
            | Self::HotWorkExtinguisher
            | Self::ExitTravel
            | Self::CommonPath
            | Self::WatchLimit
            | Self::HotWorkRadius => has(value.at_most.is_some(), "at_most"),
            Self::CrowdManagers => {
                has(value.at_least.is_some() || value.allowed.is_some(), "at_least")
            }
            Self::OtherDuties => has(value.allowed.is_some(), "allowed"),
            Self::Notify | Self::WhoEnds => has(!value.parties.is_empty(), "parties"),
            Self::Delivery => has(value.timing.is_some(), "timing"),
            Self::LogContent => has(!value.write.is_empty(), "write"),
            Self::Qualification => has(!value.need.is_empty(), "need"),
            Self::ImpairmentSteps | Self::RestorationSteps => has(!value.steps.is_empty(), "steps"),
        }
    }
}
