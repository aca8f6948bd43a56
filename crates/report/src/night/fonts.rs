//! The families under which the faces of `assets/fonts/` are known to the typesetter.

/// For words.
pub(crate) const FAMILY: &str = "Atkinson Hyperlegible Next";
/// For times and numbers in columns.
pub(crate) const MONO: &str = "Atkinson Hyperlegible Mono";
