//! Signed notes: crate `signed_note` reads ours and we read its, and the worked example of Go's
//! `golang.org/x/mod/sumdb/note` holds.

use ledger::note::Note;
use ledger::{Digest, Head, LogKey, SignedHead, Vkey};
use signed_note::{Note as TheirNote, StandardSigner, StandardVerifier, VerifierList};

const ORIGIN: &str = "watch.example/gannet/2026";

fn key() -> LogKey {
    LogKey::from_seed(ORIGIN, [7; 32]).unwrap()
}

fn head() -> Head {
    Head { origin: ORIGIN.into(), size: 20_852_163, root: Digest::of(b"root") }
}

fn their_verifiers() -> VerifierList {
    let vkey = key().vkey().to_string();
    VerifierList::new(vec![Box::new(StandardVerifier::new(&vkey).unwrap())])
}

#[test]
fn our_heads_hold_for_others() {
    let text = head().sign(&key()).to_string();
    let note = TheirNote::from_bytes(text.as_bytes()).unwrap();
    let (verified, _) = note.verify(&their_verifiers()).unwrap();
    assert_eq!(verified.len(), 1);
    assert_eq!(note.text(), head().text().as_bytes());
    assert_eq!(note.to_bytes(), text.as_bytes());
}

#[test]
fn their_notes_hold_for_us() {
    let seed = [7; 32];
    let public = key().vkey().to_string();
    let id = public.split('+').nth(1).unwrap();
    let secret = [[1].as_slice(), &seed].concat();
    let secret = base64::Engine::encode(&base64::engine::general_purpose::STANDARD, secret);
    let signer = StandardSigner::new(&format!("PRIVATE+KEY+{ORIGIN}+{id}+{secret}")).unwrap();
    let mut note = TheirNote::new(head().text().as_bytes(), &[]).unwrap();
    note.add_sigs(&[&signer]).unwrap();
    let text = String::from_utf8(note.to_bytes()).unwrap();
    let verified = SignedHead::parse(&text).unwrap().verify(&[key().vkey()]).unwrap();
    assert_eq!(*verified, head());
}

/// `ExampleOpen` of golang.org/x/mod/sumdb/note, `example_test.go` (read).
#[test]
fn the_example_of_the_go_package_holds() {
    let text = "If you think cryptography is the answer to your problem,\n\
                then you don't know what your problem is.\n\
                \n\
                — PeterNeumann x08go/ZJkuBS9UG/SffcvIAQxVBtiFupLLr8pAcElZInNIuGUgYN1FFYC2pZSNXgKvqfqdngotpRZb6KE6RyyBwJnAM=\n";
    let vkey = "PeterNeumann+c74f20a3+ARpc2QcUPDhMQegwxbzhKqiBfsVkmqq/LDE4izWy10TW";
    let known: [Vkey; 1] = [vkey.parse().unwrap()];
    assert_eq!(Note::parse(text).unwrap().verify(&known).unwrap().len(), 1);
    let changed = text.replace("is the answer", "is an answer");
    assert!(Note::parse(&changed).unwrap().verify(&known).is_err());
}
