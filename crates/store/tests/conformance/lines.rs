//! Lines in and out, heads and proofs, private lines, blobs.

use crate::devices::{Chain, ORIGIN, at, log_key, sign};
use crate::stage::{Stage, on_each_database};
use ledger::{Digest, merkle};
use std::collections::BTreeSet;
use store::{Outcome, PrivateLine, ReceivedAt, Refusal, StoreError};

on_each_database!(
    lines_are_received_once_and_found_again,
    receipts_prove_and_heads_are_consistent,
    a_part_of_the_tree_has_the_nodes_between_the_places_asked_for,
    a_gap_is_held_and_released_when_it_fills,
    a_fork_goes_to_quarantine_and_blocks_nobody,
    forks_without_end_do_not_fill_the_disk,
    a_private_line_must_be_the_one_that_is_named,
    a_clock_set_back_never_lowers_the_time_of_receipt,
    a_chain_goes_on_in_the_next_log,
    a_blob_is_kept_under_its_digest_only,
);

fn received(outcome: &Outcome) -> u64 {
    match outcome {
        Outcome::Received(place) => place.index,
        other => panic!("expected received, found {other:?}"),
    }
}

async fn lines_are_received_once_and_found_again(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let lines = vec![ines.say("a"), ines.whisper("b", "secret"), ines.say("c")];
    let first = store.append(ORIGIN, at(1_000), lines.clone()).await.unwrap();
    assert_eq!(first.outcomes.iter().map(received).collect::<Vec<_>>(), [0, 1, 2]);
    let again = store.append(ORIGIN, at(2_000), lines).await.unwrap();
    for (outcome, old) in again.outcomes.iter().zip(&first.outcomes) {
        let (Outcome::Again(again), Outcome::Received(old)) = (outcome, old) else {
            panic!("{outcome:?} after {old:?}")
        };
        assert_eq!(again, old);
    }
    assert_eq!(store.head(ORIGIN).await.unwrap().size, 3);
    let kept = store.lines(ORIGIN, 0..10, 100).await.unwrap();
    assert_eq!(kept.len(), 3);
    let private = store.private(&kept[1].place).await.unwrap();
    assert!(matches!(private, PrivateLine::Here(bytes) if bytes.ends_with(b"\"secret\"}")));
    store.erase_private(&kept[1].place).await.unwrap();
    assert_eq!(store.private(&kept[1].place).await.unwrap(), PrivateLine::Erased);
    assert_eq!(store.private(&kept[0].place).await.unwrap(), PrivateLine::Absent);
}

async fn receipts_prove_and_heads_are_consistent(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let mut last = None;
    for batch in [1, 3, 255, 300, 2] {
        let lines = (0..batch).map(|_| ines.say("a")).collect();
        let appended = store.append(ORIGIN, at(1_000), lines).await.unwrap();
        let index = received(appended.outcomes.last().unwrap());
        let head = store.publish(ORIGIN, sign).await.unwrap();
        let receipts = store.receipts(&head, &[0, index / 2, index]).await.unwrap();
        for receipt in receipts {
            receipt.verify(&[log_key().vkey()]).unwrap();
        }
        let head = head.claimed().clone();
        if let Some((size, root)) = last {
            let path = store.consistency(ORIGIN, size, head.size).await.unwrap();
            merkle::consistency(size, &root, head.size, &head.root, &path).unwrap();
            assert_eq!(store.root_at(ORIGIN, size).await.unwrap(), root);
        }
        last = Some((head.size, head.root));
    }
    store.close().await;
    let store = stage.open().await;
    assert_eq!(store.head(ORIGIN).await.unwrap().root, last.unwrap().1);
}

