//! One file per kind. A new kind is a new file here and a line in the table below; the recipe is in
//! `CONTRIBUTING.md`. Bodies are versioned by adding optional fields; a field never changes its meaning.

mod access_refused;
mod acknowledged;
mod acted;
mod alerted;
mod anchored;
mod answered;
mod asked;
mod break_began;
mod break_ended;
mod clock;
mod closed;
mod communication;
mod corrected;
mod countersigned;
mod delivered;
mod drill;
mod emergency;
mod enrolled;
mod equipment_checked;
mod erased;
mod exported;
mod file_brought;
mod heartbeat;
mod hold_lifted;
mod hold_set;
mod hot_work_began;
mod hot_work_closed;
mod hot_work_permitted;
mod impairment_found;
mod impairment_restored;
mod instructions_read;
mod instructions_set;
mod last_spark;
mod looked_back;
mod marked_fixed;
mod note;
mod notice_read;
mod notified;
mod observed;
mod order_received;
mod other_duty;
mod paper_allowed;
mod paper_handed_over;
mod phoned_in;
mod photo;
mod plan_set;
mod rekeyed;
mod relief_offered;
mod relief_taken;
mod restored;
mod reviewed;
mod revoked;
mod round_began;
mod round_ended;
mod route_set;
mod scheduled;
mod sealed;
mod seen;
mod setting_changed;
mod shift_began;
mod shift_ended;
mod sound;
mod structure_entered;
mod terms_set;
mod tick;
mod transcribed;
mod unheard;
mod viewed;
mod visit;
mod watch_opened;
mod watch_released;
mod work_stopped;

pub use access_refused::AccessRefused;
pub use acknowledged::Acknowledged;
pub use acted::Acted;
pub use alerted::Alerted;
pub use anchored::Anchored;
pub use answered::Answered;
pub use asked::Asked;
pub use break_began::BreakBegan;
pub use break_ended::BreakEnded;
pub use clock::Clock;
pub use closed::ClosedObservation;
pub use communication::Communication;
pub use corrected::Corrected;
pub use countersigned::Countersigned;
pub use delivered::{Delivered, Reported};
pub use drill::Drill;
pub use emergency::Emergency;
pub use enrolled::Enrolled;
pub use equipment_checked::EquipmentChecked;
pub use erased::Erased;
pub use exported::Exported;
pub use file_brought::FileBrought;
pub use heartbeat::Heartbeat;
pub use hold_lifted::HoldLifted;
pub use hold_set::HoldSet;
pub use hot_work_began::HotWorkBegan;
pub use hot_work_closed::HotWorkClosed;
pub use hot_work_permitted::HotWorkPermitted;
pub use impairment_found::ImpairmentFound;
pub use impairment_restored::ImpairmentRestored;
pub use instructions_read::InstructionsRead;
pub use instructions_set::InstructionsSet;
pub use last_spark::LastSpark;
pub use looked_back::LookedBack;
pub use marked_fixed::MarkedFixed;
pub use note::Note;
pub use notice_read::NoticeRead;
pub use notified::Notified;
pub use observed::Observed;
pub use order_received::OrderReceived;
pub use other_duty::OtherDuty;
pub use paper_allowed::PaperAllowed;
pub use paper_handed_over::PaperHandedOver;
pub use phoned_in::PhonedIn;
pub use photo::Photo;
pub use plan_set::PlanSet;
pub use rekeyed::Rekeyed;
pub use relief_offered::ReliefOffered;
pub use relief_taken::ReliefTaken;
pub use restored::Restored;
pub use reviewed::Reviewed;
pub use revoked::Revoked;
pub use round_began::RoundBegan;
pub use round_ended::RoundEnded;
pub use route_set::RouteSet;
pub use scheduled::Scheduled;
pub use sealed::{ChainEnd, SealedChains};
pub use seen::Seen;
pub use setting_changed::SettingChanged;
pub use shift_began::ShiftBegan;
pub use shift_ended::ShiftEnded;
pub use sound::Sound;
pub use structure_entered::StructureEntered;
pub use terms_set::TermsSet;
pub use tick::Tick;
pub use transcribed::Transcribed;
pub use unheard::Unheard;
pub use viewed::Viewed;
pub use visit::Visit;
pub use watch_opened::WatchOpened;
pub use watch_released::WatchReleased;
pub use work_stopped::WorkStopped;

kinds! {
    Enrolled = "enrolled",
    Rekeyed = "rekeyed",
    Revoked = "revoked",
    Heartbeat = "heartbeat",
    Clock = "clock",
    WatchOpened = "watch_opened",
    PlanSet = "plan_set",
    RouteSet = "route_set",
    TermsSet = "terms_set",
    InstructionsSet = "instructions_set",
    OrderReceived = "order_received",
    WatchReleased = "watch_released",
    SealedChains = "sealed",
    ShiftBegan = "shift_began",
    InstructionsRead = "instructions_read",
    EquipmentChecked = "equipment_checked",
    ReliefOffered = "relief_offered",
    ReliefTaken = "relief_taken",
    ShiftEnded = "shift_ended",
    BreakBegan = "break_began",
    BreakEnded = "break_ended",
    OtherDuty = "other_duty",
    RoundBegan = "round_began",
    Seen = "seen",
    StructureEntered = "structure_entered",
    AccessRefused = "access_refused",
    RoundEnded = "round_ended",
    Observed = "observed",
    Acted = "acted",
    ClosedObservation = "closed",
    Communication = "communication",
    Emergency = "emergency",
    ImpairmentFound = "impairment_found",
    Notified = "notified",
    ImpairmentRestored = "impairment_restored",
    HotWorkPermitted = "hot_work_permitted",
    HotWorkBegan = "hot_work_began",
    LastSpark = "last_spark",
    LookedBack = "looked_back",
    HotWorkClosed = "hot_work_closed",
    WorkStopped = "work_stopped",
    Photo = "photo",
    Sound = "sound",
    Note = "note",
    Corrected = "corrected",
    Transcribed = "transcribed",
    PhonedIn = "phoned_in",
    PaperAllowed = "paper_allowed",
    PaperHandedOver = "paper_handed_over",
    Visit = "visit",
    Reviewed = "reviewed",
    Countersigned = "countersigned",
    MarkedFixed = "marked_fixed",
    Asked = "asked",
    Answered = "answered",
    NoticeRead = "notice_read",
    HoldSet = "hold_set",
    HoldLifted = "hold_lifted",
    Drill = "drill",
    Scheduled = "scheduled",
    Unheard = "unheard",
    Alerted = "alerted",
    Acknowledged = "acknowledged",
    Delivered = "delivered",
    Exported = "exported",
    FileBrought = "file_brought",
    Viewed = "viewed",
    Erased = "erased",
    Anchored = "anchored",
    Tick = "tick",
    Restored = "restored",
    SettingChanged = "setting_changed",
}
