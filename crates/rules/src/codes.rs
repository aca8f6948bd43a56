//! The closed lists of codes that standards, facts and terms share. Words for people live elsewhere.

/// Makes an enum whose variants have one written form, used alike in TOML, in JSON and in `Display`.
macro_rules! codes {
    ($(#[$about:meta])* $name:ident { $($(#[$doc:meta])* $variant:ident = $text:literal,)+ }) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        pub enum $name { $($(#[$doc])* #[serde(rename = $text)] $variant,)+ }

        impl $name {
            /// Every code of this list, in the order of the list.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The written form.
            pub const fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $text,)+ }
            }

            /// The code written so, if there is one.
            pub fn parse(text: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|code| code.as_str() == text)
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(self.as_str())
            }
        }
    };
}

codes! {
    /// What can be out of service.
    System {
        /// Detection and alarm.
        FireAlarm = "fire-alarm",
        /// Automatic sprinklers.
        Sprinkler = "sprinkler",
        /// Standpipes, risers and hose.
        Standpipe = "standpipe",
        /// Pumps, tanks, mains and hydrants.
        WaterSupply = "water-supply",
        /// Gas, foam, powder, kitchen and the like.
        SpecialHazard = "special-hazard",
        /// Smoke control and exhaust.
        SmokeControl = "smoke-control",
    }
}

codes! {
    /// Where a demand comes from.
    Origin {
        /// Any published code, law, rule or guideline.
        Code = "code",
        /// An order of the authority having jurisdiction for this very site.
        Authority = "authority",
        /// The client.
        Client = "client",
        /// The contract, a policy of insurance included.
        Contract = "contract",
        /// The own house.
        House = "house",
    }
}

codes! {
    /// How a value is known to us.
    Known {
        /// The words of the source were read.
        Read = "read",
        /// Another document that quotes or restates the source was read.
        SecondHand = "second-hand",
        /// Recalled, not retrieved.
        FromMemory = "from-memory",
    }
}

codes! {
    /// What a code accepts in place of a watch.
    Alternative {
        /// Everybody out of the part left unprotected.
        Evacuate = "evacuate",
        /// A temporary water supply.
        TemporarySupply = "temporary-supply",
        /// An approved programme that controls ignition sources and fuel.
        IgnitionControl = "ignition-control",
    }
}

codes! {
    /// Who is told, or who decides.
    Party {
        /// The fire service, by its emergency or dispatch number.
        FireDepartment = "fire-department",
        /// The fire code official, fire marshal or other authority having jurisdiction.
        Authority = "authority",
        /// The state's fire marshal.
        StateFireMarshal = "state-fire-marshal",
        /// Another authority having jurisdiction.
        OtherAuthorities = "other-authorities",
        /// The insurer.
        Insurer = "insurer",
        /// The company that receives the alarms.
        AlarmCompany = "alarm-company",
        /// Owner or manager of the building.
        Owner = "owner",
        /// Supervisors of the affected areas.
        Supervisors = "supervisors",
        /// People in the building.
        Occupants = "occupants",
        /// The people who work there.
        Staff = "staff",
        /// The person answerable for the impairment.
        ImpairmentCoordinator = "impairment-coordinator",
        /// A qualified technician of the system.
        Technician = "technician",
        /// The employer of those who do the hot work.
        Employer = "employer",
        /// The person answerable for fire safety under the law of the place.
        ResponsiblePerson = "responsible-person",
    }
}

codes! {
    /// What the log must show.
    LogItem {
        /// Date.
        Date = "date",
        /// Address of the site.
        SiteAddress = "site-address",
        /// Printed name of the person.
        Name = "name",
        /// Title or post of the person.
        JobTitle = "job-title",
        /// Signature.
        Signature = "signature",
        /// Initials at each round.
        Initials = "initials",
        /// Time of each round, in any form.
        RoundTime = "round-time",
        /// When each round began.
        RoundBegan = "round-began",
        /// When each round ended.
        RoundEnded = "round-ended",
        /// Area or route walked.
        Area = "area",
        /// Every period of duty.
        DutyPeriods = "duty-periods",
        /// An entry each time a structure is entered and looked at.
        StructureEntered = "structure-entered",
        /// What was found.
        Findings = "findings",
        /// How it was put right.
        Corrections = "corrections",
        /// Any fire, whatever its size, with its facts.
        FireReport = "fire-report",
        /// Time and method of telling the fire service.
        FireServiceCall = "fire-service-call",
        /// Signed statement at the end of the day by the coordinator.
        DayStatement = "day-statement",
        /// Emergency numbers in the log itself.
        EmergencyNumbers = "emergency-numbers",
        /// Notes.
        Notes = "notes",
        /// When the watch began and when it was called off.
        WatchBeganEnded = "watch-began-ended",
        /// A record of the watch, its content left open by the source.
        Record = "record",
    }
}