/// Against the whole tree in memory, which is checked by the definition in RFC 6962.
async fn a_part_of_the_tree_has_the_nodes_between_the_places_asked_for(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let lines = (0..700).map(|_| ines.say("a")).collect();
    store.append(ORIGIN, at(1_000), lines).await.unwrap();
    let mut tree = merkle::Tree::new();
    for line in store.lines(ORIGIN, 0..700, 700).await.unwrap() {
        tree.push(store::leaf_of(&line).hash());
    }
    let cases: [&[u64]; 6] =
        [&[700], &[255, 256, 699], &[1, 2, 3, 600], &[256, 512], &[300, 301], &[]];
    for places in cases {
        let places: BTreeSet<u64> = places.iter().copied().collect();
        let part = store.part_of_tree(ORIGIN, &places).await.unwrap();
        let mut from = 0;
        for place in places {
            assert_eq!(merkle::Nodes::root_at(&part, place), tree.root_at(place), "{place}");
            while from < place {
                let level = from.trailing_zeros().min((place - from).ilog2());
                let at = from >> level;
                assert_eq!(merkle::Nodes::node(&part, level, at), tree.node(level, at));
                from += 1 << level;
            }
        }
    }
    let outside = store.part_of_tree(ORIGIN, &BTreeSet::from([701])).await;
    assert!(matches!(outside, Err(StoreError::Outside { .. })), "{outside:?}");
}

async fn a_gap_is_held_and_released_when_it_fills(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let lines: Vec<_> = (0..6).map(|_| ines.say("a")).collect();
    let early = vec![lines[5].clone(), lines[2].clone()];
    let held = store.append(ORIGIN, at(1_000), early.clone()).await.unwrap();
    let missing = held.outcomes.iter().map(|outcome| match outcome {
        Outcome::Held { missing } => &missing[..],
        other => panic!("expected held, found {other:?}"),
    });
    assert!(missing.eq([&[0..2, 3..5][..], std::slice::from_ref(&(0..2))]));
    store.close().await;
    let store = stage.open().await;
    let again = store.append(ORIGIN, at(1_000), early).await.unwrap();
    assert_eq!(again.outcomes, held.outcomes);
    let filled = store.append(ORIGIN, at(2_000), lines[0..2].to_vec()).await.unwrap();
    assert_eq!(filled.outcomes.iter().map(received).collect::<Vec<_>>(), [0, 1]);
    assert_eq!(filled.released.iter().map(|place| place.index).collect::<Vec<_>>(), [2]);
    let rest = vec![lines[4].clone(), lines[3].clone()];
    let rest = store.append(ORIGIN, at(2_000), rest).await.unwrap();
    assert_eq!(rest.outcomes.iter().map(received).collect::<Vec<_>>(), [4, 3]);
    assert_eq!(rest.released.iter().map(|place| place.index).collect::<Vec<_>>(), [5]);
    assert_eq!(store.held().await.unwrap(), []);
}

async fn a_fork_goes_to_quarantine_and_blocks_nobody(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let first = ines.say("a");
    let copy = ines.draft("copy", None);
    let second = ines.say("b");
    let with = second.line.id();
    store.append(ORIGIN, at(1), vec![first, second]).await.unwrap();
    for _ in 0..2 {
        let forked = store.append(ORIGIN, at(2), vec![copy.clone(), ines.say("c")]).await.unwrap();
        assert_eq!(forked.outcomes[0], Outcome::Forked { with });
        received(&forked.outcomes[1]);
    }
    let quarantine = store.quarantine(10).await.unwrap();
    assert_eq!(quarantine.len(), 1);
    assert_eq!((quarantine[0].id, quarantine[0].other), (copy.line.id(), with));
    assert_eq!(quarantine[0].signed.bytes, copy.line.bytes());
}

/// More forks of one chain than are kept: each is answered, the last are not kept, the chain goes on.
async fn forks_without_end_do_not_fill_the_disk(stage: Stage) {
    const KEPT: usize = 4_096;
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let first = vec![ines.say("a")];
    store.append(ORIGIN, at(1), first).await.unwrap();
    let copy = Chain::new(1, "w-1");
    let forks: Vec<_> = (0..KEPT + 10).map(|n| copy.draft(&n.to_string(), None)).collect();
    for some in forks.chunks(500) {
        let appended = store.append(ORIGIN, at(2), some.to_vec()).await.unwrap();
        let forked = |outcome: &Outcome| matches!(outcome, Outcome::Forked { .. });
        assert!(appended.outcomes.iter().all(forked));
    }
    assert_eq!(store.quarantine(u32::MAX).await.unwrap().len(), KEPT);
    let on = store.append(ORIGIN, at(3), vec![ines.say("b")]).await.unwrap();
    assert_eq!(received(&on.outcomes[0]), 1);
}

