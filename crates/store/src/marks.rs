//! All high-water marks of a store: those of this machine, and those that several servers share.

use crate::error::StoreError;
use crate::high_water::{HighWater, Mark};
use crate::options::Options;
use crate::shared_marks::Objects;
use std::sync::Arc;

/// Where marks are kept.
#[derive(Debug)]
pub(crate) struct Marks {
    here: HighWater,
    shared: Option<Objects>,
}

impl Marks {
    pub(crate) fn open(options: &Options) -> Result<Marks, StoreError> {
        let shared = options.shared_marks.as_ref().map(Objects::new);
        Ok(Marks { here: HighWater::new(&options.high_water)?, shared })
    }

    /// Names of all logs that have a mark, whether or not the database still knows them.
    pub(crate) async fn origins(&self) -> Result<Vec<Arc<str>>, StoreError> {
        let mut origins = self.here.origins()?;
        if let Some(shared) = &self.shared {
            origins.extend(shared.origins().await?);
        }
        origins.sort();
        origins.dedup();
        Ok(origins)
    }

    /// Every mark of a log, the largest first; none if nothing of it was ever signed.
    pub(crate) async fn read(&mut self, origin: &Arc<str>) -> Result<Vec<Mark>, StoreError> {
        let mut marks: Vec<Mark> = self.here.read(origin)?.into_iter().collect();
        if let Some(shared) = &mut self.shared {
            marks.extend(shared.read(origin).await?);
        }
        marks.sort_by_key(|mark| std::cmp::Reverse(mark.size));
        Ok(marks)
    }

    /// Raises the mark everywhere and returns when that is durable. A mark is never lowered.
    pub(crate) async fn raise(&mut self, origin: &Arc<str>, mark: Mark) -> Result<(), StoreError> {
        if let Some(shared) = &mut self.shared {
            shared.raise(origin, mark).await?;
        }
        self.here.raise(origin, mark)
    }
}
