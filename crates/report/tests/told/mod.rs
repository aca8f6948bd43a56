//! A night that was told, as its bundle gives it back.

use report::{Folded, from_bundle};

pub(crate) fn fold(night: &str) -> Folded {
    let bytes = night::tell(night).expect("told rightly").bundle().expect("a told night fits");
    from_bundle(bundle::open(&bytes)).expect("a watch")
}
