//! Ids: short plain strings that survive in links, tags and file names. What people read is the `name` beside them.

use std::fmt;

/// Why a string is no id.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum IdFault {
    /// Nothing between the quotes.
    #[error("an id is empty: give it at least one of a-z 0-9 - _ .")]
    Empty,
    /// Longer than [`ID_LEN_MAX`].
    #[error(
        "the id {0:?} is longer than 64 characters: shorten it and keep the long form as the name"
    )]
    Long(String),
    /// A character outside a-z 0-9 - _ . or a first character that is none of a-z 0-9.
    #[error("the id {0:?} may hold only a-z 0-9 - _ . and begins with a letter or digit")]
    Character(String),
}

/// The longest id, in bytes.
pub const ID_LEN_MAX: usize = 64;

/// Accepts `text` as an id or says what is wrong with it.
pub fn checked(text: &str) -> Result<(), IdFault> {
    if text.is_empty() {
        return Err(IdFault::Empty);
    }
    if text.len() > ID_LEN_MAX {
        return Err(IdFault::Long(text.to_owned()));
    }
    let plain = |b: u8| b.is_ascii_lowercase() || b.is_ascii_digit();
    let first = text.as_bytes()[0];
    if !plain(first) || !text.bytes().all(|b| plain(b) || matches!(b, b'-' | b'_' | b'.')) {
        return Err(IdFault::Character(text.to_owned()));
    }
    Ok(())
}

/// Makes an id out of any text: lower case, other characters become `-`, cut to length. Never empty.
pub fn slug(text: &str) -> String {
    let mut out = String::new();
    for c in text.chars().flat_map(char::to_lowercase) {
        let c = if c.is_ascii_alphanumeric() { c } else { fold(c) };
        if c != '-' || !(out.is_empty() || out.ends_with('-')) {
            out.push(c);
        }
        if out.len() >= ID_LEN_MAX - 8 {
            break;
        }
    }
    let trimmed = out.trim_matches(|c| matches!(c, '-' | '_' | '.'));
    if trimmed.is_empty() { "x".to_owned() } else { trimmed.to_owned() }
}

/// The plain letter under a common accent, so that a name in another language keeps a readable id.
fn fold(c: char) -> char {
    match c {
        'à'..='å' => 'a',
        'ç' => 'c',
        'è'..='ë' => 'e',
        'ì'..='ï' => 'i',
        'ñ' => 'n',
        'ò'..='ö' | 'ø' => 'o',
        'ù'..='ü' => 'u',
        'ß' => 's',
        '_' => '_',
        '.' => '.',
        _ => '-',
    }
}

macro_rules! text_id {
    ($($(#[$doc:meta])* $name:ident;)*) => {$(
        $(#[$doc])*
        #[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(String);

        impl $name {
            /// Takes the text when it is an id.
            pub fn new(text: impl Into<String>) -> Result<Self, IdFault> {
                let text = text.into();
                checked(&text)?;
                Ok(Self(text))
            }

            /// Makes an id out of any text, see [`slug`].
            pub fn from_name(text: &str) -> Self {
                Self(slug(text))
            }

            /// The id as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl TryFrom<String> for $name {
            type Error = IdFault;
            fn try_from(text: String) -> Result<Self, IdFault> {
                Self::new(text)
            }
        }

        impl From<$name> for String {
            fn from(id: $name) -> String {
                id.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
    )*};
}

text_id! {
    /// A level of the site.
    LevelId;
    /// An area whose unseen gap is measured.
    ZoneId;
    /// A place where the guard confirms presence.
    StopId;
    /// A room, corridor or other walkable piece of a level.
    RoomId;
    /// A free-standing wall or barrier.
    WallId;
    /// A door or gap.
    OpeningId;
    /// A stair, ramp or lift.
    LinkId;
    /// A piece of fire equipment or a hazard.
    EquipmentId;
    /// A call spot, assembly point or exit.
    MarkId;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_plain() {
        assert_eq!(ZoneId::new("floor-1").map(|id| id.to_string()), Ok("floor-1".to_owned()));
        assert_eq!(ZoneId::new(""), Err(IdFault::Empty));
        assert_eq!(ZoneId::new("Floor 1"), Err(IdFault::Character("Floor 1".to_owned())));
        assert_eq!(ZoneId::new("-a"), Err(IdFault::Character("-a".to_owned())));
        assert!(matches!(ZoneId::new("a".repeat(65)), Err(IdFault::Long(_))));
    }

    #[test]
    fn any_name_becomes_an_id() {
        for (name, id) in [
            ("Stair B (north)", "stair-b-north"),
            ("Señal Ñ", "senal-n"),
            ("東京", "x"),
            ("  ", "x"),
        ] {
            assert_eq!(slug(name), id);
            assert_eq!(checked(&slug(name)), Ok(()));
        }
    }
}
