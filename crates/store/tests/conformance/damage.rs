//! What is damaged or not ours is named, and nothing is made worse.

use crate::devices::{Chain, ORIGIN, at};
use crate::stage::{Stage, on_each_database};
use ledger::Digest;
use sqlx::{AssertSqlSafe, Connection, Executor, PgConnection, SqliteConnection};
use store::{Progress, ScrubFault, Store, StoreError};

on_each_database!(
    a_scrub_names_what_was_changed,
    a_hole_in_the_log_is_named,
    a_database_of_another_program_is_left_alone,
    a_database_of_another_version_is_left_alone,
    a_first_start_that_was_killed_starts_again,
    a_blob_may_come_in_pieces,
);

/// Changes the database behind the store's back.
async fn meddle(stage: &Stage, statement: &str) {
    let statement = AssertSqlSafe(statement.to_owned());
    if stage.options.database.starts_with("postgres") {
        let mut connection = PgConnection::connect(&stage.options.database).await.unwrap();
        connection.execute(statement).await.unwrap();
    } else {
        let url = format!("{}?mode=rwc", stage.options.database);
        let mut connection = SqliteConnection::connect(&url).await.unwrap();
        connection.execute(statement).await.unwrap();
        connection.close().await.unwrap();
    }
}

async fn filled(stage: &Stage) -> Store {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let lines = (0..300).map(|_| ines.whisper("a", "b")).collect();
    store.append(ORIGIN, at(1_000), lines).await.unwrap();
    store
}

async fn a_scrub_names_what_was_changed(stage: Stage) {
    let store = filled(&stage).await;
    let photo = Digest::of(b"a photo");
    store.blobs().put(photo, b"a photo".to_vec()).await.unwrap();
    assert_eq!(store.scrub().await.unwrap().faults, []);
    let (log, name) = (1_i64 << 40, photo.to_string());
    let zero = if stage.options.database.starts_with("postgres") { r"'\x00'" } else { "x'00'" };
    meddle(&stage, &format!("UPDATE lines SET bytes = {zero} WHERE place = {}", log + 7)).await;
    meddle(&stage, &format!("UPDATE private_lines SET bytes = {zero} WHERE place = {}", log + 8))
        .await;
    meddle(&stage, &format!("DELETE FROM private_lines WHERE place = {}", log + 9)).await;
    meddle(&stage, &format!("UPDATE lines SET rx_ms = 1 WHERE place = {}", log + 10)).await;
    let kept = stage.options.blobs.join("kept").join(&name[..2]).join(&name);
    std::fs::write(kept, b"another").unwrap();
    let faults = store.scrub().await.unwrap().faults;
    let origin: std::sync::Arc<str> = ORIGIN.into();
    let [changed, private, missing, backwards, hash, root, blob] = &faults[..] else {
        panic!("{faults:?}")
    };
    assert_eq!(*changed, ScrubFault::LineChanged { origin: origin.clone(), index: 7 });
    assert_eq!(*private, ScrubFault::PrivateChanged { origin: origin.clone(), index: 8 });
    assert_eq!(*missing, ScrubFault::PrivateMissing { origin: origin.clone(), index: 9 });
    assert_eq!(*backwards, ScrubFault::TimeBackwards { origin: origin.clone(), index: 10 });
    // The changed time of receipt is in the leaf, so hashes and root tell of it too.
    assert_eq!(*hash, ScrubFault::HashChanged { origin: origin.clone(), index: 0 });
    assert_eq!(*root, ScrubFault::Root { origin, size: 300 });
    assert!(matches!(blob, ScrubFault::Blob { named, .. } if *named == photo));
}

async fn a_hole_in_the_log_is_named(stage: Stage) {
    let store = filled(&stage).await;
    store.close().await;
    let place = (1_i64 << 40) + 299;
    meddle(&stage, &format!("DELETE FROM lines WHERE place = {place}")).await;
    let store = Store::open(&stage.options).await.unwrap();
    let faults = store.scrub().await.unwrap().faults;
    assert_eq!(faults, [ScrubFault::LineMissing { origin: ORIGIN.into(), index: 299 }]);
    let refused = store.append(ORIGIN, at(2_000), vec![Chain::new(2, "w-1").say("a")]).await;
    assert!(matches!(refused, Err(StoreError::Damaged { .. })), "{refused:?}");
}