codes! {
    /// What the log is kept on.
    Medium {
        /// On the phone.
        Phone = "phone",
        /// On paper.
        Paper = "paper",
        /// On both.
        Both = "both",
    }
}

codes! {
    /// Stage of works on a site.
    Stage {
        /// A new building going up.
        New = "new",
        /// Works in a standing building.
        Alteration = "alteration",
        /// A building coming down.
        Demolition = "demolition",
    }
}

codes! {
    /// The kinds of place that a longest gap speaks of.
    ZoneKind {
        /// Every zone of the site.
        All = "all",
        /// Zones where people sleep.
        Sleeping = "sleeping",
        /// Open ground of a building site.
        Site = "site",
        /// A structure under construction.
        Structure = "structure",
        /// The place of hot work and its other sides.
        HotWork = "hot-work",
    }
}

codes! {
    /// What a person on watch, or the watch, must have or be.
    Requirement {
        /// Eighteen years old.
        Age18 = "age-18",
        /// Trained in extinguishers.
        ExtinguisherTraining = "extinguisher-training",
        /// Trained in the plan of evacuation.
        EvacuationTraining = "evacuation-training",
        /// Trained every year.
        YearlyTraining = "yearly-training",
        /// Can give the order to leave to people who do not speak English.
        OrderInOtherLanguages = "order-in-other-languages",
        /// Awake and unimpaired.
        AwakeUnimpaired = "awake-unimpaired",
        /// A written plan of the patrol.
        WrittenPatrolPlan = "written-patrol-plan",
        /// A certificate that the place issues.
        Certificate = "certificate",
        /// Shows who they are.
        Identification = "identification",
        /// Knows the building, its hazards, shut-offs and systems.
        KnowsBuilding = "knows-building",
        /// Can recognise, transmit, operate, warn and evacuate.
        FiveCapabilities = "five-capabilities",
        /// One approved means of calling the fire service.
        MeansToCall = "means-to-call",
        /// A phone that reaches in and out.
        Phone = "phone",
        /// Knows the exact address.
        KnowsAddress = "knows-address",
        /// Keys to every area.
        Keys = "keys",
        /// List of contacts.
        Contacts = "contacts",
        /// An extinguisher carried or located.
        Extinguisher = "extinguisher",
        /// Signs at each entrance.
        EntranceSigns = "entrance-signs",
        /// Two-way radios where two or more keep the watch.
        Radios = "radios",
        /// Somebody trained near the alarm panel.
        PersonAtPanel = "person-at-panel",
        /// A coordinator of the impairment who supervises.
        CoordinatorSupervises = "coordinator-supervises",
        /// An identity card shown with the site's address and the fire service's number by the phone.
        AddressByPhone = "address-by-phone",
        /// Fights only a fire within the means at hand.
        FightsOnlySmallFires = "fights-only-small-fires",
        /// No owner's start of a watch for an unplanned loss: the authority alone starts it.
        AuthorityStarts = "authority-starts",
        /// Staff of the building may keep the watch for the first four hours only, under conditions.
        BuildingStaffAtFirst = "building-staff-first-4-h",
        /// Knows how to sound the alarm.
        KnowsAlarm = "knows-alarm",
        /// The area of hot work is inspected each day that the permit is in effect.
        InspectedDaily = "inspected-daily",
    }
}

codes! {
    /// Records that a length of keeping speaks of, beside the record of the watch.
    Records {
        /// Inspections, tests and maintenance of the systems.
        Maintenance = "maintenance",
        /// Permit of hot work, and the check made before it.
        HotWorkPermit = "hot-work-permit",
        /// Yearly maintenance of extinguishers.
        Extinguishers = "extinguishers",
        /// Training of people on watch.
        Training = "training",
        /// Impairments, after they are corrected.
        Impairments = "impairments",
        /// Log books of fire safety.
        LogBooks = "log-books",
    }
}

codes! {
    /// Steps of an impairment, before and after.
    Step {
        /// A coordinator is named; failing that, the owner is it.
        NameCoordinator = "name-coordinator",
        /// Extent and expected length found.
        ExtentAndDuration = "extent-and-duration",
        /// Areas inspected, the added risk found.
        InspectAreas = "inspect-areas",
        /// Recommendations to management.
        Recommend = "recommend",
        /// Fire service told.
        TellFireDepartment = "tell-fire-department",
        /// Insurer, alarm company, owner and other authorities told.
        TellInsurerAndOthers = "tell-insurer-and-others",
        /// Supervisors of the areas told.
        TellSupervisors = "tell-supervisors",
        /// Tag at each connection and valve.
        TagConnectionsAndValves = "tag-connections-and-valves",
        /// Tag at panel, annunciator and command centre.
        TagPanels = "tag-panels",
        /// Tools and materials on site.
        ToolsReady = "tools-ready",
        /// Inspected and tested: the system works.
        TestedOperational = "tested-operational",
        /// Tag taken off.
        TagRemoved = "tag-removed",
    }
}
