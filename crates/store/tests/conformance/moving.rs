//! A store moved to another database is the same store.

use crate::devices::{Chain, ORIGIN, at, log_key, sign};
use crate::stage::Stage;
use ledger::Digest;
use serde_json::json;
use store::{Expect, Outcome, PrivateLine, SettingKey, StoreError, move_store};

async fn check(from: Stage, mut to: Stage) {
    let store = from.open().await;
    let (mut ines, mut omar) = (Chain::new(1, "w-1"), Chain::new(2, "w-1"));
    let lines = (0..700).map(|_| ines.say("a")).collect();
    store.append(ORIGIN, at(1_000), lines).await.unwrap();
    let private = vec![ines.whisper("b", "kept"), ines.whisper("c", "erased")];
    let private = store.append(ORIGIN, at(2_000), private).await.unwrap();
    let [Outcome::Received(kept), Outcome::Received(erased)] = &private.outcomes[..] else {
        panic!("{private:?}")
    };
    store.erase_private(erased).await.unwrap();
    let first = omar.say("never came");
    let held = store.append(ORIGIN, at(3_000), vec![omar.say("held")]).await.unwrap();
    let fork = Chain::new(1, "w-1").draft("fork", None);
    store.append(ORIGIN, at(3_000), vec![fork.clone()]).await.unwrap();
    let key = SettingKey::new("contacts", "c-1");
    store.write_setting(&key, &json!({"name": "Ines"}), Expect::Absent).await.unwrap();
    store.write_setting(&key, &json!({"name": "Omar"}), Expect::Anything).await.unwrap();
    let photo = Digest::of(b"a photo");
    store.blobs().put(photo, b"a photo".to_vec()).await.unwrap();
    let head = store.publish(ORIGIN, sign).await.unwrap();
    let (lines, quarantine) =
        (store.lines(ORIGIN, 0..999, 999).await.unwrap(), store.quarantine(9).await.unwrap());
    store.close().await;

    let moved = move_store(&from.options, &to.options).await.unwrap();
    assert_eq!((moved.logs, moved.lines, moved.waiting), (1, 702, 2));
    assert_eq!((moved.settings, moved.blobs), (1, 1));
    let again = move_store(&from.options, &to.options).await;
    assert!(matches!(again, Err(StoreError::NotOurs { .. })), "{again:?}");

    // The marks stay where they are and hold for the new database too.
    to.options.high_water = from.options.high_water.clone();
    let store = to.open().await;
    assert_eq!(store.published(ORIGIN).await.unwrap(), Some(head.clone()));
    assert_eq!(store.publish(ORIGIN, sign).await.unwrap(), head);
    assert_eq!(store.lines(ORIGIN, 0..999, 999).await.unwrap(), lines);
    assert_eq!(store.quarantine(9).await.unwrap(), quarantine);
    assert!(matches!(store.private(kept).await.unwrap(), PrivateLine::Here(_)));
    assert_eq!(store.private(erased).await.unwrap(), PrivateLine::Erased);
    let setting = store.setting(&key).await.unwrap().unwrap();
    assert_eq!((setting.version, &setting.value["name"]), (2, &json!("Omar")));
    assert!(store.blobs().has(photo).await.unwrap());
    for receipt in store.receipts(&head, &[0, 300, 701]).await.unwrap() {
        receipt.verify(&[log_key().vkey()]).unwrap();
    }
    assert_eq!(store.scrub().await.unwrap().faults, []);
    assert!(matches!(held.outcomes[0], Outcome::Held { .. }));
    let released = store.append(ORIGIN, at(4_000), vec![first]).await.unwrap();
    assert_eq!(released.released.len(), 1);
    store.close().await;
}

#[tokio::test]
async fn from_sqlite_to_postgres() {
    check(Stage::sqlite().await, Stage::postgres().await).await;
}

#[tokio::test]
async fn from_postgres_to_sqlite() {
    check(Stage::postgres().await, Stage::sqlite().await).await;
}
