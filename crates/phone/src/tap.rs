//! What a person can touch. Every control of every screen carries one of these.

use ledger::{Digest, LineId, PersonId, WatchId};
use record::{CheckedItem, HazardClass, Means, Party, Severity, StopId, WhatDone, WhyNot, ZoneId};

use crate::carrying::CarryTap;
use crate::correcting::CorrectTap;
use crate::hot_work::HotWorkTap;
use crate::paper::PaperTap;
use crate::pin::PinTap;
use crate::sheets::SheetTap;
use crate::stored::Theme;

/// A touch.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Tap {
    /// To one of the three places.
    Go(Place),
    /// To a page of a place.
    Open(Page),
    /// One step back.
    Back,
    /// Open the emergency card.
    Card,
    /// Text typed so far.
    Typed(Field, String),

    /// Enrol with a token from the link or typed.
    Enrol(String),
    /// Enrol with what stands in the field.
    EnrolTyped,
    /// Ask the desk again.
    AskAgain,

    /// "I am here": begins the shift, or confirms the stop that is next.
    IAmHere,
    /// "I am here" at another stop than the next one.
    Here(StopId),
    /// Use the code typed.
    UseCode,
    /// Take back what was just said.
    TakeBack,
    /// The stop that is next cannot be entered.
    Refused(WhyNot),
    /// The round is over, with or without something found.
    RoundOver {
        /// Nothing new found.
        all_clear: bool,
    },
    /// Ask the desk what stands in the field.
    SendQuestion,

    /// Something of this class was seen.
    Class(HazardClass),
    /// It was seen here.
    At(ZoneId, Option<StopId>),
    /// How bad it is.
    Raise(Severity),
    /// This was done about it, or not after all.
    Done(WhatDone),
    /// Keep what was done.
    KeepDone,
    /// It is put right.
    PutRight(LineId),
    /// Looked again: it is still so.
    StillSo(LineId),
    /// This person or office is told.
    Told(usize),
    /// By these means.
    By(Means),
    /// Somebody of this kind, who stands on no list.
    Party(Party),
    /// Keep the communication.
    KeepTold {
        /// Whether they were reached.
        reached: bool,
    },
    /// Keep the words typed for the observation.
    KeepWords,
    /// Keep the note typed.
    KeepNote,

    /// Something about hot work.
    HotWork(HotWorkTap),
    /// Something about an older line or a place.
    Correct(CorrectTap),
    /// Something about paper.
    Paper(PaperTap),
    /// Who holds this phone.
    Pin(PinTap),
    /// Something about a page that was read.
    Sheet(SheetTap),
    /// Something about lines as codes.
    Carry(CarryTap),

    /// The instructions were read.
    InstructionsRead,
    /// The privacy notice was read.
    NoticeRead,
    /// This item was looked at: there, or not there after all.
    Item(CheckedItem),
    /// Keep the check of the equipment.
    KeepItems,
    /// Offer the relief.
    Offer,
    /// Take over from the guard who offers.
    TakeOver,
    /// End the shift.
    End {
        /// Nothing is left open.
        all_clear: bool,
    },
    /// A break begins, covered by this person if by one.
    BreakBegins(Option<PersonId>),
    /// The break is over.
    BreakEnds,
    /// The guard was given another duty (true), or is back from it.
    OtherDuty(bool),
    /// A call was tried in this zone: it worked, or there is no signal.
    CallPath(ZoneId, bool),

    /// The fire service said that it is over, or nothing was found.
    StandDown,
    /// A drill begins.
    DrillBegins,
    /// The drill is over.
    DrillEnds,
    /// This is real: the drill turns into earnest.
    Real,

    /// Look at this watch.
    Watch(WatchId),
    /// Speak this language.
    Speak(words::Lang),
    /// Wear this theme.
    Wear(Theme),
    /// Make no sound, or make sounds again.
    Silent(bool),
    /// There are no tags here, or there are.
    NoTags(bool),
    /// Add the position to each stop, or do not.
    Position(bool),
    /// Take the new version now.
    TakeUpdate,
    /// Hand over what waits as a file.
    OfferFile,
    /// Hand this photo or signature over as a file.
    OfferPicture(Digest),
    /// The sentence at the foot was read.
    Dismiss,
}

