//! Limits of a site's survey and usual times of walking, looking and writing, from `standards/site`, each with its
//! source there: read once, for everybody who measures.

use floorplan::Limits;
use std::sync::LazyLock;

/// Folder, file stem and text of every file under `standards/site/`, in path order.
pub const SITE_FILES: &[(&str, &str, &str)] = &include!(concat!(env!("OUT_DIR"), "/site.rs"));

static LIMITS: LazyLock<Limits> = LazyLock::new(|| {
    let files = SITE_FILES.iter().map(|&(_, stem, text)| (stem, text));
    Limits::read(files).expect("a test of this crate reads every embedded file")
});

/// Every limit and usual value of a site by its id.
pub fn site_limits() -> &'static Limits {
    &LIMITS
}

/// The texts of one folder under `standards/site/`.
pub fn site_files(folder: &str) -> impl Iterator<Item = &'static str> {
    SITE_FILES.iter().filter(move |file| file.0 == folder).map(|file| file.2)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_limit_has_a_name_of_its_own_and_a_source() {
        assert_eq!(site_limits().0.len(), SITE_FILES.len());
        for limit in site_limits().0.values() {
            assert!(!limit.value.is_empty(), "{}", limit.id);
            for value in &limit.value {
                assert!(!value.source.is_empty() && !value.known.is_empty(), "{}", limit.id);
            }
        }
    }
}
