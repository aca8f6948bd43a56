//! What must stop or refuse: another server, an older database, a full disk, a foreign file.

use crate::devices::{Chain, ORIGIN, at, sign};
use crate::stage::{Stage, on_each_database};
use ledger::head::LogKey;
use serde_json::json;
use store::{Cut, Expect, Outcome, SettingKey, SharedMarks, Store, StoreError, Written};

on_each_database!(
    another_server_fences_this_one,
    a_database_behind_the_mark_is_noticed_before_anything_is_signed,
    a_database_of_another_history_is_noticed,
    an_older_database_goes_on_in_another_log_once_somebody_says_so,
    the_lines_of_an_older_database_must_be_under_a_head,
    marks_that_servers_share_tell_what_another_one_signed,
    a_full_disk_refuses_cleanly,
    a_reader_reads_and_nothing_else,
    settings_are_compared_before_they_are_set,
    derived_values_can_be_dropped,
);

async fn another_server_fences_this_one(mut stage: Stage) {
    let first = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    first.append(ORIGIN, at(1), vec![ines.say("a")]).await.unwrap();
    let refused = Store::open(&stage.options).await;
    assert!(matches!(refused, Err(StoreError::InUse)), "{refused:?}");
    // On another machine, with the first one cut off but still running.
    stage.options.high_water = stage.spare_folder();
    stage.end_all_connections().await;
    let second = Store::open(&stage.options).await.unwrap();
    second.append(ORIGIN, at(2), vec![ines.say("b")]).await.unwrap();
    // A connection that was cut shows itself first; nothing is written by either error.
    let mut refused = first.append(ORIGIN, at(3), vec![ines.draft("c", None)]).await;
    for _ in 0..8 {
        if matches!(refused, Err(StoreError::Fenced { .. })) {
            break;
        }
        refused = first.append(ORIGIN, at(3), vec![ines.draft("c", None)]).await;
    }
    assert!(matches!(refused, Err(StoreError::Fenced { ours: 1, current: 2 })), "{refused:?}");
    let signed = first.publish(ORIGIN, sign).await;
    assert!(matches!(signed, Err(StoreError::Fenced { .. })), "{signed:?}");
    let key = SettingKey::new("contacts", "c-1");
    let setting = first.write_setting(&key, &1, Expect::Anything).await;
    assert!(matches!(setting, Err(StoreError::Fenced { .. })), "{setting:?}");
    assert_eq!(second.head(ORIGIN).await.unwrap().size, 2);
    second.append(ORIGIN, at(3), vec![ines.say("c")]).await.unwrap();
}

async fn a_database_behind_the_mark_is_noticed_before_anything_is_signed(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    store.append(ORIGIN, at(1), vec![ines.say("a")]).await.unwrap();
    store.publish(ORIGIN, sign).await.unwrap();
    store.append(ORIGIN, at(2), vec![ines.say("b")]).await.unwrap();
    store.close().await;
    // The same marks beside a database that never saw the signed line.
    let older = stage.with_new_database().await;
    let refused = Store::open(&older.options).await;
    let Err(StoreError::RolledBack { origin, database: 0, high_water: 1 }) = refused else {
        panic!("{refused:?}")
    };
    assert_eq!(&*origin, ORIGIN);
    // What was not signed may be lost without this alarm; the newer database is still good.
    stage.open().await;
}

async fn a_database_of_another_history_is_noticed(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    store.append(ORIGIN, at(1), vec![ines.say("a")]).await.unwrap();
    store.publish(ORIGIN, sign).await.unwrap();
    store.close().await;
    let mut other = stage.with_new_database().await;
    other.options.high_water = other.spare_folder();
    let store = other.open().await;
    store.append(ORIGIN, at(9), vec![Chain::new(2, "w-1").say("x")]).await.unwrap();
    store.close().await;
    other.options.high_water = stage.options.high_water.clone();
    let refused = Store::open(&other.options).await;
    assert!(matches!(refused, Err(StoreError::OtherHistory { size: 1, .. })), "{refused:?}");
}