/// The three places.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Place {
    /// The round.
    Round,
    /// What was seen, done and told.
    Write,
    /// The shift.
    Shift,
}

impl Place {
    /// In the order in which they stand.
    pub const ALL: [Place; 3] = [Place::Round, Place::Write, Place::Shift];
}

/// A page inside a place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Page {
    /// Why the stop cannot be entered.
    CannotGetIn,
    /// Another stop than the next one.
    OtherStop,
    /// Read a code.
    Scan,
    /// A level of the plan: the one of the next stop, unless another is named.
    Plan {
        /// The level.
        level: Option<floorplan::LevelId>,
        /// The walk to the next stop, as large as it will go.
        near: bool,
    },
    /// A question to the desk.
    Ask,
    /// What was seen.
    Class,
    /// Where it was seen.
    Where(HazardClass),
    /// One observation.
    Observation(LineId),
    /// Whom to tell.
    Tell(Option<LineId>),
    /// By which means, and whether they were reached.
    TellHow,
    /// A note.
    Note,
    /// Hot work and permits.
    HotWorkList,
    /// Where a permit is read.
    PermitWhere,
    /// The permit.
    Permit,
    /// One piece of hot work.
    HotWork(LineId),
    /// One line of the record, to be corrected.
    Line(LineId),
    /// Why the look of this line came late.
    Late(LineId),
    /// Structures entered.
    Structures,
    /// The site's instructions.
    Instructions,
    /// What happens with what is written here.
    Notice,
    /// Equipment.
    Equipment,
    /// The phone is failing.
    Paper,
    /// What to write by hand.
    Notepad,
    /// Back on a phone.
    PaperBack,
    /// One row of a page that was read.
    Sheet,
    /// Who holds this phone.
    Who,
    /// The PIN of whoever takes it.
    Pin,
    /// The relief.
    Relief,
    /// The end of the shift.
    End,
    /// What is still on this phone.
    Waiting,
    /// What waits here, as codes for another phone.
    Pieces,
    /// Another phone's lines, read off its screen.
    Gather,
    /// Language, theme, silence.
    Settings,
}

impl Page {
    /// The place it belongs to.
    pub fn place(&self) -> Place {
        match self {
            Page::CannotGetIn
            | Page::OtherStop
            | Page::Scan
            | Page::Plan { .. }
            | Page::Ask
            | Page::Late(_) => Place::Round,
            Page::Class
            | Page::Where(_)
            | Page::Observation(_)
            | Page::Tell(_)
            | Page::TellHow
            | Page::Note
            | Page::HotWorkList
            | Page::PermitWhere
            | Page::Permit
            | Page::HotWork(_)
            | Page::Line(_)
            | Page::Structures => Place::Write,
            Page::Instructions
            | Page::Notice
            | Page::Equipment
            | Page::Paper
            | Page::Notepad
            | Page::PaperBack
            | Page::Sheet
            | Page::Who
            | Page::Pin
            | Page::Relief
            | Page::End
            | Page::Waiting
            | Page::Pieces
            | Page::Gather
            | Page::Settings => Place::Shift,
        }
    }
}

/// A field that text is typed into.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Field {
    /// The token of an enrolment.
    Token,
    /// A question to the desk.
    Question,
    /// Words about an observation.
    Words,
    /// A note.
    Note,
    /// Why a stop cannot be entered.
    Reason,
    /// A name that stands on no list.
    Name,
    /// Words that are the right ones.
    Right,
    /// Who allows paper.
    AllowedBy,
    /// What happened while on paper.
    Gap,
    /// How many pages.
    Sheets,
    /// The time that stands in a row of a page.
    Began,
    /// A PIN: never kept.
    Pin,
    /// The number of a permit.
    Permit,
    /// The code at a stop, typed.
    Code,
    /// The number on which the guard can be reached.
    Reach,
    /// A name under the shift, where drawing is not possible.
    Sign,
}
