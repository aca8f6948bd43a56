//! How somebody was told.

use serde::{Deserialize, Serialize};

/// How somebody was told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Means {
    /// By telephone.
    Phone,
    /// By radio.
    Radio,
    /// Face to face.
    InPerson,
    /// By text message.
    Text,
    /// By e-mail.
    Mail,
    /// By fax.
    Fax,
    /// By a manual call point.
    PullStation,
    /// By horn, whistle or shout.
    Horn,
    /// Through this program.
    App,
    /// On the authority's own form.
    Form,
}

impl Means {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Means; 10] = [
        Means::Phone,
        Means::Radio,
        Means::InPerson,
        Means::Text,
        Means::Mail,
        Means::Fax,
        Means::PullStation,
        Means::Horn,
        Means::App,
        Means::Form,
    ];
}