async fn an_older_database_goes_on_in_another_log_once_somebody_says_so(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let (first, lost) = (ines.say("a"), ines.say("b"));
    store.append(ORIGIN, at(1), vec![first.clone()]).await.unwrap();
    store.publish(ORIGIN, sign).await.unwrap();
    store.close().await;
    let copy = stage.with_new_database().await;
    store::back_up(&stage.options, &copy.options).await.unwrap();
    let store = stage.open().await;
    store.append(ORIGIN, at(2), vec![lost.clone()]).await.unwrap();
    store.publish(ORIGIN, sign).await.unwrap();
    store.close().await;

    let refused = Store::open(&copy.options).await;
    assert!(matches!(refused, Err(StoreError::RolledBack { .. })), "{refused:?}");
    let (store, cut) = Store::open_restored(&copy.options).await.unwrap();
    let known = Cut { origin: ORIGIN.into(), size: 1, high_water: 2 };
    assert_eq!(cut, std::slice::from_ref(&known));
    // Nothing more is taken into it, and nothing of it is signed.
    let refused = store.append(ORIGIN, at(3), vec![lost.clone()]).await;
    assert!(matches!(refused, Err(StoreError::LogClosed { .. })), "{refused:?}");
    let refused = store.publish(ORIGIN, |_| panic!("nothing is signed")).await;
    assert!(matches!(refused, Err(StoreError::LogClosed { .. })), "{refused:?}");
    assert_eq!(store.published(ORIGIN).await.unwrap().unwrap().claimed().size, 1);
    let next = "gannet.example/quay/2026.2";
    let next_key = LogKey::from_seed(next, [8; 32]).unwrap();
    store.create_log(next).await.unwrap();
    let appended = store.append(next, at(3), vec![first, lost]).await.unwrap();
    let Outcome::Again(place) = &appended.outcomes[0] else { panic!("{appended:?}") };
    assert_eq!((&*place.origin, place.index), (ORIGIN, 0));
    let Outcome::Received(place) = &appended.outcomes[1] else { panic!("{appended:?}") };
    assert_eq!((&*place.origin, place.index), (next, 0));
    store.publish(next, move |head| head.sign(&next_key)).await.unwrap();
    store.close().await;

    // It stays said; the word is not needed twice.
    let store = Store::open(&copy.options).await.unwrap();
    assert_eq!(store.cut().await.unwrap(), [known]);
    let states = store.log_states().await.unwrap();
    let open: Vec<_> = states.iter().map(|log| (&*log.origin, log.is_open)).collect();
    assert_eq!(open, [(ORIGIN, false), (next, true)]);
    store.close().await;
}

async fn the_lines_of_an_older_database_must_be_under_a_head(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    store.append(ORIGIN, at(1), vec![ines.say("a")]).await.unwrap();
    store.publish(ORIGIN, sign).await.unwrap();
    let (second, third) = (ines.say("b"), ines.say("c"));
    store.append(ORIGIN, at(2), vec![second.clone()]).await.unwrap();
    store.close().await;
    // A copy of the files, not a backup: its last line is under no head.
    let raw = stage.with_new_database().await;
    store::move_store(&stage.options, &raw.options).await.unwrap();
    let store = stage.open().await;
    store.append(ORIGIN, at(3), vec![third]).await.unwrap();
    store.publish(ORIGIN, sign).await.unwrap();
    store.close().await;
    let refused = Store::open_restored(&raw.options).await;
    let Err(StoreError::Uncovered { database: 2, signed: 1, .. }) = refused else {
        panic!("{refused:?}")
    };
    // A backup of it leaves that line to the phones.
    let copy = stage.with_new_database().await;
    store::back_up(&raw.options, &copy.options).await.unwrap();
    let (store, _) = Store::open_restored(&copy.options).await.unwrap();
    store.create_log("gannet.example/quay/2026.2").await.unwrap();
    let appended = store.append("gannet.example/quay/2026.2", at(4), vec![second]).await.unwrap();
    assert!(matches!(appended.outcomes[0], Outcome::Received(_)), "{appended:?}");
    store.close().await;
}

async fn marks_that_servers_share_tell_what_another_one_signed(mut stage: Stage) {
    let shared = tempfile::tempdir().unwrap();
    stage.options.shared_marks = Some(SharedMarks::in_folder(shared.path()).unwrap());
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    for ms in 1..=12 {
        store.append(ORIGIN, at(ms), vec![ines.say("a")]).await.unwrap();
        store.publish(ORIGIN, sign).await.unwrap();
    }
    store.close().await;
    stage.open().await.close().await;
    // Another machine, whose own folder knows of nothing, with a database that is older.
    let mut older = stage.with_new_database().await;
    older.options.high_water = older.spare_folder();
    older.options.shared_marks = stage.options.shared_marks.clone();
    let refused = Store::open(&older.options).await;
    let Err(StoreError::RolledBack { database: 0, high_water: 12, .. }) = refused else {
        panic!("{refused:?}")
    };
}

