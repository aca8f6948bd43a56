//! Why somebody is alerted.

use serde::{Deserialize, Serialize};

/// Why somebody is alerted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AlertCause {
    /// A zone will soon be over its gap.
    DueSoon,
    /// A zone is over its gap, the phone in touch.
    Late,
    /// A phone is not heard from.
    Unheard,
    /// Nobody has taken over.
    NoRelief,
    /// The guard has not arrived.
    NotArrived,
    /// Nobody watches after hot work.
    TailUnattended,
    /// An observation stays open.
    ObservationAgeing,
    /// Somebody has not been told.
    NotificationOwed,
    /// A report has not gone out.
    DeliveryOwed,
    /// A lone guard gives no sign of life.
    NoSignOfLife,
    /// A fire was called.
    Emergency,
    /// A guard asks.
    Asked,
}

impl AlertCause {
    /// All of them, in the order in which they are shown.
    pub const ALL: [AlertCause; 12] = [
        AlertCause::DueSoon,
        AlertCause::Late,
        AlertCause::Unheard,
        AlertCause::NoRelief,
        AlertCause::NotArrived,
        AlertCause::TailUnattended,
        AlertCause::ObservationAgeing,
        AlertCause::NotificationOwed,
        AlertCause::DeliveryOwed,
        AlertCause::NoSignOfLife,
        AlertCause::Emergency,
        AlertCause::Asked,
    ];
}
