//! By which way something reaches a person.

use serde::{Deserialize, Serialize};

/// By which way something reaches a person.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Channel {
    /// The desk page.
    Desk,
    /// The guard's phone.
    Phone,
    /// Web push.
    Push,
    /// E-mail.
    Mail,
    /// A signed webhook.
    Webhook,
}

impl Channel {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Channel; 5] =
        [Channel::Desk, Channel::Phone, Channel::Push, Channel::Mail, Channel::Webhook];
}
