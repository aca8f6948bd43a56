//! The tree: crate `ct-merkle` makes the same roots and proofs and accepts ours, and the roots that
//! RFC 6962's reference implementation publishes come out.

use ct_merkle::{ConsistencyProof, InclusionProof, RootHash, mem_backed_tree::MemoryBackedTree};
use ledger::Digest;
use ledger::merkle::{self, Tree};
use sha2::Sha256;

const SIZE: u64 = 70;

fn leaf(i: u64) -> Vec<u8> {
    format!("leaf {i}").into_bytes()
}

fn trees(size: u64) -> (Tree, MemoryBackedTree<Sha256, Vec<u8>>) {
    let (mut ours, mut theirs) = (Tree::new(), MemoryBackedTree::new());
    for i in 0..size {
        ours.push(merkle::leaf_hash(&leaf(i)));
        theirs.push(leaf(i));
    }
    (ours, theirs)
}

fn joined(path: &[Digest]) -> Vec<u8> {
    path.iter().flat_map(|digest| digest.0).collect()
}

#[test]
fn roots_and_inclusion_proofs_are_theirs_too() {
    for size in 1..=SIZE {
        let (ours, theirs) = trees(size);
        let root: RootHash<Sha256> = theirs.root();
        assert_eq!(ours.root().0.as_slice(), root.as_bytes().as_slice());
        for index in 0..size {
            let path = joined(&ours.inclusion(index, size).unwrap());
            assert_eq!(path, theirs.prove_inclusion(index as usize).as_bytes());
            let proof = InclusionProof::try_from_bytes(path).unwrap();
            root.verify_inclusion(&leaf(index), index, &proof).unwrap();
        }
    }
}

#[test]
fn consistency_proofs_are_theirs_too() {
    let (ours, theirs) = trees(SIZE);
    for old in 1..=SIZE {
        let path = joined(&ours.consistency(old, SIZE).unwrap());
        assert_eq!(path, theirs.prove_consistency((SIZE - old) as usize).as_bytes(), "{old}");
        let proof = ConsistencyProof::try_from_bytes(path).unwrap();
        let old_root = trees(old).1.root();
        theirs.root().verify_consistency(&old_root, &proof).unwrap();
    }
}

/// Test leaves and roots of the certificate-transparency reference implementation of RFC 6962
/// (from memory; they are digests, so a slip of memory could not agree).
#[test]
fn published_roots_come_out() {
    let leaves: [&[u8]; 8] = [
        b"",
        b"\x00",
        b"\x10",
        b"\x20\x21",
        b"\x30\x31",
        b"\x40\x41\x42\x43",
        b"\x50\x51\x52\x53\x54\x55\x56\x57",
        b"\x60\x61\x62\x63\x64\x65\x66\x67\x68\x69\x6a\x6b\x6c\x6d\x6e\x6f",
    ];
    let roots = [
        (0, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (1, "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"),
        (8, "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328"),
    ];
    let mut tree = Tree::new();
    leaves.iter().for_each(|leaf| {
        tree.push(merkle::leaf_hash(leaf));
    });
    for (size, root) in roots {
        assert_eq!(tree.root_at(size).unwrap().to_string(), root);
    }
}
