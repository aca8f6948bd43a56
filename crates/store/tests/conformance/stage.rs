//! An empty store on one of the databases.

use crate::devices::ORIGIN;
use store::{Options, Store};

/// A place for a store that can be opened again and again.
pub(crate) struct Stage {
    pub(crate) options: Options,
    _folder: tempfile::TempDir,
}

impl Stage {
    pub(crate) async fn sqlite() -> Stage {
        let folder = tempfile::tempdir().unwrap();
        let mut options = Options::in_folder(folder.path());
        options.reserve_bytes = Some(0);
        Stage { options, _folder: folder }
    }

    pub(crate) async fn open(&self) -> Store {
        let store = Store::open(&self.options).await.unwrap();
        store.create_log(ORIGIN).await.unwrap();
        store
    }
}

/// Runs each test on every database.
macro_rules! on_each_database {
    ($($name:ident),* $(,)?) => {
        mod sqlite {
            $(#[tokio::test]
            async fn $name() {
                super::$name(crate::stage::Stage::sqlite().await).await;
            })*
        }
    };
}
pub(crate) use on_each_database;
