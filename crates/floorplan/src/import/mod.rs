//! Plans out of other people's files. Every import ends in a list of what was understood, guessed and dropped.

pub mod border;
pub mod drawn;
pub mod earth;
pub mod indoor_tagging;
pub mod report;

pub use report::{Imported, Note, Report};

/// Why a file gives no plan.
#[derive(Debug, thiserror::Error)]
pub enum ImportError {
    /// Not of the format.
    #[error("this is no {format}: {why}")]
    Malformed {
        /// The format it was read as.
        format: &'static str,
        /// What is wrong.
        why: String,
    },
    /// No room, corridor or area.
    #[error("no floor was found: {0}")]
    NoFloor(String),
    /// A coordinate that is no number, or lies on no globe.
    #[error(
        "{part} has the coordinates {x}, {y}, which are no longitude and latitude: export it in WGS 84"
    )]
    OffEarth {
        /// The feature.
        part: String,
        /// First coordinate as read.
        x: f64,
        /// Second coordinate as read.
        y: f64,
    },
    /// The extent is not that of a site.
    #[error("the plan would be {0} m across: is the unit right? Give it with the unit or a scale")]
    Extent(i64),
}

/// What the caller decides about an import.
#[derive(Debug, Clone)]
pub struct Wishes {
    /// The name of the site when the file has none.
    pub name: String,
    /// The longest gap given to every zone, in seconds.
    pub gap_s: u32,
    /// Storey height where the file states none, in millimetres.
    pub storey_mm: i64,
    /// Width of a door where the file states none, in millimetres.
    pub door_mm: i64,
}

impl Default for Wishes {
    /// Our own defaults: 30 min, 3.5 m, 0.9 m. The report lists them as guessed wherever they were used.
    fn default() -> Self {
        Self { name: "Imported plan".to_owned(), gap_s: 1800, storey_mm: 3500, door_mm: 900 }
    }
}

/// The widest plan that is taken without a question, in metres.
pub const EXTENT_MAX_M: i64 = 5_000;

/// Reads OpenStreetMap Simple Indoor Tagging from GeoJSON.
pub fn indoor_tagging_geojson(text: &str, wishes: &Wishes) -> Result<Imported, ImportError> {
    indoor_tagging::plan(drawn::from_geojson(text)?, wishes)
}