async fn a_full_disk_refuses_cleanly(mut stage: Stage) {
    let mut ines = Chain::new(1, "w-1");
    let store = stage.open().await;
    store.append(ORIGIN, at(1), vec![ines.say("a")]).await.unwrap();
    store.close().await;
    stage.options.reserve_bytes = Some(u64::MAX / 2);
    let store = Store::open(&stage.options).await.unwrap();
    let line = ines.say("b");
    let refused = store.append(ORIGIN, at(2), vec![line.clone()]).await;
    let Err(StoreError::LowDisk { least_bytes, .. }) = refused else { panic!("{refused:?}") };
    assert_eq!(least_bytes, u64::MAX / 4, "half of what is kept free of photos");
    let blob = store.blobs().put(ledger::Digest::of(b"x"), b"x".to_vec()).await;
    assert!(matches!(blob, Err(StoreError::LowDisk { .. })), "{blob:?}");
    assert_eq!(store.lines(ORIGIN, 0..9, 9).await.unwrap().len(), 1);
    store.close().await;
    stage.options.reserve_bytes = Some(0);
    let store = Store::open(&stage.options).await.unwrap();
    let appended = store.append(ORIGIN, at(3), vec![line]).await.unwrap();
    assert!(matches!(&appended.outcomes[0], Outcome::Received(place) if place.index == 1));
}

async fn a_reader_reads_and_nothing_else(stage: Stage) {
    let missing = Store::open_reader(&stage.options).await;
    assert!(matches!(missing, Err(StoreError::NotOurs { .. })), "{missing:?}");
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    store.append(ORIGIN, at(1), vec![ines.say("a")]).await.unwrap();
    let signed = store.publish(ORIGIN, sign).await.unwrap();
    store.close().await;
    let reader = Store::open_reader(&stage.options).await.unwrap();
    assert_eq!(reader.lines(ORIGIN, 0..9, 9).await.unwrap().len(), 1);
    assert_eq!(reader.published(ORIGIN).await.unwrap(), Some(signed));
    let refused = reader.append(ORIGIN, at(2), vec![ines.say("b")]).await;
    assert!(matches!(refused, Err(StoreError::ReadOnly)), "{refused:?}");
    assert_eq!(reader.scrub().await.unwrap().faults, []);
    reader.close().await;
}

async fn settings_are_compared_before_they_are_set(stage: Stage) {
    let store = stage.open().await;
    let key = SettingKey::new("contacts", "c-1");
    let write = async |value: i64, expect| store.write_setting(&key, &value, expect).await.unwrap();
    assert_eq!(store.setting(&key).await.unwrap(), None);
    assert_eq!(write(1, Expect::Version(1)).await, Written::Conflict { found: None });
    assert_eq!(write(1, Expect::Absent).await, Written::Kept { version: 1 });
    assert_eq!(write(2, Expect::Absent).await, Written::Conflict { found: Some(1) });
    assert_eq!(write(2, Expect::Version(1)).await, Written::Kept { version: 2 });
    assert_eq!(write(3, Expect::Version(1)).await, Written::Conflict { found: Some(2) });
    assert_eq!(write(4, Expect::Anything).await, Written::Kept { version: 3 });
    for other in ["c-2", "c-1b", "d-1", "C-1", "c%"] {
        let key = SettingKey::new("contacts", other);
        store.write_setting(&key, &json!({"name": "Ines"}), Expect::Absent).await.unwrap();
    }
    let keys = async |prefix| {
        let found = store.settings("contacts", prefix).await.unwrap();
        found.into_iter().map(|setting| setting.at.key).collect::<Vec<_>>()
    };
    assert_eq!(keys("").await, ["C-1", "c%", "c-1", "c-1b", "c-2", "d-1"]);
    assert_eq!(keys("c-1").await, ["c-1", "c-1b"]);
    assert_eq!(keys("c%").await, ["c%"]);
    assert_eq!(store.collections().await.unwrap(), ["contacts"]);
    let removed = store.remove_setting(&key, Expect::Version(2)).await.unwrap();
    assert_eq!(removed, Written::Conflict { found: Some(3) });
    let removed = store.remove_setting(&key, Expect::Version(3)).await.unwrap();
    assert_eq!(removed, Written::Kept { version: 0 });
    store.close().await;
    let store = stage.open().await;
    assert_eq!(store.setting(&key).await.unwrap(), None);
    let ines = store.setting(&SettingKey::new("contacts", "c-2")).await.unwrap().unwrap();
    assert_eq!((ines.version, &ines.value["name"]), (1, &json!("Ines")));
}

async fn derived_values_can_be_dropped(stage: Stage) {
    let store = stage.open().await;
    store.write_derived("folds", "w-1", b"one").await.unwrap();
    store.write_derived("folds", "w-1", b"two").await.unwrap();
    assert_eq!(store.derived("folds", "w-1").await.unwrap(), Some(b"two".to_vec()));
    store.drop_derived().await.unwrap();
    assert_eq!(store.derived("folds", "w-1").await.unwrap(), None);
}
