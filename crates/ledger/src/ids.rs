//! Short text ids as types, so that a person is never passed where a watch is meant.

/// Makes a text id: 1 to 64 characters of `a-z 0-9 - _ .`, ordered, written as plain text. A copy shares the text, since a
/// fold copies the same few ids many times.
#[macro_export]
macro_rules! text_id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(std::sync::Arc<str>);

        impl $name {
            /// Takes a text that follows the form of ids.
            pub fn new(text: impl AsRef<str>) -> Result<$name, $crate::ids::NotAnId> {
                let text = text.as_ref();
                match $crate::ids::follows_form(text) {
                    true => Ok($name(text.into())),
                    false => Err($crate::ids::NotAnId(text.to_owned())),
                }
            }

            /// The id as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&self.0)
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::ids::NotAnId;

            fn from_str(text: &str) -> Result<$name, $crate::ids::NotAnId> {
                $name::new(text)
            }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(&self.0)
            }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<$name, D::Error> {
                let text = <String as serde::Deserialize>::deserialize(deserializer)?;
                $name::new(text).map_err(serde::de::Error::custom)
            }
        }
    };
}

/// A text that is no id.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NotAnId(pub String);

impl std::fmt::Display for NotAnId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{:?} is no id: use 1 to 64 of a-z, 0-9, '-', '_' and '.'", self.0)
    }
}

impl std::error::Error for NotAnId {}

/// Whether a text follows the form of ids.
pub fn follows_form(text: &str) -> bool {
    (1..=64).contains(&text.len())
        && text.bytes().all(|b| matches!(b, b'a'..=b'z' | b'0'..=b'9' | b'-' | b'_' | b'.'))
}

text_id! {
    /// A watch, or [`WatchId::org`] for what belongs to no watch.
    WatchId
}

text_id! {
    /// A person: opaque, so that the record holds no names.
    PersonId
}

impl WatchId {
    /// The chain of what belongs to no watch: enrolments, keys, heartbeats.
    pub fn org() -> WatchId {
        WatchId("org".into())
    }

    /// Whether this is [`WatchId::org`].
    pub fn is_org(&self) -> bool {
        &*self.0 == "org"
    }
}