async fn a_database_of_another_program_is_left_alone(stage: Stage) {
    meddle(&stage, "CREATE TABLE invoices (number INTEGER)").await;
    for refused in [Store::open(&stage.options).await, Store::open_reader(&stage.options).await] {
        assert!(matches!(refused, Err(StoreError::NotOurs { .. })), "{refused:?}");
    }
    // Nothing of ours was put beside it.
    meddle(&stage, "CREATE TABLE lines (number INTEGER)").await;
}

async fn a_database_of_another_version_is_left_alone(stage: Stage) {
    filled(&stage).await.close().await;
    let step = |from: u32, to: u32| {
        format!("UPDATE _sqlx_migrations SET version = {to} WHERE version = {from}")
    };
    // As a newer version leaves it, beside all steps of this one.
    let newer = "INSERT INTO _sqlx_migrations (version, description, success, checksum, execution_time) \
         SELECT 9000, 'newer', success, checksum, execution_time FROM _sqlx_migrations";
    meddle(&stage, newer).await;
    for refused in [Store::open(&stage.options).await, Store::open_reader(&stage.options).await] {
        let Err(StoreError::NotOurs { says, .. }) = refused else { panic!("{refused:?}") };
        assert!(says.contains("newer version") && says.contains("restore the backup"), "{says}");
    }
    meddle(&stage, "DELETE FROM _sqlx_migrations WHERE version = 9000").await;
    // As an earlier version left it: whoever only reads cannot bring it up to date.
    meddle(&stage, &step(1, 0)).await;
    let refused = Store::open_reader(&stage.options).await;
    let Err(StoreError::NotOurs { says, .. }) = refused else { panic!("{refused:?}") };
    assert!(says.contains("earlier version") && says.contains("Start the server"), "{says}");
    meddle(&stage, &step(0, 1)).await;
    Store::open(&stage.options).await.unwrap().close().await;
}

/// The list of migrations is made before the first migration runs.
async fn a_first_start_that_was_killed_starts_again(stage: Stage) {
    let bytes = if stage.options.database.starts_with("postgres") { "BYTEA" } else { "BLOB" };
    let list = format!(
        "CREATE TABLE _sqlx_migrations (version BIGINT PRIMARY KEY, description TEXT NOT NULL, \
         installed_on TIMESTAMP NOT NULL DEFAULT CURRENT_TIMESTAMP, success BOOLEAN NOT NULL, \
         checksum {bytes} NOT NULL, execution_time BIGINT NOT NULL)"
    );
    meddle(&stage, &list).await;
    filled(&stage).await.close().await;
}

async fn a_blob_may_come_in_pieces(stage: Stage) {
    let store = stage.open().await;
    let bytes: Vec<u8> = (0..10_000u32).flat_map(u32::to_be_bytes).collect();
    let (named, total) = (Digest::of(&bytes), bytes.len() as u64);
    let blobs = store.blobs().clone();
    assert_eq!(blobs.progress(named).await.unwrap(), Progress::Part { have: 0 });
    let piece = blobs.put_piece(named, total, 0, &bytes[..30_000]).await.unwrap();
    assert_eq!(piece, Progress::Part { have: 30_000 });
    store.close().await;
    let store = stage.open().await;
    let blobs = store.blobs();
    assert_eq!(blobs.progress(named).await.unwrap(), piece);
    let wrong = blobs.put_piece(named, total, 0, &bytes[..10]).await;
    assert!(matches!(wrong, Err(StoreError::PieceOffset { have: 30_000, offset: 0 })), "{wrong:?}");
    let whole = blobs.put_piece(named, total, 30_000, &bytes[30_000..]).await.unwrap();
    assert_eq!(whole, Progress::Whole);
    assert_eq!(blobs.get(named).await.unwrap(), Some(bytes));
    // Pieces that do not add up to the name are thrown away, and the blob can begin again.
    let other = Digest::of(b"other");
    let spoilt = blobs.put_piece(other, 3, 0, b"abc").await;
    assert!(matches!(spoilt, Err(StoreError::OtherDigest { .. })), "{spoilt:?}");
    assert_eq!(blobs.progress(other).await.unwrap(), Progress::Part { have: 0 });
    let large = blobs.put_piece(other, u64::MAX, 0, b"abc").await;
    assert!(matches!(large, Err(StoreError::BlobTooLarge { .. })), "{large:?}");
}