async fn a_private_line_must_be_the_one_that_is_named(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    let whole = ines.whisper("a", "secret");
    let check = async |private: Option<Vec<u8>>, expected: Refusal| {
        let line = store::Incoming { private, ..whole.clone() };
        let appended = store.append(ORIGIN, at(1), vec![line]).await.unwrap();
        assert_eq!(appended.outcomes, [Outcome::Refused(expected)]);
    };
    check(None, Refusal::PrivateMissing).await;
    check(Some(b"{}".to_vec()), Refusal::PrivateOther).await;
    let appended = store.append(ORIGIN, at(1), vec![whole]).await.unwrap();
    received(&appended.outcomes[0]);
    let mut plain = ines.say("b");
    plain.private = Some(b"{}".to_vec());
    let appended = store.append(ORIGIN, at(1), vec![plain]).await.unwrap();
    assert_eq!(appended.outcomes, [Outcome::Refused(Refusal::PrivateUnasked)]);
}

async fn a_clock_set_back_never_lowers_the_time_of_receipt(stage: Stage) {
    let store = stage.open().await;
    let mut ines = Chain::new(1, "w-1");
    for (ms, expected) in [(5_000, 5_000), (4_000, 5_000), (6_000, 6_000)] {
        let appended = store.append(ORIGIN, at(ms), vec![ines.say("a")]).await.unwrap();
        let Outcome::Received(place) = &appended.outcomes[0] else { panic!() };
        assert_eq!(place.rx, ReceivedAt { ms: expected, error_ms: 5 });
    }
}

async fn a_chain_goes_on_in_the_next_log(stage: Stage) {
    let store = stage.open().await;
    let next_origin = "gannet.example/quay/2027";
    let next = ledger::head::LogKey::from_seed(next_origin, [8; 32]).unwrap();
    store.create_log(next_origin).await.unwrap();
    let mut ines = Chain::new(1, "w-1");
    let first = ines.say("a");
    store.append(ORIGIN, at(1), vec![first.clone()]).await.unwrap();
    let closed = store.close_log(ORIGIN, at(2), next.vkey()).await.unwrap();
    assert_eq!(closed.size, 2);
    let refused = store.append(ORIGIN, at(3), vec![ines.draft("b", None)]).await;
    assert!(matches!(refused, Err(StoreError::LogClosed { .. })), "{refused:?}");
    let appended = store.append(next_origin, at(3), vec![first, ines.say("b")]).await.unwrap();
    let Outcome::Again(place) = &appended.outcomes[0] else { panic!("{appended:?}") };
    assert_eq!((&*place.origin, place.index), (ORIGIN, 0));
    let Outcome::Received(place) = &appended.outcomes[1] else { panic!("{appended:?}") };
    assert_eq!((&*place.origin, place.index), (next_origin, 0));
    let head = store.publish(ORIGIN, sign).await.unwrap();
    let receipt = store.receipts(&head, &[1]).await.unwrap().remove(0);
    receipt.verify(&[log_key().vkey()]).unwrap();
    let watch = store.lines_of_watch(&ines.watch, None, 10).await.unwrap();
    assert_eq!(watch.iter().map(|line| line.seq).collect::<Vec<_>>(), [0, 1]);
    let later = store.lines_of_watch(&ines.watch, Some(&watch[0].place), 10).await.unwrap();
    assert_eq!(later, watch[1..]);
    let chain = store.lines_of_chain(ines.dev(), &ines.watch, 1, 10).await.unwrap();
    assert_eq!(chain, watch[1..]);
    store.close().await;
    stage.open().await;
}

async fn a_blob_is_kept_under_its_digest_only(stage: Stage) {
    let store = stage.open().await;
    let (bytes, other) = (b"a photo".to_vec(), Digest::of(b"another"));
    let wrong = store.blobs().put(other, bytes.clone()).await;
    assert!(matches!(wrong, Err(StoreError::OtherDigest { .. })));
    assert!(!store.blobs().has(other).await.unwrap());
    let named = Digest::of(&bytes);
    store.blobs().put(named, bytes.clone()).await.unwrap();
    store.blobs().put(named, bytes.clone()).await.unwrap();
    assert_eq!(store.blobs().get(named).await.unwrap(), Some(bytes));
    assert_eq!(store.blobs().list().await.unwrap(), [named]);
}
