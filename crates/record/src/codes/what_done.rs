//! What was done about an observation.

use serde::{Deserialize, Serialize};

/// What was done about an observation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WhatDone {
    /// Cleared or removed.
    Cleared,
    /// Shut, closed or latched.
    Shut,
    /// Switched off or unplugged.
    SwitchedOff,
    /// Moved outside.
    MovedOutside,
    /// Work stopped.
    WorkStopped,
    /// Cooled or wetted.
    Cooled,
    /// A notice or person posted.
    Posted,
    /// Somebody was told.
    Told,
    /// Looked again: unchanged.
    LookedAgain,
    /// Looked for a cause, none found.
    NothingFound,
    /// The cause was found.
    CauseFound,
    /// Left the area.
    LeftArea,
    /// Something else, in the private line.
    Other,
}

impl WhatDone {
    /// All of them, in the order in which they are shown.
    pub const ALL: [WhatDone; 13] = [
        WhatDone::Cleared,
        WhatDone::Shut,
        WhatDone::SwitchedOff,
        WhatDone::MovedOutside,
        WhatDone::WorkStopped,
        WhatDone::Cooled,
        WhatDone::Posted,
        WhatDone::Told,
        WhatDone::LookedAgain,
        WhatDone::NothingFound,
        WhatDone::CauseFound,
        WhatDone::LeftArea,
        WhatDone::Other,
    ];
}
