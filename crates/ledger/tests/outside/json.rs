//! The canonical form: inside our limits it is RFC 8785's, by crate `serde_json_canonicalizer`.

use ledger::canonical;
use proptest::prelude::*;
use serde_json::{Map, Value, json};

fn value() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        (-(1i64 << 53) + 1..1i64 << 53).prop_map(Value::from),
        "[ -~éßñ漢字🔥\u{2028}\u{fb33}]{0,12}".prop_map(|text| Value::from(canonical::nfc(&text))),
    ];
    leaf.prop_recursive(4, 32, 6, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
            proptest::collection::btree_map("[ -~]{0,6}", inner, 0..6)
                .prop_map(|map| Value::from(Map::from_iter(map))),
        ]
    })
}

proptest! {
    #[test]
    fn is_that_of_rfc_8785(value in value()) {
        let ours = canonical::to_bytes(&value).unwrap();
        prop_assert_eq!(&ours, &serde_json_canonicalizer::to_vec(&value).unwrap());
        prop_assert_eq!(canonical::parse(&ours).unwrap(), value);
    }

    /// Whatever bytes are read, RFC 8785 would have written them.
    #[test]
    fn nothing_else_is_read(text in r#"[\{\}\[\]",:0-9a-z \\.eE+-]{0,24}"#) {
        if canonical::parse(text.as_bytes()).is_ok() {
            prop_assert_eq!(serde_json_canonicalizer::pipe(&text).unwrap(), text);
        }
    }
}

/// RFC 8785 section 3.2.3, the members whose names are ASCII, in the order it states.
#[test]
fn members_stand_in_the_order_of_rfc_8785() {
    let value = json!({"1": "One", "\r": "Carriage Return"});
    assert!(canonical::to_bytes(&value).is_err(), "control characters are no names here");
    let value = json!({"b": 1, "a": 2, "B": 3, "10": 4, "1": 5});
    assert_eq!(canonical::to_bytes(&value).unwrap(), br#"{"1":5,"10":4,"B":3,"a":2,"b":1}"#);
}
